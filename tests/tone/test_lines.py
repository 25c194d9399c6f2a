"""Lines against drawn shapes whose edges are known, and against what is no line."""

import dataclasses
import io
import itertools
import math
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image, ImageDraw
from scipy.spatial import cKDTree

from burnplan.outline import Outline, OutlineKind
from burnplan.tone.areas import AreaKind, MarkedArea
from burnplan.tone.chains import Chains
from burnplan.tone.control import ToneControl, controlled
from burnplan.tone.lines import Detail, Line, Lines, draw_lines
from burnplan.tone.passes import FIRM_STEP, Pass, Pressure, passes
from burnplan.tone.photo import Photo, open_photo
from burnplan.tone.place import Placed, Placement, place
from burnplan.tone.region import ellipse, polygon_mask
from burnplan.tone.strokes import (
    STEP_MM,
    by_a_steady_hand,
    linked,
    meeting,
    without_doubles,
)
from tests.cases import quick_first
from tests.tone.greys import grey_of_lightness

Place = Callable[..., Placed]
Shape = Callable[[ImageDraw.ImageDraw, float], object]

PAPER, INK = 230, 40
WIDE, HIGH = 200, 250  # mm


def drawn(shape: Shape, px_per_mm: float = 4.0, noise: float = 0.0) -> NDArray[np.uint8]:
    """A shape in ink on paper, its edges softened over a pixel, with noise of 255."""
    finer = 4
    size = round(WIDE * px_per_mm), round(HIGH * px_per_mm)
    image = Image.new("L", (size[0] * finer, size[1] * finer), PAPER)
    shape(ImageDraw.Draw(image), px_per_mm * finer)
    clean = np.asarray(image.resize(size, Image.Resampling.BOX), np.float64)
    noisy = clean + np.random.default_rng(1).normal(0, noise, clean.shape)
    return np.clip(np.rint(noisy), 0, 255).astype(np.uint8)


def edge(shape: Shape) -> NDArray[np.float64]:
    """Points of the true edge of a shape, mm, to a hundredth."""
    import cv2

    fine = 20
    image = Image.new("L", (WIDE * fine, HIGH * fine), PAPER)
    shape(ImageDraw.Draw(image), fine)
    ink = (np.asarray(image) < (PAPER + INK) / 2).astype(np.uint8)
    found, _ = cv2.findContours(ink, cv2.RETR_LIST, cv2.CHAIN_APPROX_NONE)
    return np.vstack([contour[:, 0, :] for contour in found]) / fine + 0.5 / fine


def along(lines: Sequence[Line]) -> NDArray[np.float64]:
    """Points every tenth of a millimetre along lines."""
    points = []
    for line in lines:
        ends = np.vstack([line.points, line.points[:1]]) if line.closed else line.points
        for start, stop in itertools.pairwise(ends):
            count = max(2, round(math.dist(start, stop) / 0.1))
            points.append(start + (stop - start) * np.linspace(0, 1, count)[:, None])
    return np.vstack(points)


def on_wood(placed_of: Place, picture: NDArray[np.uint8]) -> Placed:
    return placed_of(picture, Outline(OutlineKind.RECTANGLE, WIDE, HIGH))


def disc(draw: ImageDraw.ImageDraw, scale: float) -> None:
    draw.ellipse([50 * scale, 75 * scale, 150 * scale, 175 * scale], fill=INK)


def square(draw: ImageDraw.ImageDraw, scale: float) -> None:
    draw.rectangle([50 * scale, 75 * scale, 150 * scale, 175 * scale], fill=INK)


def letters(draw: ImageDraw.ImageDraw, scale: float) -> None:
    """An L and an A with its hole, strokes 12 mm wide."""
    lo = [(30, 80), (42, 80), (42, 148), (80, 148), (80, 160), (30, 160)]
    a = [(125, 80), (139, 80), (170, 160), (156, 160), (132, 98), (108, 160), (94, 160)]
    for corners in (lo, a):
        draw.polygon([(x * scale, y * scale) for x, y in corners], fill=INK)


