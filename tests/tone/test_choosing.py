"""Which photo is best burned, tried on one portrait spoiled in one way at a time."""

import io
from functools import cache

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from burnplan.desk import demo
from burnplan.outline import Outline, OutlineKind
from burnplan.tone.choosing import SOFT_MM, Fault, Worth, worth_of
from burnplan.units import FEW_PX_PER_MM
from tests.cases import quick_first

OUTLINE = Outline(OutlineKind.RECTANGLE, 200, 133)


@cache
def portrait() -> NDArray[np.uint8]:
    """The sample's cat, twice as many pixels each way."""
    cat = np.asarray(Image.open(demo.sample(demo.PHOTO)).convert("RGB"))
    return np.asarray(cv2.resize(cat, None, fx=2, fy=2, interpolation=cv2.INTER_CUBIC), np.uint8)


def worth(pixels: NDArray[np.generic], outline: Outline = OUTLINE) -> Worth:
    file = io.BytesIO()
    Image.fromarray(np.clip(pixels, 0, 255).astype(np.uint8)).save(file, "PNG")
    return worth_of(file.getvalue(), outline)


@pytest.mark.long
def test_pixels_on_a_millimetre_are_those_of_the_piece() -> None:
    """451 × 300 pixels twice: 902 over 200 mm, where its proportions are the piece's."""
    found = worth(portrait())
    assert found.size_px == (902, 600)
    assert found.px_per_mm == pytest.approx(902 / 200, rel=0.01)
    large = worth(portrait(), Outline(OutlineKind.RECTANGLE, 500, 332))
    assert large.px_per_mm == pytest.approx(1.804, rel=0.01)
    assert Fault.FEW_PIXELS in large.faults
    assert large.largest <= large.px_per_mm / FEW_PX_PER_MM < 1


@pytest.mark.long
@pytest.mark.parametrize("spread", [4.0, 6.0])
def test_softness_is_measured_on_the_wood(spread: float) -> None:
    """A Gaussian of known deviation, on top of what the photo has itself."""
    found = worth(cv2.GaussianBlur(portrait(), (0, 0), spread))
    wanted = np.hypot(spread / found.px_per_mm, worth(portrait()).blur_mm)
    assert found.blur_mm == pytest.approx(wanted, rel=0.2)
    assert Fault.SOFT in found.faults
    assert found.largest == pytest.approx(SOFT_MM / found.blur_mm)


def spoiled() -> dict[Fault, NDArray[np.generic]]:
    good = portrait().astype(float)
    return {
        Fault.FEW_PIXELS: cv2.resize(
            portrait(), None, fx=0.15, fy=0.15, interpolation=cv2.INTER_AREA
        ),
        Fault.SOFT: cv2.GaussianBlur(portrait(), (0, 0), 6),
        Fault.DARK_CLIPPED: good * 1.6 - 120,
        Fault.LIGHT_CLIPPED: good * 1.6 + 60,
        Fault.FEW_VALUES: good * 0.2 + 120,
        Fault.FRONT_LIGHT: good,
    }


@quick_first("fault", [one for one in Fault if one is not Fault.DOES_NOT_FIT], quick=2)
def test_each_fault_is_found_and_costs(fault: Fault) -> None:
    lit = portrait().astype(float) + np.linspace(-45, 45, 902)[None, :, None]
    good, bad = worth(lit), worth(spoiled()[fault])
    assert fault in bad.faults
    assert bad.score < good.score
    assert fault not in good.faults


@pytest.mark.long
def test_light_from_a_side_is_told_from_light_from_the_front() -> None:
    ramp = np.linspace(-45, 45, 902)[None, :, None]
    even = worth(portrait())
    assert worth(portrait() + ramp).from_side > even.from_side + 8


def test_what_the_piece_cuts_off_is_told() -> None:
    tall = worth(portrait(), Outline(OutlineKind.RECTANGLE, 60, 300))
    assert Fault.DOES_NOT_FIT in tall.faults
    assert tall.off_piece > 0.3
