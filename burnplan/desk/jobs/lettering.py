"""Lettering: words burned on a piece beside the picture, and the plan made with them."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from sqlalchemy.orm import Session

from burnplan.codes import commission_code
from burnplan.desk.derived import checklist, piece, studio_settings
from burnplan.desk.jobs import replanning
from burnplan.desk.studio import photo_store
from burnplan.desk.studio.lookup import find_commission
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, NotAllowed, NotFound
from burnplan.ledger.models import Commission, Lettering, Original
from burnplan.progress import Progress
from burnplan.reckon.checklist import SPELLING
from burnplan.sentences import Do
from burnplan.units import parse_length
from burnplan.view import View

if TYPE_CHECKING:
    from burnplan.lettering.laying import Inscription
    from burnplan.lettering.typefaces import Typeface

DEFAULT_HEIGHT_MM = 12.0  # of a capital, where nothing is said; a guess: half an inch
# As dark as lettering is burned, where nothing is said; a guess: a little short of the darkest.
DEFAULT_DARKNESS = 0.9
_MOST_LETTERS = 500  # of one lettering; a limit by definition

MayCover = Callable[[str], bool]
"""Asked whether lettering may lie over the focal area, in a sentence."""


class LetteringView(View):
    """A lettering, as shown; lengths in mm.

    ``height_mm`` is that of a capital. Where it lies is known once the piece has a size:
    ``box_mm`` has its left, top, right and bottom.
    """

    number: int
    lines: list[str]
    typeface: str
    height_mm: float
    at: Literal["top", "middle", "bottom"]
    middle_mm: tuple[float, float] | None
    course: Literal["straight", "arc", "edge"]
    radius_mm: float | None
    filled: bool
    darkness: float
    clear_mm: float
    box_mm: tuple[float, float, float, float] | None
    area_cm2: float | None
    line_cm: float | None
    stroke_mm: float | None


class LetteringListView(View):
    """The lettering of a commission, with what was noted of it."""

    code: str
    title: str
    lettering: list[LetteringView]
    notes: list[str]


@dataclass(frozen=True, slots=True)
class LetteringWishes:
    """How words are lettered, as typed; None leaves a thing as it is.

    Parameters
    ----------
    lines : sequence of str, optional
        The words, a line each.
    font : str, optional
        A typeface that comes with the program, or the path of a font file.
    height : str, optional
        Of a capital, a length.
    at : str, optional
        ``top``, ``middle``, ``bottom``, or right,down of its middle on the wood.
    course : str, optional
        ``straight``, ``arc`` or ``edge``.
    radius : str, optional
        Of the arc; ``none`` for one found from the piece.
    filled : bool, optional
    dark : float, optional
        How dark it is burned, %.
    clear : str, optional
        Strip of bare wood round it, a length.
    """

    lines: Sequence[str] | None = None
    font: str | None = None
    height: str | None = None
    at: str | None = None
    course: str | None = None
    radius: str | None = None
    filled: bool | None = None
    dark: float | None = None
    clear: str | None = None


def of(studio: Studio, which: str, notes: Sequence[str] = ()) -> LetteringListView:
    """Return the lettering of a commission."""
    from burnplan.desk.jobs import inscriptions
    from burnplan.desk.jobs.layouts import Layout
    from burnplan.lettering.laying import laid

    with studio.reading() as book:
        commission = find_commission(book, which)
        size = piece.size_of(commission)
        newest = commission.references[-1] if commission.references else None
        margin = Layout.from_dict(newest.layout).placement.margin_mm if newest else 0.0
        told = inscriptions.of_rows(commission.lettering, studio.originals)
        found = []
        for number, (row, one) in enumerate(zip(commission.lettering, told, strict=True), start=1):
            try:
                letters = None if size is None else laid(one, size, margin)
            except BadInput as error:  # the piece has become another since
                letters, notes = None, (*notes, f"{error.message}")
            found.append(
                LetteringView(
                    number=number,
                    lines=list(one.lines),
                    typeface=row.face or one.typefaces[0].name,
                    height_mm=row.height_mm,
                    at=row.at,
                    middle_mm=one.middle_mm,
                    course=row.course,
                    radius_mm=row.radius_mm,
                    filled=row.filled,
                    darkness=row.darkness,
                    clear_mm=row.clear_mm,
                    box_mm=letters and letters.box,
                    area_cm2=letters and letters.area_mm2 / 100,
                    line_cm=letters and letters.length_mm / 10,
                    stroke_mm=letters and letters.stroke_mm,
                )
            )
        return LetteringListView(
            code=commission_code(commission.id),
            title=commission.title,
            lettering=found,
            notes=list(notes),
        )


def undone_by(studio: Studio, which: str) -> list[str]:
    """Return the steps done that other lettering undoes, in words: the transfer's."""
    with studio.reading() as book:
        return checklist.undone_words(book, find_commission(book, which), other_blank=False)


