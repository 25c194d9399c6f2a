"""How long commands take to start, against processes that only import.

    python tests/benchmarks/bench_startup.py [ROUNDS]

Reports medians of processor time: ``burnplan --help`` and a command's own help over
``import typer``, and ``burnplan jobs`` over importing typer, rich and sqlalchemy.orm. Of two
books: a small one, two jobs logged and nothing else, and the demo's, whose booked jobs
have forecasts, sessions, quotes and payments to reckon with.
"""

import os
import resource
import statistics
import subprocess
import sys
import tempfile

PROGRAM = [sys.executable, "-m", "burnplan"]
BARE = "import typer, rich, sqlalchemy.orm"
TIMED = {
    "import typer": [sys.executable, "-c", "import typer"],
    "burnplan --help": [*PROGRAM, "--help"],
    "burnplan quote --help": [*PROGRAM, "quote", "--help"],
    BARE: [sys.executable, "-c", BARE],
    "burnplan jobs": [*PROGRAM, "jobs"],
    "burnplan jobs, the demo's": [*PROGRAM, "jobs"],
}
RATIOS = (
    ("burnplan --help", "import typer"),
    ("burnplan quote --help", "import typer"),
    ("burnplan jobs", BARE),
    ("burnplan jobs, the demo's", BARE),
)


def seconds(command: list[str], home: str) -> float:
    """Return the processor time of a process: others may be at work too."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    # Installed packages come with their bytecode: without it, compiling ours would be timed.
    environment = {**os.environ, "BURNPLAN_HOME": home, "PYTHONDONTWRITEBYTECODE": ""}
    subprocess.run(command, env=environment, check=True, capture_output=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main() -> None:
    """Time in turn, report medians and their ratios."""
    rounds = int([*sys.argv[1:], "15"][0])
    with tempfile.TemporaryDirectory() as folder:
        small, demo = f"{folder}/small", f"{folder}/demo"
        seconds([*PROGRAM, "settings", "currency=EUR"], small)
        for title in ("Old barn", "Two cats"):
            seconds([*PROGRAM, "commission", "add", title], small)
        seconds([*PROGRAM, "demo", "--keep", demo], small)
        turns = [
            {
                name: seconds(words, demo if "demo" in name else small)
                for name, words in TIMED.items()
            }
            for _ in range(rounds)
        ]
    for name in TIMED:
        print(f"{name:36} {1000 * statistics.median(turn[name] for turn in turns):5.0f} ms")
    for ours, bare in RATIOS:
        ratio = statistics.median(turn[ours] / turn[bare] for turn in turns)
        print(f"{ours} over {bare}: {ratio:.2f}")


if __name__ == "__main__":
    main()
