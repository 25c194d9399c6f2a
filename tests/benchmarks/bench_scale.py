"""What commands take on the book of a studio of thirty years.

    python tests/benchmarks/bench_scale.py [CLOSED] [OPEN] [SESSIONS]

Makes a book of 50,000 delivered jobs with twenty sessions each, a million in
all, and 30 open ones, in a temporary folder; and one of 30 open and 300
delivered jobs. Runs each command as a process on both, and reports seconds of
processor time, their ratio, and the most memory it took.
"""

import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROUNDS = 3
COMMANDS = (
    ("jobs",),
    ("jobs", "--client", "Client 5"),
    ("commission", "list"),
    ("commission", "list", "--all", "--page", "3"),
    ("commission", "list", "--all", "--page", "900"),
    ("commission", "show", "C-7"),
    ("commission", "show", "Job 29"),
    ("client", "list", "--page", "100"),
    ("step", "list", "C-7"),
    ("step", "tick", "C-7", "1"),
    ("session", "list"),
    ("session", "list", "C-7"),
    ("session", "enter", "C-7", "30m"),
    ("payment", "list", "--page", "100"),
    ("payment", "add", "C-7", "10"),
    ("history",),
    ("undo",),
    ("promise",),
    ("calendar",),
    ("week", "week.pdf"),
    ("pace",),
    ("earnings",),
    ("check",),
    ("backup",),
)


def grow(home: Path, *numbers: int) -> None:
    """Fill a book in a process of its own: a process starts out as large as its parent."""
    program = "import sys, pathlib, grown_book as g; g.fill(pathlib.Path(sys.argv[1]), "
    program += "*map(int, sys.argv[2:]))"
    words = [sys.executable, "-c", program, str(home), *map(str, numbers)]
    subprocess.run(words, check=True, cwd=Path(__file__).parent)


def timed(words: tuple[str, ...], home: Path) -> tuple[float, float]:
    """Return the seconds of processor time and the megabytes that a command takes."""
    environment = {**os.environ, "BURNPLAN_HOME": str(home)}
    command = [sys.executable, "-m", "burnplan", *words]
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    with subprocess.Popen(
        command, env=environment, cwd=home, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE
    ) as process:
        _, status, used = os.wait4(process.pid, 0)
        said = process.stderr.read().decode() if process.stderr else ""
        process.returncode = os.waitstatus_to_exitcode(status)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    if process.returncode:
        sys.exit(f"burnplan {' '.join(words)}: {said}")
    seconds = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return seconds, used.ru_maxrss / 1024


def main() -> None:
    """Fill, time, report."""
    closed, open_jobs, sessions = (int(x) for x in (*sys.argv[1:], "50000", "30", "20")[:3])
    with tempfile.TemporaryDirectory() as folder:
        young, grown = Path(folder, "young"), Path(folder, "grown")
        grow(young, open_jobs, 300, sessions)
        begun = time.monotonic()
        grow(grown, open_jobs, closed, sessions)
        size = (grown / "book.db").stat().st_size / 1e6
        print(f"{closed + open_jobs} jobs, {(closed + open_jobs) * sessions} sessions:", end=" ")
        print(f"{size:.0f} MB, made in {time.monotonic() - begun:.0f} s\n")
        print(f"{'command':42} {'young':>7} {'grown':>7} {'ratio':>6} {'MB':>6}")
        for words in COMMANDS:
            few = [timed(words, young) for _ in range(ROUNDS)]
            many = [timed(words, grown) for _ in range(ROUNDS)]
            a, b = (statistics.median(seconds for seconds, _ in some) for some in (few, many))
            most = max(megabytes for _, megabytes in many)
            print(f"{' '.join(words):42} {a:6.2f}s {b:6.2f}s {b / a:6.2f} {most:6.0f}", flush=True)


if __name__ == "__main__":
    main()
