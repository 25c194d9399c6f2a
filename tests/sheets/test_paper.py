import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnplan.errors import BadInput
from burnplan.sheets.paper import (
    A3,
    A4,
    LETTER,
    PAPERS,
    TABLOID,
    UNEVEN,
    Box,
    Frame,
    Paper,
    SheetPage,
    TilePlan,
    paper_named,
    plan_tiles,
)


def test_sizes_are_those_of_the_standards() -> None:
    # ISO 216: A-sizes are 210 × 297 and 297 × 420 mm.
    assert (A4.width_mm, A4.height_mm) == (210, 297)
    assert (A3.width_mm, A3.height_mm) == (297, 420)
    # ANSI/ASME Y14.1: sizes A and B are 8.5 × 11 and 11 × 17 inches.
    assert (LETTER.width_mm, LETTER.height_mm) == pytest.approx((8.5 * 25.4, 11 * 25.4))
    assert (TABLOID.width_mm, TABLOID.height_mm) == pytest.approx((11 * 25.4, 17 * 25.4))


def test_papers_are_found_by_name() -> None:
    assert paper_named(" Tabloid ") is TABLOID
    with pytest.raises(BadInput, match="A5"):
        paper_named("A5")


papers = st.sampled_from(sorted(PAPERS)).map(PAPERS.__getitem__)
lengths = st.floats(20, 900)
boxes = st.lists(
    st.builds(Box, st.floats(0, 600), st.floats(0, 600), st.floats(10, 200), st.floats(10, 200)),
    max_size=3,
)


@given(width=lengths, height=lengths, paper=papers, overlap=st.floats(0, 30), whole=boxes)
def test_tiles_cover_the_picture_and_overlap_as_asked(
    width: float, height: float, paper: Paper, overlap: float, whole: list[Box]
) -> None:
    plan = plan_tiles(width, height, paper, overlap_mm=overlap, whole=whole)
    window = plan.page.window
    for tile in plan.tiles:
        # Every part lies in the printable window, at the size of the wood.
        assert tile.x >= window.x - 1e-6
        assert tile.y >= window.y - 1e-6
        assert tile.x + tile.part.width <= window.right + 1e-6
        assert tile.y + tile.part.height <= window.bottom + 1e-6
        assert tile.part.width > 0
        assert tile.part.height > 0
    for row in range(plan.rows):
        in_row = [tile.part for tile in plan.tiles if tile.row == row]
        assert in_row[0].x == 0
        assert in_row[-1].right == pytest.approx(width)
        for left, right in itertools.pairwise(in_row):
            assert left.right - right.x == pytest.approx(overlap, abs=1e-6)
    for column in range(plan.columns):
        in_column = [tile.part for tile in plan.tiles if tile.column == column]
        assert in_column[0].y == 0
        assert in_column[-1].bottom == pytest.approx(height)
        for upper, lower in itertools.pairwise(in_column):
            assert upper.bottom - lower.y == pytest.approx(overlap, abs=1e-6)


@pytest.mark.long
@given(width=lengths, height=lengths, paper=papers, overlap=st.floats(0, 30))
def test_no_smaller_grid_either_way_round_covers_the_picture(
    width: float, height: float, paper: Paper, overlap: float
) -> None:
    plan = plan_tiles(width, height, paper, overlap_mm=overlap)
    for landscape, columns, rows in itertools.product((False, True), range(1, 8), range(1, 8)):
        if columns * rows >= len(plan.tiles):
            continue
        window = SheetPage(paper, landscape).window
        across = columns * window.width - (columns - 1) * overlap
        down = rows * window.height - (rows - 1) * overlap
        assert across < width - 1e-6 or down < height - 1e-6


@given(width=lengths, height=lengths, paper=papers, overlap=st.floats(0, 30), whole=boxes)
def test_no_part_is_a_sliver(
    width: float, height: float, paper: Paper, overlap: float, whole: list[Box]
) -> None:
    panels = [(180.0, 60.0), (57.0, 150.0)]
    plan = plan_tiles(width, height, paper, overlap_mm=overlap, panels=panels, whole=whole)
    for sizes in (
        [tile.part.width for tile in plan.tiles],
        [tile.part.height for tile in plan.tiles],
    ):
        assert min(sizes) >= max(sizes) * (1 - UNEVEN) / (1 + UNEVEN) - 1e-6
    even = plan_tiles(width, height, paper, overlap_mm=overlap)
    assert len({round(tile.part.width, 6) for tile in even.tiles}) == 1
    assert len({round(tile.part.height, 6) for tile in even.tiles}) == 1


def test_joints_keep_off_what_is_to_be_whole() -> None:
    face = Box(100, 150, 50, 90)
    usual, moved = (plan_tiles(300, 400, A4, whole=boxes) for boxes in ([], [face]))

    def crossed(plan: TilePlan) -> int:
        across = [tile.part.x for tile in plan.tiles if tile.column > 0]
        down = [tile.part.y for tile in plan.tiles if tile.row > 0]
        return sum(x < face.right and x + 10 > face.x for x in across) + sum(
            y < face.bottom and y + 10 > face.y for y in down
        )

    assert crossed(usual) == 4  # both joints, as the pages right of and below them see them
    assert crossed(moved) == 0
    assert len(moved.tiles) == len(usual.tiles) == 4
    # No farther than it must: the joint lies against the face.
    assert {tile.part.x for tile in moved.tiles} == {0, face.right}


@pytest.mark.parametrize(
    ("width", "height", "paper", "frame"),
    [
        (8 * 25.4, 10 * 25.4, LETTER, Frame.FOOT),
        (10 * 25.4, 8 * 25.4, LETTER, Frame.SIDE),
        (200, 250, A4, Frame.FOOT),
        (250, 200, A4, Frame.SIDE),
        (270, 180, A4, Frame.FOOT),  # across: the strip lies below
    ],
)
def test_what_fits_the_printable_area_is_not_cut_in_two(
    width: float, height: float, paper: Paper, frame: Frame
) -> None:
    plan = plan_tiles(width, height, paper, panels=[(180, 50)])
    (tile,) = plan.tiles
    assert plan.page.frame is frame
    assert not plan.panel_apart
    assert plan.page.landscape is (width > height)
    assert tile.x >= 5
    assert tile.y >= 5
    assert tile.x + width <= plan.page.width - 5
    assert tile.y + height <= plan.page.height - 5


def test_a_panel_goes_where_it_costs_no_page() -> None:
    below = plan_tiles(150, 200, A4, panels=[(180, 50), (57, 120)])
    assert below.panel is not None
    assert below.panel.y > below.tiles[0].y + 200
    beside = plan_tiles(100, 250, A4, panels=[(180, 50), (57, 120)])
    assert beside.panel is not None
    assert beside.panel.x > beside.tiles[0].x + 100
    none = plan_tiles(180, 255, A4, panels=[(180, 50), (57, 120)])
    assert none.panel is None
    assert len(none.tiles) == 1


def test_what_cannot_be_pasted_together_is_refused() -> None:
    with pytest.raises(BadInput, match="pages of A4"):
        plan_tiles(5000, 5000, A4)
    for overlap in (-1.0, 60.0, float("nan")):
        with pytest.raises(BadInput, match="overlap"):
            plan_tiles(300, 400, A4, overlap_mm=overlap)
