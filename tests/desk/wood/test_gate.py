"""The gate of a job: each forbidden thing is tried by every path, and stopped or said first."""

from collections.abc import Callable
from datetime import timedelta

import pytest

from burnplan.desk.derived import hazards_found
from burnplan.desk.jobs import checklists, commissions, corrections, holding, review, sessions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.jobs.corrections import Correction
from burnplan.desk.jobs.sessions import Doing
from burnplan.desk.money import accepting, quotes
from burnplan.desk.studio.lookup import find_commission
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import planned_sessions
from burnplan.desk.wood import blanks, hazards, ladders, own_species
from burnplan.errors import BadInput, NotAllowed
from burnplan.wood.hazards import Condition
from burnplan.wood.materials import BLOCKING, all_materials
from tests.cases import quick_first
from tests.desk.test_whole_line import contents

# One name of each kind that the table says must not be burned.
FORBIDDEN = {
    f"{one.key}-{'-'.join(one.names[0])}": " ".join(one.names[0])
    for one in all_materials()
    if one.grade in BLOCKING
}
HOUR = timedelta(hours=1)

# Every way to burn, or to promise to.
PATHS: dict[str, Callable[[Studio, str], object]] = {
    "clock": lambda s, job: sessions.start(s, job, Doing(work="burn")),
    "clock on a zone": lambda s, job: sessions.start(s, job, Doing(zone=1)),
    "hours after the fact": lambda s, job: sessions.log(s, job, HOUR, Doing(work="burn")),
    "a step of burning": lambda s, job: checklists.tick(s, job, ["burn"]),
    "a strip on an offcut": lambda s, job: checklists.tick(s, job, ["try-tones"]),
    "all steps at once": lambda s, job: checklists.tick(s, job, ["1-25"]),
    "a planned session": lambda s, job: planned_sessions.add(
        s, job, s.now() + timedelta(days=1), HOUR
    ),
    "a quote": lambda s, job: quotes.issue(s, job, quotes.QuoteRequest(hours=5)),
}


def by_species(studio: Studio, name: str) -> str:
    return commissions.add(studio, Wishes(title="Fox", size="20x15cm", species=name)).code


def by_words(studio: Studio, name: str) -> str:
    note = f"They bring it; please burn it on a {name} board"
    return commissions.add(studio, Wishes(title="Fox", size="20x15cm", note=note)).code


def by_title(studio: Studio, name: str) -> str:
    return commissions.add(studio, Wishes(title=f"Fox on {name}", size="20x15cm")).code


@quick_first("way", [by_species, by_words, by_title], long=99)
@quick_first("name", FORBIDDEN.values(), ids=FORBIDDEN, quick=5, long=99)
def test_without_a_blank_it_is_stopped(
    studio: Studio, name: str, way: Callable[[Studio, str], str]
) -> None:
    job = way(studio, name)
    before = contents(studio)
    for burn in PATHS.values():
        with pytest.raises(NotAllowed, match=f"The wood of {job} must not be burned") as stopped:
            burn(studio, job)
        assert "hold.override" in str(stopped.value)
    assert contents(studio) == before


@pytest.mark.parametrize(
    "kind",
    [kind for kind in Condition if kind not in ("plywood", "resinous", "spalted", "glued")],
)
def test_with_a_blank_it_is_stopped(studio: Studio, kind: str) -> None:
    job = by_species(studio, "basswood")
    board = blanks.add(studio, blanks.NewBlank(species="basswood", size="20x15cm")).code
    holding.hold(studio, board, job)
    hazards.note(studio, board, [kind])
    before = contents(studio)
    for burn in PATHS.values():
        with pytest.raises(NotAllowed, match=rf"{board} must not be burned \({kind}\)"):
            burn(studio, job)
    assert contents(studio) == before
    hazards.override(studio, board, "planed to bare wood")
    sessions.start(studio, job, Doing(work="burn"))


@quick_first("name", FORBIDDEN.values(), ids=FORBIDDEN, quick=5, long=99)
def test_a_blank_of_it_is_not_held_and_no_strip_is_burned_on_it(studio: Studio, name: str) -> None:
    job = by_species(studio, "basswood")
    board = blanks.add(studio, blanks.NewBlank(species=name, size="20x15cm")).code
    strip = ladders.NewLadder(species=name, tip="ball", heat=[1, 2, 3], lightness=[60, 50, 40])
    before = contents(studio)
    for burn in (
        lambda: holding.hold(studio, board, job),
        lambda: ladders.add(studio, strip),
    ):
        with pytest.raises(NotAllowed, match="must not be burned"):
            burn()
    assert contents(studio) == before


@pytest.mark.parametrize("note", ["painted on the back", "Varnished top", "offcut of treated pine"])
def test_what_a_blanks_own_note_says_counts(studio: Studio, note: str) -> None:
    job = by_species(studio, "basswood")
    board = blanks.add(studio, blanks.NewBlank(species="basswood", size="20x15cm", note=note)).code
    with pytest.raises(NotAllowed, match=f"{board} must not be burned"):
        holding.hold(studio, board, job)
    plain = blanks.NewBlank(species="basswood", size="20x15cm", note="not painted; wax the ends")
    holding.hold(studio, blanks.add(studio, plain).code, job)