def put(
    studio: Studio,
    which: str,
    wishes: LetteringWishes,
    *,
    number: int | None = None,
    may_cover: MayCover = lambda _said: False,
    reopen: bool = False,
    on_progress: Progress | None = None,
) -> LetteringListView:
    """Letter words on a piece, or change a lettering; the plan is made again with it.

    Parameters
    ----------
    studio : Studio
    which : str
        The commission.
    wishes : LetteringWishes
    number : int, optional
        Of the lettering to change; a new one if not given.
    may_cover : callable, optional
        Asked whether it may lie over the focal area.
    reopen : bool, optional
        Open the steps of the transfer again.
    on_progress : callable, optional

    Raises
    ------
    BadInput
        If something typed cannot be, a letter is in no typeface, or it does not fit.
    NotAllowed
        If it would lie over the focal area and may not.
    """
    with studio.reading() as book:
        commission = find_commission(book, which)
        code, own = commission_code(commission.id), studio_settings.of_book(book)
        rows = [_facts(row) for row in commission.lettering]
    place = len(rows) if number is None else _place(code, len(rows), number)
    before = rows[place] if number is not None else _NEW
    unit = own.thickness_unit
    after, font = _changed(studio, before, wishes, unit)
    rows[place:] = [after, *rows[place + 1 :]]
    plan = _planned(studio, code, rows, font, on_progress)
    covered = plan.reading.focal_lettered_cm2[place] if plan else 0.0
    if covered:
        said = f"'{_in_a_line(after)}' lies over the focal area, {covered:.1f} cm² of it"
        if not may_cover(said):
            raise NotAllowed(said, "Put it elsewhere, or make it smaller")
    with studio.writing("lettering.put") as (book, entry):
        commission = find_commission(book, code)
        if font is not None:
            photo_store.recorded(book, font)
        if number is None:
            book.add(Lettering(commission=commission, **after))
        else:
            _place(code, len(commission.lettering), number)
            for name, value in after.items():
                setattr(commission.lettering[place], name, value)
        book.flush()
        _follow(
            studio, book, commission, plan, reopen=reopen, other=before["text"] != after["text"]
        )
        entry.says(f"Lettered '{_in_a_line(after)}' on '{commission.title}'", commission.id)
    return of(studio, code, plan.reading.notes if plan else ())


def remove(
    studio: Studio,
    which: str,
    number: int,
    *,
    reopen: bool = False,
    on_progress: Progress | None = None,
) -> LetteringListView:
    """Take a lettering off a piece; the plan is made again without it.

    Raises
    ------
    NotFound
        If there is none of that number.
    """
    with studio.reading() as book:
        commission = find_commission(book, which)
        code = commission_code(commission.id)
        rows = [_facts(row) for row in commission.lettering]
    del rows[_place(code, len(rows), number)]
    plan = _planned(studio, code, rows, None, on_progress)
    with studio.writing("lettering.remove") as (book, entry):
        commission = find_commission(book, code)
        row = commission.lettering[_place(code, len(commission.lettering), number)]
        words = row.text.replace("\n", " / ")
        commission.lettering.remove(row)
        book.delete(row)
        book.flush()
        _follow(studio, book, commission, plan, reopen=reopen, other=True)
        entry.says(f"Took '{words}' off '{commission.title}'", commission.id)
    return of(studio, code, plan.reading.notes if plan else ())


def as_wished(wishes: LetteringWishes, unit: str) -> "Inscription":
    """Return lettering that is on no record, for an estimate.

    Raises
    ------
    BadInput
        If something typed cannot be.
    """
    from burnplan.desk.jobs.inscriptions import with_stand_ins
    from burnplan.lettering.laying import Inscription
    from burnplan.lettering.typefaces import DEFAULT

    height = None if wishes.height is None else parse_length(wishes.height, default_unit=unit)
    return Inscription(
        lines=tuple(_text(wishes.lines or ()).split("\n")),
        typefaces=with_stand_ins(_typeface(wishes.font or DEFAULT)),
        height_mm=height or DEFAULT_HEIGHT_MM,
        darkness=DEFAULT_DARKNESS,
    )


_Facts = dict[str, str | float | bool | None]

_NEW: _Facts = {
    "text": "", "face": "serif", "font_sha256": None, "height_mm": DEFAULT_HEIGHT_MM,
    "at": "bottom", "x_mm": None, "y_mm": None, "course": "straight", "radius_mm": None,
    "filled": True, "darkness": DEFAULT_DARKNESS, "clear_mm": 0.0,
}  # fmt: skip


def _facts(row: Lettering) -> _Facts:
    return {name: getattr(row, name) for name in _NEW}


def _in_a_line(facts: _Facts) -> str:
    return str(facts["text"]).replace("\n", " / ")


def _place(code: str, count: int, number: int) -> int:
    if not 1 <= number <= count:
        raise NotFound(f"{code} has no lettering {number}", "See: ", Do("lettering.list", job=code))
    return number - 1


