"""How long commands take to start, against processes that only import.

    python tests/benchmarks/bench_startup.py [ROUNDS]

Reports medians of processor time: ``burnplan --help`` over ``import typer``, and
``burnplan jobs`` on a small book over importing typer, rich and sqlalchemy, with
and without its mapper, which ``import sqlalchemy`` alone does not bring.
"""

import os
import resource
import statistics
import subprocess
import sys
import tempfile

PROGRAM = [sys.executable, "-m", "burnplan"]
TIMED = {
    "import typer": [sys.executable, "-c", "import typer"],
    "burnplan --help": [*PROGRAM, "--help"],
    "import typer, rich, sqlalchemy": [sys.executable, "-c", "import typer, rich, sqlalchemy"],
    "import typer, rich, sqlalchemy.orm": [
        sys.executable, "-c", "import typer, rich, sqlalchemy.orm",
    ],
    "burnplan jobs": [*PROGRAM, "jobs"],
}  # fmt: skip
RATIOS = (
    ("burnplan --help", "import typer"),
    ("burnplan jobs", "import typer, rich, sqlalchemy"),
    ("burnplan jobs", "import typer, rich, sqlalchemy.orm"),
)


def seconds(command: list[str], home: str) -> float:
    """Return the processor time of a process: others may be at work too."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    environment = {**os.environ, "BURNPLAN_HOME": home}
    subprocess.run(command, env=environment, check=True, capture_output=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main() -> None:
    """Time in turn, report medians and their ratios."""
    rounds = int([*sys.argv[1:], "15"][0])
    with tempfile.TemporaryDirectory() as home:
        for title in ("Old barn", "Two cats"):
            seconds([*PROGRAM, "commission", "add", title], home)
        turns = [
            {name: seconds(words, home) for name, words in TIMED.items()} for _ in range(rounds)
        ]
    for name in TIMED:
        print(f"{name:36} {1000 * statistics.median(turn[name] for turn in turns):5.0f} ms")
    for ours, bare in RATIOS:
        ratio = statistics.median(turn[ours] / turn[bare] for turn in turns)
        print(f"{ours} over {bare}: {ratio:.2f}")


if __name__ == "__main__":
    main()
