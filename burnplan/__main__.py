"""The program starts here, with what must be said before anything large is imported."""

import gc
import os
import sys


def main() -> None:
    """Start the program.

    Importing and reading a book make many objects and next to no garbage:
    looking for it as often as by default, and once more at the end, takes a
    quarter of a short command's time.
    """
    gc.set_threshold(200_000)
    # Ours has no plug-ins for pydantic; looking for them reads every package's description.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    # Matrices here are small: a second thread of OpenBLAS waits for its turn on a busy machine,
    # and a comparison then takes three times its processor time (measured).
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from burnplan.cli.app import run

    code = run()
    gc.freeze()
    sys.exit(code)


if __name__ == "__main__":
    main()