def eye(draw: ImageDraw.ImageDraw, scale: float) -> None:
    """An iris in an eye, neither touching the other."""
    draw.ellipse([90 * scale, 100 * scale, 110 * scale, 111 * scale], fill=150)
    draw.ellipse([96 * scale, 102 * scale, 103 * scale, 109 * scale], fill=INK)


class TestShapesComeBack:
    @pytest.mark.parametrize("detail", Detail)
    @pytest.mark.parametrize("noise", [0, 10])
    @quick_first("px_per_mm", [2.0, 4.0, 8.0])
    def test_a_disc_is_one_closed_stroke(
        self, placed_of: Place, px_per_mm: float, noise: float, detail: Detail
    ) -> None:
        lines = draw_lines(on_wood(placed_of, drawn(disc, px_per_mm, noise)), detail)
        (line,) = lines.drawn
        assert line.closed
        assert line.length_mm == pytest.approx(100 * math.pi, rel=0.01)
        off = np.abs(np.hypot(*(along([line]) - [100, 125]).T) - 50)
        assert np.quantile(off, 0.95) < 0.15
        assert off.max() < 0.25

    @pytest.mark.parametrize("noise", [0, 10])
    def test_a_square_is_one_closed_stroke_with_corners(
        self, placed_of: Place, noise: float
    ) -> None:
        (line,) = draw_lines(on_wood(placed_of, drawn(square, 4.0, noise))).drawn
        assert line.closed
        off = cKDTree(edge(square)).query(along([line]))[0]
        assert np.quantile(off, 0.95) < 0.1
        corners = [(50, 75), (150, 75), (150, 175), (50, 175)]
        assert cKDTree(along([line])).query(corners)[0].max() < 0.45

    @pytest.mark.parametrize("noise", [0, 10])
    def test_letters_have_one_stroke_an_edge(self, placed_of: Place, noise: float) -> None:
        lines = draw_lines(on_wood(placed_of, drawn(letters, 4.0, noise)))
        assert lines.strokes == 2
        assert all(line.closed for line in lines.drawn)
        off = cKDTree(edge(letters)).query(along(lines.drawn))[0]
        assert np.median(off) < 0.08
        assert np.quantile(off, 0.9) < 0.15
        missed = cKDTree(along(lines.drawn)).query(edge(letters))[0]
        assert missed.max() < 1.5  # the tip of an acute corner

    def test_an_eye_is_two_ellipses(self, placed_of: Place) -> None:
        lines = draw_lines(on_wood(placed_of, drawn(eye)))
        assert lines.strokes == 2
        assert all(line.closed for line in lines.drawn)
        iris = min(lines.drawn, key=lambda line: line.length_mm)
        off = np.abs(np.hypot(*(along([iris]) - [99.5, 105.5]).T) - 3.5)
        assert off.max() < 0.3
        assert np.median(off) < 0.15

    def test_a_thin_line_is_one_stroke_along_its_middle(self, placed_of: Place) -> None:
        def hair(draw: ImageDraw.ImageDraw, scale: float) -> None:
            draw.rectangle([100 * scale, 50 * scale, 100.8 * scale, 200 * scale], fill=INK)

        (line,) = draw_lines(on_wood(placed_of, drawn(hair))).drawn
        assert not line.closed
        assert np.abs(along([line])[:, 0] - 100.4).max() < 0.2
        assert line.length_mm == pytest.approx(150, abs=3)

    def test_a_broad_band_keeps_both_edges(self, placed_of: Place) -> None:
        def band(draw: ImageDraw.ImageDraw, scale: float) -> None:
            draw.rectangle([100 * scale, 50 * scale, 103 * scale, 200 * scale], fill=INK)

        points = along(draw_lines(on_wood(placed_of, drawn(band))).drawn)
        middle = points[(points[:, 1] > 60) & (points[:, 1] < 190), 0]
        assert np.minimum(np.abs(middle - 100), np.abs(middle - 103)).max() < 0.15
        assert middle.min() < 101 < 102 < middle.max()

    @quick_first("degrees", [0, 1, 7, 12, 22.5, 33, 45], quick=4)
    def test_a_square_has_its_length_at_any_angle(self, placed_of: Place, degrees: float) -> None:
        turn = math.radians(degrees)
        corners = [
            (100 + 50 * math.cos(turn + at), 125 + 50 * math.sin(turn + at))
            for at in np.arange(4) * math.pi / 2
        ]

        def turned(draw: ImageDraw.ImageDraw, scale: float) -> None:
            draw.polygon([(x * scale, y * scale) for x, y in corners], fill=INK)

        (line,) = draw_lines(on_wood(placed_of, drawn(turned))).drawn
        assert line.length_mm == pytest.approx(4 * 50 * math.sqrt(2), rel=0.01)

    @quick_first("resolution", [2.0, 4.0, 8.0])
    def test_lengths_do_not_depend_on_the_raster(self, placed_of: Place, resolution: float) -> None:
        def oval(draw: ImageDraw.ImageDraw, scale: float) -> None:
            draw.ellipse([40 * scale, 85 * scale, 160 * scale, 165 * scale], fill=INK)

        blank = Outline(OutlineKind.RECTANGLE, WIDE, HIGH)
        lines = draw_lines(placed_of(drawn(oval, 8.0), blank, resolution))
        # Circumference of an ellipse by Ramanujan's second formula (1914), good to 1e-9 here.
        h = ((60 - 40) / (60 + 40)) ** 2
        around = math.pi * 100 * (1 + 3 * h / (10 + math.sqrt(4 - 3 * h)))
        assert lines.length_cm() * 10 == pytest.approx(around, rel=0.01)

    @pytest.mark.parametrize("kind", [OutlineKind.ROUND, OutlineKind.OVAL])
    def test_the_outline_itself_is_no_line(self, placed_of: Place, kind: OutlineKind) -> None:
        half = np.full((800, 800), INK, np.uint8)
        half[:, 400:] = PAPER
        high = 200 if kind is OutlineKind.ROUND else 140
        lines = draw_lines(placed_of(half, Outline(kind, 200, high)))
        assert lines.strokes == 1
        assert lines.length_cm() * 10 == pytest.approx(high, abs=1)

    def test_a_chord_of_a_live_edge(self, placed_of: Place) -> None:
        """An edge across a triangle of 100 × 100 mm at x = 50 is 50 mm long."""
        half = np.full((400, 400), INK, np.uint8)
        half[:, 200:] = PAPER
        outline = Outline(OutlineKind.LIVE_EDGE, 100, 100, ((0, 100), (100, 100), (100, 0)))
        lines = draw_lines(placed_of(half, outline))
        assert lines.length_cm() * 10 == pytest.approx(50, abs=1)

    @pytest.mark.parametrize(
        ("step", "pressure"),
        [(30, Pressure.FIRM), (20, Pressure.FIRM), (10, Pressure.LIGHT), (3, None)],
    )
    def test_pressure_follows_the_step(
        self, placed_of: Place, step: float, pressure: Pressure | None
    ) -> None:
        lightness = np.full((1000, 800), 50 - step / 2)
        lightness[:, 400:] = 50 + step / 2
        lines = draw_lines(on_wood(placed_of, grey_of_lightness(lightness)))
        assert [line.pressure for line in lines.drawn] == ([pressure] if pressure else [])
        if pressure:
            assert lines.lines[0].step == pytest.approx(step, rel=0.05)
            assert {lines.firm_cm, lines.light_cm, lines.lost_cm} == {0, lines.length_cm()}


