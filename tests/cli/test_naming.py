"""Whom a name means: the whole name, a code, or what a person says to a part of one."""

import json

import pytest

from burnplan.desk.jobs import clients, commissions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.studio.lookup import by_name
from burnplan.desk.studio.studio import Studio, open_studio
from tests.cli.conftest import Run
from tests.started import in_a_terminal, started

JOANNA = "Joanna Smith"


@pytest.fixture
def joanna(studio: Studio) -> Studio:
    commissions.add(studio, Wishes(title="Old barn", client=JOANNA))
    return studio


@pytest.mark.parametrize(
    ("name", "part", "meant"),
    [
        ("Joanna Smith", "ann", False),
        ("Joanna Smith", "smith", True),
        ("Joanna Smith", "JO", True),
        ("Joanna Smith", "anna", False),
        ("Mary-Ann Berg", "ann", True),
        ("D'Anna", "anna", True),
        ("Ann Joann", "ann", True),
        ("Élodie", "lodie", False),
        ("E\u0301lodie", "lodie", False),  # the accent as a letter of its own
        ("Straße 5", "STRASSE", True),
        ("Anna_b", "b", True),
        ("Joanna Smith", "", False),
        ("Joanna Smith", "anna smith", False),
    ],
)
def test_a_part_begins_a_word(name: str, part: str, meant: bool) -> None:
    assert by_name([(1, name)], part) == ([], [1] if meant else [])


def test_nobody_is_booked_for_somebody_else(burnplan: Run, joanna: Studio) -> None:
    code, _, err = burnplan("commission", "add", "Fox", "--client", "Ann")
    assert (code, err.splitlines()[0]) == (0, "New client: Ann")
    assert json.loads(burnplan("commission", "show", "2", "--json")[1])["client"] == "Ann"
    assert commissions.show(joanna, "1").client == JOANNA


@pytest.mark.parametrize(
    "words",
    [
        ("commission", "add", "Fox", "--client", "smith"),
        ("commission", "edit", "1", "--client", "smith"),
        ("commission", "edit", "barn", "--note", "x"),
        ("commission", "show", "barn"),
        ("client", "edit", "smith", "--phone", "1"),
        ("client", "show", "smith", "--json"),
        ("jobs", "--client", "smith"),
        ("blank", "climate", "21C 40%", "--client", "smith"),
        ("session", "enter", "barn", "1h"),
        ("step", "tick", "1", "hand it"),
        ("promise", "barn"),
    ],
)
def test_a_script_gives_the_whole(burnplan: Run, joanna: Studio, words: tuple[str, ...]) -> None:
    before = burnplan("history", "--json")
    code, out, err = burnplan(*words)
    assert (code, out) == (2, "")
    assert "is only part of" in err
    assert (JOANNA if "smith" in words else "C-0001") in err
    assert err.count("\n") == 1
    assert burnplan("history", "--json") == before


def test_the_whole_and_codes_are_taken(burnplan: Run, joanna: Studio) -> None:
    for words in (
        ("commission", "show", "OLD  barn"),
        ("commission", "show", "c1"),
        ("client", "show", "joanna SMITH"),
        ("jobs", "--client", JOANNA),
        ("commission", "add", "Fox", "--client", "joanna smith"),
        ("step", "tick", "1", "1"),
    ):
        assert burnplan(*words)[0] == 0, words
    assert len(clients.everyone(joanna)) == 1


def test_a_code_that_nobody_has_is_not_offered_as_a_name(burnplan: Run) -> None:
    code, _, said = burnplan("client", "show", "P-0099")
    assert (code, said) == (2, "burnplan: No client has the code P-0099. Give the client's name.\n")
    assert burnplan("client", "add", "P-0099")[2] == said


def test_the_whole_is_taken_before_a_part(burnplan: Run, joanna: Studio) -> None:
    burnplan("client", "add", "Joanna")
    code, out, err = burnplan("client", "show", "joanna", "--json")
    assert (code, err, json.loads(out)["name"]) == (0, "", "Joanna")
    code, _, err = burnplan("client", "show", "jo")
    assert code == 2
    assert "could be P-0001 'Joanna Smith', P-0002 'Joanna'" in err


@pytest.fixture
def at_home() -> None:
    """Fill the book of the environment, for programs of their own."""
    opened = open_studio()
    commissions.add(opened, Wishes(title="Old barn", client=JOANNA))
    opened.close()


def _client_of(job: str) -> str | None:
    opened = open_studio()
    found = commissions.show(opened, job).client
    opened.close()
    return found


SKIPPED = ".\n"  # the first questions


@pytest.mark.usefixtures("at_home")
def test_a_person_is_asked_and_may_say_no() -> None:
    add = ["commission", "add", "Fox", "--client", "smith"]
    seen = in_a_terminal(add, "n\n" + SKIPPED)
    assert "By 'smith', do you mean the name of Joanna Smith?" in " ".join(seen.split())
    assert "C-0002" not in seen
    seen = in_a_terminal(add, "y\n" + SKIPPED)
    assert "C-0002" in seen
    assert _client_of("2") == JOANNA


@pytest.mark.usefixtures("at_home")
def test_a_person_who_only_looks_is_told() -> None:
    seen = in_a_terminal(["commission", "show", "barn"], SKIPPED)
    assert "'barn' is taken for C-0001 'Old barn'" in seen
    assert JOANNA in seen


@pytest.mark.usefixtures("at_home")
def test_a_step_is_asked_about_by_its_number() -> None:
    seen = in_a_terminal(["step", "tick", "1", "hand it"], "y\n" + SKIPPED)
    assert "do you mean step" in seen
    done = started(["step", "list", "1", "--json"])
    steps = json.loads(done.stdout)["steps"]
    assert [step["text"] for step in steps if step["state"] == "ticked"] == ["Hand it over"]
