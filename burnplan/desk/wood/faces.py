"""A blank's own face, as its photo shows it: tone, grain, marks, and a piece burned on it.

What was read is kept with the photo that the outline was found in, in the outline's
millimetres; it holds as long as that photo shows the outline.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Literal

from burnplan.desk.derived import piece, woods
from burnplan.desk.studio.lookup import find_commission
from burnplan.desk.studio.studio import Studio
from burnplan.ledger import originals
from burnplan.ledger.models import Blank, BlankPhoto
from burnplan.outline import Outline
from burnplan.units import UnitSystem, format_length
from burnplan.view import View

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from burnplan.tone.flat_view import FlatView
    from burnplan.tone.place import Placed
    from burnplan.tone.wood_face import FlatFace
    from burnplan.wood.species import Species

_MOST = 6
"""Marks that are said one by one (our own choice)."""

_SAME_MM = 0.5
"""Sizes that differ by less are the same blank's (a guess: no ruler tells them apart)."""


class MarkView(View):
    """A knot or a dark mark on a face; mm from the top left of the outline's box.

    ``darker`` is by how much L* it is darker than the face.
    """

    kind: Literal["knot", "dark mark"]
    at_mm: tuple[float, float]
    size_mm: tuple[float, float]
    darker: float
    points_mm: list[tuple[float, float]]

    def in_words(self, units: UnitSystem) -> str:
        """Say what it is and where.

        Examples
        --------
        >>> at, around = (120.2, 80.0), [(113, 80), (127, 84), (120, 76)]
        >>> knot = MarkView(kind="knot", at_mm=at, size_mm=(14, 8), darker=30, points_mm=around)
        >>> knot.in_words(UnitSystem.METRIC)
        'knot of 14 mm, 120 mm from the left and 80 mm from the top'
        """
        size, across, down = (
            format_length(round(mm), units) for mm in (max(self.size_mm), *self.at_mm)
        )
        return f"{self.kind} of {size}, {across} from the left and {down} from the top"


def in_words(marks: Sequence[MarkView], units: UnitSystem) -> list[str]:
    """Say what marks there are on a face, a line each; of many only the largest."""
    said = [mark.in_words(units) for mark in marks[:_MOST]]
    return said if len(marks) <= _MOST else [*said, f"and {len(marks) - _MOST} smaller"]


def marks_of(blank: Blank) -> list[MarkView]:
    """Return the marks known on a blank's face, largest first."""
    photo = photo_of(blank)
    return [] if photo is None or not photo.face else [_mark(one) for one in photo.face["marks"]]


def grain_of(blank: Blank) -> float | None:
    """Return which way the grain was seen to run, degrees clockwise from straight across."""
    photo = photo_of(blank)
    return photo.face["grain_degrees"] if photo is not None and photo.face else None


def photo_of(blank: Blank) -> BlankPhoto | None:
    """Return the newest photo that shows where the blank's outline is; None if none does."""
    return max((one for one in blank.photos if one.view), key=lambda one: one.id, default=None)


def _mark(plain: dict[str, Any]) -> MarkView:
    points = [(float(x), float(y)) for x, y in plain["points_mm"]]
    across, down = zip(*points, strict=True)
    return MarkView(
        kind=plain["kind"],
        at_mm=((min(across) + max(across)) / 2, (min(down) + max(down)) / 2),
        size_mm=(max(across) - min(across), max(down) - min(down)),
        darker=plain["darker"],
        points_mm=points,
    )


def read(
    rgb: "npt.NDArray[np.uint8]", view: "FlatView", outline: Outline,
    sheet_mm: "npt.NDArray[np.float64]", white: bool, bark_mm: float,
) -> tuple[float | None, dict[str, Any], bool]:  # fmt: skip
    """Read a face, and return its tone, what is kept of it, and whether paper was overexposed.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (h, w, 3)
    view : FlatView
    outline : Outline
    sheet_mm : ndarray of float64, shape (4, 2) or (0, 2)
        In the outline's millimetres.
    white : bool
        Whether the sheet is white paper, which tells the tone.
    bark_mm : float
    """
    from burnplan.tone.wood_face import read_face

    face = read_face(rgb, view, outline, sheet_mm=sheet_mm, white=white, bark_mm=bark_mm)
    plain = {
        "sheet_mm": [[round(float(x), 2), round(float(y), 2)] for x, y in sheet_mm],
        "white": white,
        "grain_degrees": None if face.grain_degrees is None else round(face.grain_degrees, 1),
        "marks": [
            {
                "kind": str(mark.kind),
                "points_mm": [[round(float(x), 1), round(float(y), 1)] for x, y in mark.points_mm],
                "darker": round(mark.darker, 1),
            }
            for mark in face.marks
        ],
    }
    return None if face.bare is None else round(face.bare, 1), plain, face.overexposed