class TestFeatures:
    """What is darker than all around it and small is a feature, traced first unmarked."""

    def face(self, mouth: float) -> NDArray[np.uint8]:
        """A mouth on a plain cheek, and a fold that is as deep and long."""
        y, x = (np.mgrid[0:1000, 0:800] + 0.5) / 4
        light = np.full(x.shape, 72.0)
        light[((x - 100) / 9) ** 2 + ((y - 125) / 2) ** 2 < 1] = mouth
        light[(np.abs(y - 200) < 2) & (np.abs(x - 100) < 35)] = mouth
        return grey_of_lightness(light)

    def test_a_mouth_is_traced_first_and_a_long_fold_of_its_tone_is_not(
        self, placed_of: Place
    ) -> None:
        lines = draw_lines(on_wood(placed_of, self.face(56)), darkest=20)
        assert {line.pressure for line in lines.drawn} == {Pressure.LIGHT}
        by_pass = {line.in_pass: line.points[:, 1].mean() for line in lines.drawn}
        assert by_pass[Pass.SHAPES] == pytest.approx(125, abs=3)
        assert by_pass[Pass.CONTOURS] == pytest.approx(200, abs=3)

    def test_a_long_light_outline_is_a_basic_shape(self, placed_of: Place) -> None:
        y, x = (np.mgrid[0:1000, 0:800] + 0.5) / 4
        head = ((x - 100) / 70) ** 2 + ((y - 125) / 100) ** 2 < 1
        lines = draw_lines(on_wood(placed_of, grey_of_lightness(np.where(head, 60.0, 72.0))))
        (line,) = lines.drawn
        assert (line.pressure, line.in_pass) == (Pressure.LIGHT, Pass.SHAPES)

    def test_a_faint_one_is_a_contour(self, placed_of: Place) -> None:
        lines = draw_lines(on_wood(placed_of, self.face(64)), darkest=20)
        assert {line.in_pass for line in lines.drawn} == {Pass.CONTOURS}

    def test_a_stripe_among_stripes_is_none(self) -> None:
        alike = np.array([10.0, 10.0]), np.array([12.0, 12.0]), np.zeros(2, np.bool_)
        found = passes(
            *alike,
            np.zeros(2, np.bool_),
            np.array([50.0, 50.0]),
            np.array([65.0, 65.0]),
            np.array([1.0, 6.0]),
            np.zeros(2, np.bool_),
            shorter_side_mm=200,
            darkest=20,
        )
        assert found == [Pass.SHAPES, Pass.CONTOURS]

    def test_wrinkles_that_run_one_way_are_none(self, placed_of: Place) -> None:
        """A mouth on a plain cheek, and nine folds of its size and tone."""
        y, x = (np.mgrid[0:1000, 0:800] + 0.5) / 4
        light = np.full(x.shape, 72.0)
        for row in (80, *np.arange(170, 206, 4)):
            light[((x - 100) / 9) ** 2 + ((y - row) / 1.4) ** 2 < 1] = 54
        lines = draw_lines(on_wood(placed_of, grey_of_lightness(light)), darkest=20)
        first = [line.points[:, 1].mean() for line in lines.drawn if line.in_pass is Pass.SHAPES]
        assert first
        assert max(first) < 90
        assert len([line for line in lines.drawn if line.points[:, 1].mean() > 165]) > 4


