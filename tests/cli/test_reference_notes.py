"""What is to be noted of how a photo lies is said whenever its plan is shown, not only at first."""

from pathlib import Path

from tests.cases import quick_first
from tests.cli.conftest import Run

# The drawn photo has 1280 × 960 pixels: 0.96 of them per mm where 100 cm of wood are high.
FEW = "The photo has only 1.0 pixels per mm at this size, so fine detail will be soft"
CROPPED = "The photo is landscape and the blank portrait, so much is cropped"


@quick_first(
    "line",
    [("add", "--no-pictures"), ("plan", "--no-pictures"), ("plan",), ("show",)],
    ids=["added", "planned again", "planned with pictures", "shown"],
    quick=0,
    long=2,
)
def test_few_pixels_and_much_cropped_are_said(
    burnplan: Run, photo: Path, line: tuple[str, ...]
) -> None:
    assert burnplan("commission", "add", "Fox", "--size", "60x100cm")[0] == 0
    added = burnplan("reference", "add", "C-0001", str(photo), *line[1:])
    verb, *options = line
    found = added if verb == "add" else burnplan("reference", verb, "C-0001", *options)
    words = " ".join(found[1].split())
    assert (found[0], words.count(FEW), words.count(CROPPED)) == (0, 1, 1), found


def test_a_photo_that_lies_well_has_none(burnplan: Run, photo: Path) -> None:
    assert burnplan("commission", "add", "Fox", "--size", "16x12cm")[0] == 0
    assert burnplan("reference", "add", "C-0001", str(photo))[0] == 0
    out = burnplan("reference", "show", "C-0001")[1]
    assert "pixels per mm" not in out
    assert "cropped" not in out