def forget(blank: Blank) -> None:
    """Let no photo show a blank's outline any more: it is another one now."""
    for photo in blank.photos:
        photo.view = photo.face = None


def shift(blank: Blank, by: tuple[float, float]) -> None:
    """Let photos show an outline where it is, though its millimetres count from elsewhere."""
    for photo in blank.photos:
        if photo.view:
            photo.view = _shifted(photo.view, by)
        if photo.face:
            photo.face = {
                **photo.face,
                "sheet_mm": _moved(photo.face["sheet_mm"], by),
                "marks": [
                    {**mark, "points_mm": _moved(mark["points_mm"], by)}
                    for mark in photo.face["marks"]
                ],
            }


def _moved(points: Sequence[Sequence[float]], by: tuple[float, float]) -> list[list[float]]:
    return [[round(x - by[0], 2), round(y - by[1], 2)] for x, y in points]


def _shifted(matrix: Sequence[float], by: tuple[float, float]) -> list[float]:
    """Return a homography for millimetres that count from another corner."""
    a, b, c, d, e, f, g, h, i = matrix
    x, y = by
    return [a, b, a * x + b * y + c, d, e, d * x + e * y + f, g, h, g * x + h * y + i]


def flat(studio: Studio, blank: Blank, px_per_mm: float) -> "FlatFace | None":
    """Return a blank's face from straight above under even light; None without such a photo.

    What the sheet covered is filled in from the wood beside it, along the grain.
    """
    photo = photo_of(blank)
    if photo is None or photo.face is None or photo.view is None:
        return None
    import numpy as np

    from burnplan.tone.flat_view import FlatView
    from burnplan.tone.photo import look, open_photo
    from burnplan.tone.wood_face import flat_face

    path = originals.fetch(studio.originals, photo.original_sha256)
    size = look(path).size
    view = FlatView(np.array(photo.view, np.float64).reshape(3, 3), size)
    middle = (blank.width_mm / 2, blank.height_mm / 2)
    share = min(1.0, 1.5 * px_per_mm / float(view.px_per_mm([middle])[0]))
    seen = open_photo(path, at_least=(round(size[0] * share), round(size[1] * share)))
    return flat_face(
        seen.rgb,
        view,
        piece.outline_of(blank),
        px_per_mm,
        sheet_mm=np.array(photo.face["sheet_mm"], np.float64).reshape(-1, 2),
        white=photo.face["white"],
        bark_mm=blank.bark_mm or 0.0,
        grain_degrees=photo.face["grain_degrees"],
        marks_mm=[mark["points_mm"] for mark in photo.face["marks"]],
    )


def burned_on_own_wood(
    studio: Studio, which: str, placed: "Placed"
) -> "npt.NDArray[np.uint8] | None":
    """Return a placed photo as if burned into the photo of the very wood that is held for it.

    For any picture of a commission that a client or the artist sees: its own grain and knots
    show through. What a sheet of paper covered in that photo is filled in from the wood
    beside it.

    Parameters
    ----------
    studio : Studio
    which : str
        The commission.
    placed : Placed
        Its photo (and lettering) laid on the outline of its blank, in any resolution, as
        :func:`burnplan.desk.jobs.planned.planned` or
        :func:`burnplan.desk.money.proposals.placed_on` give it.

    Returns
    -------
    ndarray of uint8, shape (H, W, 3), or None
        sRGB, of the shape of ``placed.lightness``; white outside the outline. None where no
        blank is held, no photo shows its outline, or ``placed`` is of another outline (a
        choice of another size): then show :func:`burnplan.tone.render.wood_preview`.

    Raises
    ------
    NotFound
        If there is no such commission.
    OperationFailed
        If the photo kept is missing or no longer what it was.
    """
    from burnplan.tone.render import burned_in

    found = own_face(studio, which, placed.outline, placed.px_per_mm)
    if found is None:
        return None
    rgb, wood = found
    return burned_in(rgb, placed, wood.bare_lightness, wood.darkest_burn)


def own_face(
    studio: Studio, which: str, outline: Outline, px_per_mm: float
) -> "tuple[npt.NDArray[np.uint8], Species] | None":
    """Return the bare face of the wood held for a commission, from straight above, and its wood.

    None where no photo shows it, or its outline is another than the one given.
    """
    with studio.reading() as book:
        blank = find_commission(book, which).blank
        if blank is None:
            return None
        own = piece.outline_of(blank)
        alike = own.kind is outline.kind and (
            abs(own.width_mm - outline.width_mm) < _SAME_MM
            and abs(own.height_mm - outline.height_mm) < _SAME_MM
        )
        face = flat(studio, blank, px_per_mm) if alike else None
        return None if face is None else (face.rgb, woods.of_blank(book, blank))