class TestJoining:
    @staticmethod
    def chains(*parts: Sequence[tuple[float, float]]) -> Chains:
        sizes = [len(part) for part in parts]
        open_lines = Chains(
            np.concatenate([np.array(part, np.float64) for part in parts]),
            np.concatenate([[0], np.cumsum(sizes)]).astype(np.intp),
            np.zeros(len(parts), np.bool_),
        )
        return open_lines.resampled(STEP_MM)

    @pytest.mark.parametrize(
        ("ends", "count"),
        [
            ([(21.5, 10), (40, 10)], 1),  # on across a small gap
            ([(40, 10), (21.5, 10)], 1),  # whichever way it was followed
            ([(24, 10), (40, 10)], 2),  # too far
            ([(21.5, 11.5), (40, 11.5)], 2),  # beside, not before
            ([(21, 10.5), (21, 30)], 1),  # round the corner that both point to
            ([(21, 9), (21, 30)], 2),  # but not where one has passed the other
            ([(20.2, 10.2), (20.2, 30)], 1),  # but where they touch
        ],
    )
    def test_ends_that_point_at_each_other_are_joined(
        self, ends: list[tuple[float, float]], count: int
    ) -> None:
        lines = linked(self.chains([(0, 10), (20, 10)], ends))
        assert lines.count == count
        assert not lines.closed.any()

    def test_a_line_that_comes_round_is_closed(self) -> None:
        turn = np.linspace(0.05, 2 * math.pi - 0.05, 100)
        ring = np.stack([20 + 10 * np.cos(turn), 20 + 10 * np.sin(turn)], axis=1)
        assert linked(self.chains(list(map(tuple, ring)))).closed.tolist() == [True]

    def test_an_end_goes_on_until_it_meets_a_line(self) -> None:
        lines = self.chains([(0, 10), (18.8, 10)], [(20, 0), (20, 30)])
        met = meeting(lines, (40, 40))
        assert met.part(0)[-1] == pytest.approx((20, 10), abs=0.3)
        assert np.array_equal(met.part(1), lines.part(1))

    def test_of_two_lines_side_by_side_the_one_of_more_weight_stays(self) -> None:
        lines = self.chains([(0, 10), (30, 10)], [(0, 10.8), (60, 10.8)], [(0, 14), (30, 14)])
        kept, _rows = without_doubles(lines, np.array([5.0, 2.0, 1.0]), (80, 40), 1.3)
        assert sorted(kept.lengths().round()) == [29, 30, 30]

    def test_a_hand_keeps_to_the_edge_and_to_corners(self) -> None:
        x = np.linspace(0, 40, 400)
        shaken = np.stack([x, 10 + 0.3 * np.sin(x * 4)], axis=1)
        smooth = by_a_steady_hand(self.chains(list(map(tuple, shaken)))).xy
        assert np.abs(smooth[4:-4, 1] - 10).max() < 0.1
        corner = by_a_steady_hand(self.chains([(0, 0), (20, 0), (20, 20)])).xy
        assert np.hypot(*(corner - [20, 0]).T).min() < 0.05