def test_what_was_begun_is_stopped_too(studio: Studio) -> None:
    job = by_species(studio, "basswood")
    board = blanks.add(studio, blanks.NewBlank(species="basswood", size="20x15cm")).code
    holding.hold(studio, board, job)
    quotes.issue(studio, job, quotes.QuoteRequest(hours=5))
    number = sessions.log(studio, job, HOUR, Doing(work="transfer")).number
    sessions.start(studio, job, Doing(work="burn"))
    sessions.pause(studio)
    hazards.note(studio, board, ["treated"])
    for burn in (
        lambda: sessions.resume(studio),
        lambda: corrections.correct(studio, number, Correction(work="burn"), "it was burning"),
        lambda: accepting.accept(studio, job),
    ):
        with pytest.raises(NotAllowed, match="must not be burned"):
            burn()
    sessions.stop(studio)  # what has been done is put on record


def test_sanding_it_says_what_its_dust_can_do(studio: Studio) -> None:
    job = by_species(studio, "MDF")
    assert "Its dust can harm as well" in checklists.before_work(studio, job, "prepare")
    assert "Its dust can harm as well" in checklists.tick(studio, job, ["sand-120"]).reminder


def test_a_reason_is_of_some_words_and_keeps_the_caution_in_sight(studio: Studio) -> None:
    job = by_species(studio, "basswood")
    board = blanks.add(studio, blanks.NewBlank(species="basswood", size="20x15cm")).code
    hazards.note(studio, board, ["painted"])
    for short in ("ok", "yes!", "  fine "):
        with pytest.raises(BadInput, match="not enough of a reason"):
            holding.hold(studio, board, job, override=short)
    holding.hold(studio, board, job, override="planed to bare wood")
    (said,) = hazards.said_first(studio, job)
    assert "old paint can hold lead" in said
    assert "Set aside by the artist: planed to bare wood" in said
    (step,) = [s for s in checklists.of(studio, job).steps if s.key == "sound-wood"]
    assert said in step.caution


def test_the_review_says_so_first(studio: Studio) -> None:
    due = studio.today() + timedelta(days=1)
    commissions.add(studio, Wishes(title="Hare", size="20x15cm", due=due))
    job = by_species(studio, "MDF")
    first = review.review(studio)[0]
    assert (first.code, first.attention) == (job, "must not be burned: mdf")
    assert first.next_step == "make sure of its wood before anything else"


def test_a_blank_held_settles_what_the_order_says_but_not_without_a_word(studio: Studio) -> None:
    job = by_words(studio, "MDF")
    board = blanks.add(studio, blanks.NewBlank(species="basswood", size="20x15cm")).code
    holding.hold(studio, board, job)
    (said,) = hazards.for_job(studio, job)
    assert (said.key, said.blocks) == ("mdf", False)
    assert f"{board} is held: make sure which it is" in said.advice
    sessions.start(studio, job, Doing(work="burn"))


def test_what_is_glued_is_asked_about_and_not_blocked(studio: Studio) -> None:
    job = by_species(studio, "laminated pine")
    wishes = Wishes(title="Fox", species="laminated pine")
    assert any("what the glue is" in words for words in commissions.cautions(studio, wishes))
    sessions.start(studio, job, Doing(work="burn"))


@pytest.mark.parametrize(
    ("use", "words"),
    [
        ("outdoor", ("never treated wood", "daylight fades the burn", "uv-resistant", "codes")),
        ("food", ("hard and close-grained", "none on a surface that touches food",
                  "food contact", "4-101.17")),
    ],
)  # fmt: skip
def test_a_use_is_spoken_of_when_it_is_logged(
    studio: Studio, use: str, words: tuple[str, ...]
) -> None:
    wishes = Wishes(title="Board", use=use, size="20x15cm")
    (said,) = commissions.cautions(studio, wishes)
    for one in words:
        assert one in said.lower() if one != "codes" else "Local codes" in said
    code = commissions.add(studio, wishes).code
    with studio.reading() as book:
        assert [one.key for one in hazards_found.of_job(book, find_commission(book, code))] == [use]


def test_a_picture_of_it_is_not_the_wood(studio: Studio) -> None:
    for title in ("Painted horse", "Yew at dawn", "Driftwood beach", "Stained glass window"):
        assert commissions.cautions(studio, Wishes(title=title)) == []
        job = commissions.add(studio, Wishes(title=title, species="basswood")).code
        assert sessions.start(studio, job, Doing(work="burn")).state == "running"
        sessions.stop(studio)


@pytest.mark.parametrize("path", PATHS.values(), ids=PATHS)
def test_a_wood_of_ones_own_is_stopped_by_its_botanical_name_too(
    studio: Studio, path: Callable[[Studio, str], object]
) -> None:
    """Yew, under a name that no table has."""
    own_species.add(studio, own_species.NewSpecies(name="Churchwood", botanical="Taxus baccata"))
    job = by_species(studio, "churchwood")
    assert next(one.key for one in hazards.for_job(studio, job) if one.blocks) == "poisonous"
    assert review.review(studio)[0].blocked
    before = contents(studio)
    with pytest.raises(NotAllowed, match=r"must not be burned \(poisonous\)"):
        path(studio, job)
    assert contents(studio) == before