def _changed(
    studio: Studio, before: _Facts, wishes: LetteringWishes, unit: str
) -> tuple[_Facts, Original | None]:
    """Return the facts of a lettering as wished, and its font if it is a file."""
    after, font = dict(before), None
    if wishes.lines is not None:
        after["text"] = _text(wishes.lines)
    if not after["text"]:
        raise BadInput("There is nothing to letter", "Give the words, a line each")
    if wishes.font is not None:
        face, font = _font(studio, wishes.font)
        after |= {"face": face, "font_sha256": font.sha256 if font else None}
    if wishes.height is not None:
        after["height_mm"] = parse_length(wishes.height, default_unit=unit)
    if wishes.at is not None:
        after |= _at(wishes.at, unit)
    if wishes.course is not None:
        after["course"] = wishes.course
    if wishes.radius is not None:
        none = wishes.radius.strip().lower() == "none"
        after["radius_mm"] = None if none else parse_length(wishes.radius, default_unit=unit)
    if wishes.filled is not None:
        after["filled"] = wishes.filled
    if wishes.dark is not None:
        if not 0 < wishes.dark <= 100:
            raise BadInput(f"Darkness is above 0 to 100 %, not {wishes.dark:g}", "90 is usual")
        after["darkness"] = wishes.dark / 100
    if wishes.clear is not None:
        after["clear_mm"] = parse_length(wishes.clear, default_unit=unit)
    return after, font


def _text(lines: Sequence[str]) -> str:
    from burnplan.lettering.setting import cleaned

    told = [cleaned(line) for line in lines]
    if not told or not all(told):
        raise BadInput("There is nothing to letter", "Give the words, a line each")
    text = "\n".join(told)
    if len(text) > _MOST_LETTERS:
        raise BadInput(
            f"That is more than {_MOST_LETTERS} letters", "Letter it in parts, or say less"
        )
    return text


def _font(studio: Studio, typed: str) -> tuple[str, Original | None]:
    """Return the name of a typeface that comes with the program, or a font file kept."""
    found = _typeface(typed)
    path = Path(typed).expanduser()
    if found.name == typed.strip().lower():
        return found.name, None
    return "", photo_store.keep_font(studio, path.name, found.data)


def _typeface(typed: str) -> "Typeface":
    """Return a typeface that comes with the program, or that of a font file."""
    from burnplan.lettering import typefaces

    name, path = typed.strip().lower(), Path(typed).expanduser()
    if name in typefaces.SHIPPED or (not path.suffix and not path.exists()):
        return typefaces.shipped(name)
    return typefaces.opened(path)


def _at(typed: str, unit: str) -> _Facts:
    from burnplan.desk.jobs.layouts import lengths

    text = typed.strip().lower()
    if text in ("top", "middle", "bottom"):
        return {"at": text, "x_mm": None, "y_mm": None}
    if "," not in text:
        raise BadInput(
            f"'{typed}' is no place on the wood",
            "Give top, middle, bottom, or right,down of its middle, like 60mm,140mm",
        )
    x, y = lengths(text, unit)
    return {"at": "middle", "x_mm": x, "y_mm": y}


def _planned(
    studio: Studio,
    code: str,
    rows: Sequence[_Facts],
    font: Original | None,
    on_progress: Progress | None,
) -> "replanning.NewPlan | None":
    """Lay the lettering, and read the photo again with it; None where there is none yet."""
    from burnplan.desk.jobs import inscriptions
    from burnplan.lettering.laying import laid

    with studio.reading() as book:
        commission = find_commission(book, code)
        size = piece.size_of(commission)
        made = []
        for facts in rows:
            row = Lettering(**facts)
            row.font = (
                font
                if font and font.sha256 == row.font_sha256
                else (book.get(Original, row.font_sha256) if row.font_sha256 else None)
            )
            made.append(row)
        told: tuple[Inscription, ...] = inscriptions.of_rows(made, studio.originals)
    if size is None:
        _set(told)
        return None
    plan = replanning.plan_with(studio, code, told, on_progress)
    if plan is None:
        for one in told:
            laid(one, size)
    return plan


def _set(told: "Sequence[Inscription]") -> None:
    """Make sure that every letter is in a typeface, where nothing more can be told yet."""
    from burnplan.lettering.setting import set_line

    for one in told:
        for line in one.lines:
            set_line(line, one.typefaces, one.height_mm)


def _follow(
    studio: Studio,
    book: Session,
    commission: Commission,
    plan: "replanning.NewPlan | None",
    *,
    reopen: bool,
    other: bool,
) -> None:
    """Put the plan with the lettering on record; other words are to be confirmed again."""
    if plan is not None:
        plan.put(studio, book, commission)
    again = checklist.undone_by(commission, other_blank=False) if reopen else []
    if other:
        again += [one for one in commission.steps if one.key == SPELLING and one.settled]
    checklist.reopen(again)