class TestWhatIsNoLine:
    @pytest.mark.parametrize("detail", Detail)
    def test_a_gradient_draws_nothing(self, placed_of: Place, detail: Detail) -> None:
        across = np.tile(np.linspace(0, 255, 800), (1000, 1)).astype(np.uint8)
        assert draw_lines(on_wood(placed_of, across), detail).lines == ()
        assert draw_lines(on_wood(placed_of, across.T.copy()), detail).lines == ()

    @quick_first("noise", [4, 10, 20])
    @pytest.mark.parametrize("detail", Detail)
    def test_noise_draws_nothing(self, placed_of: Place, noise: float, detail: Detail) -> None:
        flat = 128 + np.random.default_rng(3).normal(0, noise, (1000, 800))
        picture = np.clip(flat, 0, 255).astype(np.uint8)
        assert draw_lines(on_wood(placed_of, picture), detail).drawn == ()
        coarse = picture[::2, ::2].copy()  # the photo's pixels larger than the raster's
        assert draw_lines(on_wood(placed_of, coarse), detail).drawn == ()

    @pytest.mark.parametrize("quality", [20, 40, 75])
    @pytest.mark.parametrize("detail", [Detail.CALM, Detail.USUAL])
    def test_blocks_of_jpeg_draw_nothing(
        self, placed_of: Place, quality: int, detail: Detail
    ) -> None:
        shade = np.tile(np.linspace(60, 190, 400), (500, 1))
        shade += np.random.default_rng(4).normal(0, 5, shade.shape)
        kept = io.BytesIO()
        Image.fromarray(shade.astype(np.uint8)).save(kept, "JPEG", quality=quality)
        picture = np.asarray(Image.open(kept))
        assert draw_lines(on_wood(placed_of, picture), detail).drawn == ()

    @pytest.mark.parametrize("detail", Detail)
    def test_the_lit_side_of_a_ball_draws_nothing(self, placed_of: Place, detail: Detail) -> None:
        y, x = np.mgrid[0:1000, 0:800]
        x, y = (x - 400) / 300, (y - 500) / 300
        up = np.sqrt(np.maximum(0, 1 - x * x - y * y))
        light = np.array([-0.5, -0.5, 0.7]) / math.sqrt(0.99)
        lit = np.clip(x * light[0] + y * light[1] + up * light[2], 0, 1)
        ball = np.where(x * x + y * y < 1, 20 + 215 * lit, 0).astype(np.uint8)
        points = along(draw_lines(on_wood(placed_of, ball), detail).drawn)
        from_middle = (points - [100, 125]) / 75
        towards_light = from_middle @ light[:2] / np.hypot(*light[:2])
        inner = np.hypot(*from_middle.T) < 0.96
        assert not (inner & (towards_light > 0)).any()
        assert (~inner).any()  # its outline is there


