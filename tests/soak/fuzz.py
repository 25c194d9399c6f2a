"""Feed every parser with broken input for some minutes of processor time.

    nice python tests/soak/fuzz.py --minutes 12
    nice python tests/soak/fuzz.py --minutes 12 --engine atheris

The plain engine changes the examples at random. Atheris, where it is
installed (pip install atheris), is led by what the code does with them. Both
print how many inputs they tried and each error that is not meant for the user
(atheris stops at the first), with the input that shows it again:

    python tests/soak/fuzz.py --only size --input '31783...'
"""

import argparse
import os
import random
import shutil
import sys
import tempfile
import time
import traceback
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).parents[2]))

if TYPE_CHECKING:
    from tests.fuzz.targets import Target

TOKENS = (
    b"0", b"-1", b"9" * 20, b"1e308", b"nan", b"inf", b"\x00", b"\x1b[31m", b"\x07", b"\r\n",
    b"\xff\xfe", "\u202e".encode(), "½".encode(), "٣".encode(), "²".encode(), b"=1+1", b"'", b'"',
    b",", b".", b":", b"%", b"/", b" ", b"\n", b"x", b"mm", b"in", b"{", b"}", b"[", b"]", b"null",
    b"--help", b"--json", b"--", b"-", "é狐".encode(), b"\xed\xa0\x80", b"%s%n", b"a" * 300,
)  # fmt: skip


# Slow ones, which get so many times the time of the others.
SHARES = {"commands": 8, "photo": 4, "archive": 2, "past jobs": 2, "book.json": 2}


# What a reader is fed that it does not take only tries how it refuses.
LEAST_TAKEN = 0.2


# The share of inputs that are changed a little only.
GENTLY = 0.5


def mutated(dice: random.Random, target: "Target") -> bytes:
    """Return an example, changed a little or here and there."""
    from tests.fuzz.targets import gently

    examples = target.examples
    if dice.random() < GENTLY:
        return (target.change or gently)(dice, dice.choice(examples))
    data = bytearray(dice.choice(examples))
    for _ in range(dice.randint(1, 4)):
        at = dice.randrange(len(data) + 1)
        until = min(len(data), at + dice.randint(1, 12))
        match dice.randrange(6):
            case 0:
                data[at:at] = dice.choice(TOKENS)
            case 1:
                del data[at:until]
            case 2 if at < len(data):
                data[at] = dice.randrange(256)
            case 3:
                data[at:at] = data[at:until] * dice.randint(1, 4)
            case 4:
                other = dice.choice(examples)
                data[at:] = other[dice.randrange(len(other) + 1) :]
            case _ if at < len(data):
                data[at] ^= 1 << dice.randrange(8)
    return bytes(data)


def main() -> None:
    """Feed them, and print the count."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=12, help="of processor time")
    parser.add_argument("--engine", choices=("plain", "atheris"), default="plain")
    parser.add_argument("--only", help="the one target to feed")
    parser.add_argument("--input", help="one input, in hexadecimal")
    parser.add_argument("--first", type=int, default=0, help="seed of the plain engine")
    asked = parser.parse_args()
    if asked.engine == "atheris":
        import atheris  # type: ignore[import-untyped]

        with atheris.instrument_imports(include=["burnplan"]):
            from tests.fuzz import targets
    else:
        from tests.fuzz import targets
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        os.environ["BURNPLAN_HOME"] = str(Path(folder, "home"))
        with targets.all_targets(Path(folder)) as found:
            chosen = {asked.only: found[asked.only]} if asked.only else found
            if asked.input is not None:
                chosen[asked.only].read(bytes.fromhex(asked.input))
            elif asked.engine == "atheris":
                _led(chosen, asked.minutes, Path(folder))
            else:
                _plain(chosen, asked.minutes, asked.first)


def _plain(chosen: "dict[str, Target]", minutes: float, first: int) -> None:
    from tests.fuzz.targets import refusing

    dice, tried, taken = random.Random(first), Counter[str](), Counter[str]()  # noqa: S311
    names, spent = list(chosen), dict.fromkeys(chosen, 0.0)
    broken: set[str] = set()
    minute = 1
    while (began := time.process_time()) < minutes * 60:
        if began > minute * 60:
            print(f"{minute} min: {tried.total()} inputs, {len(broken)} tracebacks", flush=True)
            minute += 1
        # The one that had the least time so far, so that slow ones do not take it all.
        name = min(names, key=lambda one: spent[one])
        for _ in range(20):
            data = mutated(dice, chosen[name])
            tried[name] += 1
            try:
                taken[name] += refusing(chosen[name].read, data)
            except Exception as error:  # noqa: BLE001 told once for each place in the code
                place = traceback.extract_tb(error.__traceback__)[-1]
                again = f"--only '{name}' --input {data.hex()}"
                if str(place) not in broken:
                    print(f"{traceback.format_exc()}{again}\n", flush=True)
                broken.add(str(place))
        spent[name] += (time.process_time() - began) / SHARES.get(name, 1)
    shares = {name: taken[name] / max(1, tried[name]) for name in names}
    for name, share in shares.items():
        print(f"{name:16}{tried[name]:9} inputs, {share:6.1%} taken")
    if refused := [name for name, share in shares.items() if share < LEAST_TAKEN]:
        print(f"hardly anything is taken by: {', '.join(refused)}")
    print(f"{tried.total()} inputs in {time.process_time() / 60:.1f} minutes of processor time")
    print(f"{len(broken)} tracebacks" if broken else "no traceback")
    sys.exit(bool(broken or refused))


def _led(chosen: "dict[str, Target]", minutes: float, folder: Path) -> None:
    import atheris

    from tests.fuzz.targets import refusing

    names, corpus = list(chosen), folder / "corpus"
    corpus.mkdir()
    for number, name in enumerate(names):
        for count, example in enumerate(chosen[name].examples):
            (corpus / f"{number}-{count}").write_bytes(bytes([number]) + example)

    tried = Counter[str]()

    def one(data: bytes) -> None:
        if data and data[0] < len(names):
            tried[names[data[0]]] += 1
            refusing(chosen[names[data[0]]].read, data[1:])
        if time.process_time() > minutes * 60:
            for name in names:
                print(f"{name:16}{tried[name]:9} inputs")
            used = f"{time.process_time() / 60:.1f} minutes of processor time"
            print(f"{tried.total()} inputs in {used}\nno traceback", flush=True)
            shutil.rmtree(folder)
            os._exit(0)  # there is no other way out of libFuzzer without a complaint

    atheris.Setup([sys.argv[0], str(corpus), "-max_len=20000", "-verbosity=0"], one)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
