"""Who did what: each takes back, and does again, their own."""

import json
from collections.abc import Iterator

import pytest

from burnplan.cli.app import run
from burnplan.desk.jobs import checklists, clients, commissions
from burnplan.desk.jobs.clients import ClientDetails
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import undo
from burnplan.desk.studio.studio import Studio, open_studio
from burnplan.desk.wood import blanks, conditioning
from burnplan.errors import NotAllowed, NotFound
from tests import books
from tests.desk.test_whole_line import contents


@pytest.fixture
def mara(studio: Studio) -> Studio:
    studio.author = "Mara"
    return studio


@pytest.fixture
def ines(studio: Studio) -> Iterator[Studio]:
    other = books.open_at(studio.home, studio.clock)
    other.author = "Ines"
    yield other
    other.close()


def names(studio: Studio) -> list[str]:
    return [client.name for client in clients.everyone(studio)]


def test_the_history_names_who_did_it(mara: Studio, ines: Studio) -> None:
    clients.add(mara, "Zoe", ClientDetails())
    clients.add(ines, "Yann", ClientDetails())
    assert [one.author for one in undo.happenings(mara)] == ["Ines", "Mara"]


def test_each_takes_back_their_own(mara: Studio, ines: Studio) -> None:
    clients.add(mara, "Zoe", ClientDetails())
    clients.add(ines, "Yann", ClientDetails())
    assert undo.undo_last(mara).summary == "Added client Zoe"
    assert str(mara.notices.pop()) == "The last is by Ines: Added client Yann"
    assert names(mara) == ["Yann"]
    with pytest.raises(NotFound, match=r"nothing of your own to undo\. The last is by Ines"):
        undo.undo_last(mara)
    assert undo.redo_last(mara).summary == "Added client Zoe"
    assert names(mara) == ["Yann", "Zoe"]
    assert undo.undo_last(ines).author == "Ines"
    assert undo.undo_last(ines, anybody=True).author == "Mara"
    assert names(mara) == []


def test_what_somebody_named_nobody_did_is_everybodys(studio: Studio, ines: Studio) -> None:
    clients.add(studio, "Zoe", ClientDetails())
    assert undo.undo_last(ines).author == ""


def test_nothing_of_anybody_else_goes_with_it(mara: Studio, ines: Studio) -> None:
    blanks.add(mara, blanks.NewBlank(species="basswood", size="30x20cm"))
    conditioning.log_moisture(ines, "B-1", "9.5")
    clients.add(mara, "Zoe", ClientDetails())
    commissions.add(ines, Wishes(title="Fox", client="Zoe"))
    before = contents(mara)
    for _ in range(2):
        with pytest.raises(NotAllowed, match="something done since hangs on it"):
            undo.undo_last(mara)
    assert contents(mara) == before
    undo.undo_last(ines)
    undo.undo_last(mara)
    with pytest.raises(NotAllowed, match=r"'Put B-0001 in stock .* hangs on it"):
        undo.undo_last(mara)


def test_what_was_changed_since_by_somebody_else_stays(mara: Studio, ines: Studio) -> None:
    clients.add(mara, "Zoe", ClientDetails())
    clients.edit(ines, "Zoe", ClientDetails(phone="1"), None)
    with pytest.raises(NotAllowed, match="changed again since"):
        undo.undo_last(mara)
    assert clients.show(mara, "Zoe").phone == "1"


@pytest.mark.long
def test_redo_goes_back_and_forth(mara: Studio) -> None:
    books_ = [contents(mara)]
    commissions.add(mara, Wishes(title="Fox", size="12x9cm"))
    books_.append(contents(mara))
    for step in ("1", "2"):
        checklists.tick(mara, "Fox", [step])
        books_.append(contents(mara))
    for _ in range(3):
        for then in books_[-2::-1]:
            undo.undo_last(mara)
            assert contents(mara) == then
        with pytest.raises(NotFound, match="nothing to undo"):
            undo.undo_last(mara)
        for then in books_[1:]:
            undo.redo_last(mara)
            assert contents(mara) == then
        with pytest.raises(NotFound, match="nothing to redo"):
            undo.redo_last(mara)
    undo.undo_last(mara)
    shown = undo.happenings(mara)
    assert shown[0].summary == "Undid: Ticked for 'Fox': " + checklists.of(mara, "1").steps[1].text
    in_effect = [one for one in shown if not one.undone and one.action not in ("undo", "redo")]
    assert [one.action for one in in_effect] == ["step.tick", "commission.add"]


def test_who_goes_on_has_nothing_to_redo(mara: Studio) -> None:
    clients.add(mara, "Zoe", ClientDetails())
    undo.undo_last(mara)
    clients.add(mara, "Yann", ClientDetails())
    with pytest.raises(NotFound, match="nothing to redo"):
        undo.redo_last(mara)


def test_a_row_in_the_place_of_one_undone_stays(mara: Studio, ines: Studio) -> None:
    clients.add(mara, "Zoe", ClientDetails())
    undo.undo_last(mara)
    clients.add(ines, "Zoe", ClientDetails(phone="1"))
    with pytest.raises(NotAllowed):
        undo.redo_last(mara)
    assert clients.show(mara, "Zoe").phone == "1"


@pytest.mark.parametrize(
    ("named", "author"), [("Mara Lindqvist", "Mara Lindqvist"), ("M\x1b[2J\n" + "x" * 90, None)]
)
def test_the_environment_names_who_works(
    named: str, author: str | None, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    monkeypatch.setenv("BURNPLAN_NAME", named)
    opened = open_studio()
    assert len(opened.author) <= 60
    assert opened.author.isprintable()
    assert run(["client", "add", "Zoe"], opened) == 0
    assert run(["history", "--json"], opened) == 0
    out = capsys.readouterr().out
    assert json.loads(out[out.index("[") :])[0]["author"] == (author or opened.author)
    assert run(["history"], opened) == 0
    assert (author or "M [2J") in capsys.readouterr().out
    monkeypatch.delenv("BURNPLAN_NAME")
    monkeypatch.setattr("getpass.getuser", lambda: "ines")
    assert open_studio().author == "ines"
    opened.close()


def test_the_commands(studio: Studio, capsys: pytest.CaptureFixture[str]) -> None:
    studio.author = "Mara"
    assert run(["client", "add", "Zoe"], studio) == 0
    studio.author = "Ines"
    capsys.readouterr()
    assert run(["undo"], studio) == 2
    said = "The last is by Mara: Added client Zoe. Add --anybody to take that."
    assert said in capsys.readouterr().err
    assert run(["undo", "--anybody"], studio) == 0
    assert run(["redo"], studio) == 0
    assert capsys.readouterr().out == "Undid: Added client Zoe\nDid again: Added client Zoe\n"