class TestBesideBareWood:
    """A dark disc on a grey ground."""

    @pytest.fixture
    def placed(self, placed_of: Place) -> Placed:
        picture = drawn(disc)
        return on_wood(placed_of, np.where(picture > 135, 120, 20).astype(np.uint8))

    @pytest.mark.parametrize("kind", [AreaKind.RECTANGLE, AreaKind.ELLIPSE])
    def test_the_cut_of_a_bare_area_is_no_line(self, placed: Placed, kind: AreaKind) -> None:
        area = MarkedArea(kind, ((0.0, 0.0), (1.0, 0.15)))
        (line,) = draw_lines(controlled(placed, ToneControl(background=(area,)))).drawn
        assert line.pressure is Pressure.FIRM
        assert line.length_mm == pytest.approx(2 * math.pi * 50, rel=0.01)

    def test_a_silhouette_against_bare_wood_is_traced_first(self, placed: Placed) -> None:
        keep = np.where(placed.lightness < 40, 255, 0).astype(np.uint8)
        lines = draw_lines(controlled(placed, ToneControl(), keep))
        (line,) = lines.drawn
        assert (line.pressure, line.in_pass) == (Pressure.FIRM, Pass.SHAPES)
        assert lines.lost_cm == 0
        assert line.length_mm == pytest.approx(2 * math.pi * 50, rel=0.01)

    def test_a_line_that_ends_at_bare_wood_keeps_its_pressure(self, placed_of: Place) -> None:
        half = np.full((1000, 800), 40, np.uint8)
        half[:, 400:] = 160
        area = MarkedArea(AreaKind.RECTANGLE, ((0.0, 0.0), (1.0, 0.12)))
        placed = controlled(on_wood(placed_of, half), ToneControl(background=(area,)))
        (line,) = draw_lines(placed).drawn
        assert line.pressure is Pressure.FIRM
        assert line.length_mm == pytest.approx(220, abs=3)


