"""Areas that a user marks: on the photo, or on the wood."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import numpy as np

from burnplan.errors import BadInput
from burnplan.tone.region import Polygon, ellipse
from burnplan.tone.validation import number, refuse_unknown


class AreaKind(StrEnum):
    """Shapes an area can be marked by."""

    RECTANGLE = "rectangle"
    ELLIPSE = "ellipse"
    POLYGON = "polygon"


class On(StrEnum):
    """What an area is marked on, and so its unit."""

    PHOTO = "photo"
    WOOD = "wood"


@dataclass(frozen=True, slots=True)
class MarkedArea:
    """An area marked on the photo or on the wood.

    Parameters
    ----------
    kind : AreaKind
    corners : tuple of (float, float)
        Two opposite corners of the box that a rectangle or an ellipse fills,
        or the three or more corners of a polygon, in order. On the photo x and
        y are fractions of its upright width and height, 0 to 1, before any
        crop or turn; on the wood they are mm from the top left of the
        outline's bounding box.
    on : On
    name : str
        What it is, for notes, for example ``"eyes"``.

    Raises
    ------
    BadInput
        If there are too few corners or the area has no extent.

    Examples
    --------
    >>> face = MarkedArea(AreaKind.ELLIPSE, ((0.3, 0.2), (0.6, 0.7)), name="face")
    >>> MarkedArea.from_dict(face.to_dict()) == face
    True
    """

    kind: AreaKind
    corners: tuple[tuple[float, float], ...]
    on: On = On.PHOTO
    name: str = ""

    def __post_init__(self) -> None:
        wanted = "three or more corners" if self.kind is AreaKind.POLYGON else "two corners"
        enough = len(self.corners) >= 3 if self.kind is AreaKind.POLYGON else len(self.corners) == 2
        if not enough:
            raise BadInput(f"A marked {self.kind} needs {wanted}, not {len(self.corners)}")
        if not all(math.isfinite(value) for corner in self.corners for value in corner):
            raise BadInput("The corners of a marked area must be numbers")
        x, y = zip(*self.corners, strict=True)
        if max(x) == min(x) or max(y) == min(y):
            raise BadInput(
                f"There is nothing inside {self.called}", "Give two different corners of its box"
            )

    @property
    def called(self) -> str:
        """How notes and errors name it."""
        return f"the marked area '{self.name}'" if self.name else "a marked area"

    def polygon(self) -> Polygon:
        """Return it as a polygon in its own unit, shape (K, 2)."""
        if self.kind is AreaKind.POLYGON:
            return np.asarray(self.corners, np.float64)
        (x0, y0), (x1, y1) = self.corners
        if self.kind is AreaKind.ELLIPSE:
            return ellipse(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))
        return np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], np.float64)

    def to_dict(self) -> dict[str, Any]:
        """Return it as plain values that JSON can hold."""
        return {
            "kind": str(self.kind),
            "corners": [list(corner) for corner in self.corners],
            "on": str(self.on),
            "name": self.name,
        }

    @classmethod
    def from_dict(cls, plain: Mapping[str, Any]) -> "MarkedArea":
        """Return what :meth:`to_dict` gave.

        Raises
        ------
        BadInput
            If something else is given.
        """
        refuse_unknown(plain, ("kind", "corners", "on", "name"), "marked area")
        try:
            corners = tuple((number(x, "corner"), number(y, "corner")) for x, y in plain["corners"])
            kind, on = AreaKind(plain["kind"]), On(plain.get("on", On.PHOTO))
        except (KeyError, TypeError, ValueError):
            raise BadInput(
                "A marked area must give its kind, its corners and what it lies on"
            ) from None
        return cls(kind, corners, on, str(plain.get("name", "")))
