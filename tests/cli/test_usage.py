"""What is typed wrongly is answered in plain words, broken between words in a terminal."""

import fcntl
import os
import pty
import struct
import termios

import pytest

from burnplan.cli.app import run
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput
from tests.started import started


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (
            "payment receipt C-0001",
            "wanted is the payment's number in the list. See 'burnplan payment list C-0001'.",
        ),
        ("days-off remove C-0001", "wanted is their number in the list. See 'burnplan days-off li"),
        ("session enter 1 1h --work burning", "Invalid value for --work: 'burning' is not one of"),
        ("estimate --dark 9", "Invalid value for --dark: 9 is above 5. See 'burnplan estimate --h"),
        ("estimate --dark 0", "Invalid value for --dark: 0 is below 1. See 'burnplan estimate --h"),
        ("estimate --dark x", "Invalid value for --dark: 'x' is not a whole number. See"),
        ("estimate --min-area x", "Invalid value for --min-area: 'x' is not a number. See"),
        ("payment add C-0001 -50", "can be below zero here. Money given back is put on record"),
        ("blank add basswood -3", "No number can be below zero here. See 'burnplan blank add"),
        ("step skip C-0001 2", "Missing option '--because'. See 'burnplan step skip --help'."),
        ("estimate --size 2x3cm --dark 3 --drop x", "--drop says nothing without a photo. Leave"),
        ("estimate a.jpg --size 2x3cm --letter-font sans", "font says nothing without --letter."),
        ("quote proposal 1 --again --days 3", "--days says nothing beside --again."),
        ("session plan --note eyes", "--note says nothing of the whole queue."),
        ("session plan 1 friday 2h --days 3", "--days says nothing of one session."),
        ("blank condition 1 spalted --because x", "--because says nothing without --clear."),
        ("blank condition 1 --note x", "--note says nothing without a condition"),
        ("estmate", "Did you mean 'estimate'? See 'burnplan --help'."),
        ("estimate --paper a3", "No such option: --paper. See 'burnplan estimate --help'."),
        ("estimate --detial 3", "No such option: --detial. Did you mean --detail? See"),
        ("estimate --dork 3", "No such option: --dork. Did you mean --dark? See 'burnplan es"),
    ],
)
def test_wrong_usage_in_plain_words(
    typed: str, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(typed.split()) == 2
    out, err = capsys.readouterr()
    assert (out, err.count("\n")) == ("", 1)
    assert said in err
    assert not any(raw in err for raw in ("Input should", "Value error", "?.", ".."))


def test_a_hint_may_be_a_question() -> None:
    assert str(BadInput("No wood is so called", "Did you mean oak?")).endswith("mean oak?")
    assert str(BadInput("No wood is so called", "See the list")).endswith("See the list.")


@pytest.mark.parametrize("width", [40, 80])
def test_a_terminal_gets_lines_broken_between_words(width: int) -> None:
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, width, 0, 0))
    command = ["payment", "receipt", "C-0001"]
    done = started(command, first=lambda: os.dup2(theirs, 2))
    os.close(theirs)
    first, *more = os.read(ours, 4096).decode().splitlines()
    os.close(ours)
    assert done.returncode == 2
    assert more
    assert all(len(line) <= width for line in (first, *more))
    assert all(line.startswith("  ") for line in more)
    plain = started(command).stderr
    assert " ".join([first, *(line.strip() for line in more)]) == plain.strip()


WOOD = "'baswood' is not in the species table. Did you mean basswood?"


@pytest.mark.parametrize(
    "words",
    [
        ("estimate", "--size", "20x30cm", "--dark", "3", "--species", "baswood"),
        ("price-list", "20x30cm", "--species", "baswood"),
        ("blank", "add", "baswood", "20x30cm"),
        ("commission", "add", "Fox", "--species", "baswood"),
        ("ladder", "add", "baswood", "--tip", "ball", "--heat", "2,3", "--lightness", "70,50"),
    ],
)
def test_a_misspelt_wood_is_taken_and_asked_about(
    words: tuple[str, ...], studio: Studio, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(list(words), studio) == 0
    assert WOOD in capsys.readouterr().err


def test_woods_of_ones_own_are_not_asked_about(
    studio: Studio, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["commission", "add", "Fox", "--species", "olive"], studio) == 0
    assert run(["blank", "species-add", "baswood"], studio) == 0
    assert run(["commission", "add", "Fox", "--species", "Baswood"], studio) == 0
    assert "Did you mean" not in capsys.readouterr().err


def test_a_new_client_is_said_to_be_new(
    studio: Studio, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("COLUMNS")  # a notice is a line
    for client, said in {
        "Anna Berg": "New client: Anna Berg\n",
        "Ana Berg": "New client: Ana Berg. Did you mean Anna Berg?\n",
        "Mara": "New client: Mara\n",
        "anna berg": "",
        "mara": "",
        "P-1": "",
    }.items():
        assert run(["commission", "add", "Fox", "--client", client], studio) == 0
        told = capsys.readouterr().err.splitlines(keepends=True)
        assert "".join(line for line in told if "for indoors" not in line) == said