class TestPhotos:
    @pytest.fixture
    def portrait(self, photo_file: Callable[[str], Path]) -> Placed:
        photo = open_photo(photo_file("astronaut.png"))
        return place(photo, Outline(OutlineKind.RECTANGLE, WIDE, HIGH))

    @pytest.mark.long
    def test_less_detail_is_fewer_strokes(self, portrait: Placed) -> None:
        counts = [draw_lines(portrait, detail).strokes for detail in Detail]
        assert 60 < counts[0] < 0.8 * counts[1]
        assert counts[1] < 0.7 * counts[2]

    def test_no_stroke_is_a_crumb(self, portrait: Placed) -> None:
        for line in draw_lines(portrait).drawn:
            assert line.length_mm >= 5

    @pytest.mark.long
    def test_no_line_doubles_another(self, portrait: Placed) -> None:
        lines = draw_lines(portrait)
        apart = lines.style.apart_mm
        points = [along([line]) for line in lines.drawn]
        whose = np.repeat(np.arange(len(points)), [len(own) for own in points])
        everything = np.vstack(points)
        for number, (line, own) in enumerate(zip(lines.drawn, points, strict=True)):
            low, high = own.min(axis=0) - apart, own.max(axis=0) + apart
            beside = ((everything >= low) & (everything <= high)).all(axis=1) & (whose != number)
            if not beside.any():
                continue
            near = cKDTree(everything[beside]).query(own)[0] < apart / 2
            # Where lines meet they are near; over more they would be one.
            assert near.mean() < 0.5 or line.length_mm < 4 * apart

    @pytest.mark.long
    def test_a_larger_piece_is_drawn_at_a_larger_scale(
        self, photo_file: Callable[[str], Path]
    ) -> None:
        photo = open_photo(photo_file("coffee.png"))
        small, large = (
            draw_lines(place(photo, Outline(OutlineKind.RECTANGLE, 150 * k, 100 * k)))
            for k in (1, 4)
        )
        assert large.style.scale_mm > 1.8 * small.style.scale_mm
        assert large.style.shortest_mm == pytest.approx(2 * small.style.shortest_mm)

    @pytest.mark.long
    def test_features_in_focal_areas_are_kept_and_come_first(self, portrait: Placed) -> None:
        face = polygon_mask([ellipse(63, 35, 103, 88)], portrait.inside.shape, 4.0)
        marked = draw_lines(dataclasses.replace(portrait, focal=face), Detail.CALM)
        plain = draw_lines(portrait, Detail.CALM)

        def within(lines: Lines) -> list[Line]:
            result = []
            for line in lines.drawn:
                x, y = np.floor(along([line]).T * 4).astype(int)
                if face[y.clip(max=999), x.clip(max=799)].mean() > 0.6:
                    result.append(line)
            return result

        assert len(within(marked)) > len(within(plain))
        assert {line.in_pass for line in within(marked)} == {Pass.SHAPES}
        outside = [
            lines.length_cm() - sum(line.length_mm for line in within(lines)) / 10
            for lines in (marked, plain)
        ]
        assert outside[0] > 0.9 * outside[1]  # nothing outside goes for it

    def test_passes_come_in_order_with_the_strongest_first(self, portrait: Placed) -> None:
        lines = draw_lines(portrait).lines
        order = [(line.pressure is Pressure.LOST, line.in_pass) for line in lines]
        assert order == sorted(order)
        assert {line.in_pass for line in lines} == set(Pass)
        for line in lines:
            if line.pressure is not Pressure.LOST:
                assert (line.pressure is Pressure.FIRM) == (line.step >= FIRM_STEP)

    @pytest.mark.long
    def test_what_is_left_bare_is_not_drawn_but_for_the_outline(self, portrait: Placed) -> None:
        bare = np.ones(portrait.inside.shape, np.bool_)
        bare[:, 160:560] = False
        lines = draw_lines(dataclasses.replace(portrait, bare=bare))
        x = along(lines.drawn)[:, 0]
        assert x.min() > 40 - 2
        assert x.max() < 140 + 2
        assert 0 < lines.strokes < draw_lines(portrait).strokes

    def test_lines_stay_inside_a_round(self, photo_file: Callable[[str], Path]) -> None:
        photo = open_photo(photo_file("chelsea.png"))
        lines = draw_lines(place(photo, Outline(OutlineKind.ROUND, 150, 150)))
        assert np.hypot(*(along(lines.drawn) - 75).T).max() < 75.3
        assert lines.strokes < 120

    def test_the_edges_of_the_photo_are_no_lines(
        self, photo_of: Callable[[NDArray[np.uint8]], Photo]
    ) -> None:
        picture = np.full((400, 600), 90, np.uint8)
        shown = place(
            photo_of(picture), Outline(OutlineKind.RECTANGLE, 200, 250), Placement(scale=0.5)
        )
        assert not shown.inside.all()
        assert draw_lines(shown).lines == ()
