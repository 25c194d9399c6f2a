"""Hours against their own priors, unit by unit; makers' own are in test_makers_hours."""

from math import exp, log

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnplan.reckon.standard_hours import (
    PRIORS,
    DoubtOf,
    burned,
    coarse_plan,
    doubt_by_stage,
    doubt_in_hours,
    log_hardness,
    passes,
    standard_hours,
    usual_line_cm,
    zone_hours,
)
from burnplan.reckon.work import Doubt, Grade, LineWork, Work, WorkPlan, ZoneWork


def _plan(**more: object) -> WorkPlan:
    plain: dict[str, object] = {
        "width_mm": 300, "height_mm": 400, "area_cm2": 1200.0, "species": "basswood",
        "hardness_lbf": 410, "zones": (ZoneWork(1, 1200, 0.5, 0.2),), "lines": LineWork(400, 600),
    }  # fmt: skip
    return WorkPlan(**{**plain, **more})  # type: ignore[arg-type]


def test_burning_is_area_times_passes_over_nib_and_speed() -> None:
    # 120 000 mm² × (1 + 3 × 0.5) passes ÷ (1.2 mm × 10 mm/s) = 25 000 s = 6.944 h;
    # texture 1 + 1.5 × 0.2 = 1.3 → 9.028 h; lines 1000 cm ÷ 48 cm/min = 0.347 h;
    # 9.375 h in 4.6875 sessions of 2 h, 10 min each = 0.781 h.
    assert standard_hours(_plan())[Work.BURN] == pytest.approx(9.0278 + 0.3472 + 0.7812, abs=1e-3)


def test_outlines_of_letters_are_burned_slower_than_other_lines() -> None:
    # Of 1000 cm of line 96 are letters: 904 ÷ 48 + 96 ÷ 8 = 30.83 min = 0.5139 h; with the
    # 9.028 h of shading 9.542 h in 4.771 sessions, 10 min each = 0.7951 h.
    lettered = _plan(lines=LineWork(400, 600, letter_cm=96))
    assert standard_hours(lettered)[Work.BURN] == pytest.approx(9.0278 + 0.5139 + 0.7951, abs=1e-3)


def test_all_else_is_a_set_up_and_so_much_by_area_line_and_coat() -> None:
    """12 hundreds of cm², five sandings, 1000 cm of line, three coats; minutes by hand.

    Lines that were not counted are 2.8 cm long.
    """
    hours = standard_hours(_plan())
    assert hours[Work.PREPARE] == pytest.approx((10 + 5 * 12 * 0.8) / 60)
    assert hours[Work.TRANSFER] == pytest.approx(
        (15 + 1000 / 20 + 1000 / 2.8 * 8 / 60 + 12 * 1.5) / 60
    )
    counted = standard_hours(_plan(lines=LineWork(400, 600, 50, 40, 60)))
    assert counted[Work.TRANSFER] == pytest.approx((15 + 50 + 100 * 8 / 60 + 12 * 1.5) / 60)
    assert hours[Work.FINISH] == pytest.approx((15 + 3 * (5 + 12 * 0.8)) / 60)


@pytest.mark.parametrize(
    ("dark", "passes_taken"), [(-0.1, 0), (0.03, 0.2725), (0.12, 1.36), (0.5, 2.5), (1, 4)]
)
def test_darker_tones_take_more_passes_and_pale_ones_part_of_one(
    dark: float, passes_taken: float
) -> None:
    """1 + 3 × darkness, and below 0.12 only the share of it that is covered."""
    assert passes(dark) == pytest.approx(passes_taken)


def test_hard_wood_takes_longer_and_an_unknown_one_is_middling() -> None:
    soft, hard, unknown = (
        standard_hours(_plan(hardness_lbf=lbf, lines=LineWork()))[Work.BURN]
        for lbf in (410, 1450, None)
    )
    assert hard / soft == pytest.approx((1450 / 410) ** 0.15)
    assert unknown / soft == pytest.approx((750 / 410) ** 0.15)
    assert log_hardness(_plan(hardness_lbf=1500)) == pytest.approx(log(2))
    assert log_hardness(_plan(hardness_lbf=None)) == 0


def test_lines_grow_with_area_and_texture() -> None:
    """Our own trace lines of five public photos: 2 cm of a smooth cm², to the power 0.81."""
    assert usual_line_cm(1, 0) == pytest.approx(2.0)
    assert usual_line_cm(100, 0.5) == pytest.approx(2.0 * 100**0.81 * 1.5)


def test_a_piece_known_as_a_whole_is_one_zone_with_its_doubts() -> None:
    plan = coarse_plan(100, 150, 150, darkness=Grade(0.02, 0.1), texture=Grade(0.4, 0.05))
    lines = usual_line_cm(150, 0.4)
    assert plan.zones == (ZoneWork(1, 150, 0.07, 0.4, 1, lines),)
    assert plan.lines == LineWork(lines)
    assert plan.doubt == Doubt(0.1, 0.05, 0.45)
    measured = coarse_plan(100, 150, 150, line_cm=80)
    assert (measured.lines, measured.doubt) == (LineWork(80), Doubt(0.18, 0.15, 0.0))
    assert (measured.darkness, measured.texture) == pytest.approx((0.5, 0.25))
    assert (measured.sandings, measured.coats) == (5, 3)


def test_the_doubt_of_an_unknown_wood_is_that_of_its_hardness() -> None:
    # Of burning, all but the lines and setting out hangs on it, to the power 0.15.
    plan = _plan(hardness_lbf=None, lines=LineWork())
    assert doubt_by_stage(plan)[Work.BURN] == pytest.approx(0.15 * 0.45)
    nothing = _plan(zones=(), lines=LineWork(), doubt=Doubt(0.1, 0.1, 0.1))
    assert set(doubt_by_stage(nothing).values()) == {0.0}


def test_bare_wood_costs_nothing_and_lost_edges_neither() -> None:
    bare = _plan(zones=(ZoneWork(1, 1200, 0.0, 0.0),), lines=LineWork(0, 0, 500))
    setting_out_once = PRIORS["session_setup"].value / 60
    assert standard_hours(bare)[Work.BURN] == pytest.approx(setting_out_once)


def test_the_usual_pieces_take_hours_that_are_not_absurd() -> None:
    """Common practice, no source: a 30 × 40 cm portrait 8 to 15 h at the burner."""
    portrait = standard_hours(
        coarse_plan(300, 400, 1200, hardness_lbf=410, texture=Grade(0.2), darkness=Grade(0.5))
    )
    assert 8 < portrait[Work.BURN] < 15
    assert 0.75 < portrait[Work.PREPARE] < 1.5
    assert 1.2 < portrait[Work.TRANSFER] < 2.5
    assert 0.75 < portrait[Work.FINISH] < 1.5
    small = coarse_plan(100, 150, 150, hardness_lbf=410, darkness=Grade(0.3), texture=Grade(0.2))
    assert 1.5 < sum(standard_hours(small).values()) < 3


def test_every_prior_says_where_it_comes_from() -> None:
    for prior in PRIORS.values():
        assert prior.provenance
        assert prior.unit
        assert prior.about


@given(
    st.floats(0.01, 1), st.floats(0, 1), st.floats(1, 5000), st.floats(0, 1e4), st.integers(0, 9)
)
def test_more_of_anything_takes_longer(
    dark: float, texture: float, area: float, line: float, sandings: int
) -> None:
    plan = _plan(
        area_cm2=area,
        zones=(ZoneWork(1, area, dark, texture),),
        lines=LineWork(line),
        sandings=sandings,
    )
    more = _plan(
        area_cm2=area * 1.5,
        zones=(ZoneWork(1, area * 1.5, min(1, dark * 1.1), min(1, texture * 1.1)),),
        lines=LineWork(line + 10),
        sandings=sandings + 1,
    )
    less_hours, more_hours = standard_hours(plan), standard_hours(more)
    assert all(less_hours[stage] < more_hours[stage] for stage in Work)


@given(
    st.lists(st.tuples(st.floats(1, 500), st.floats(0.12, 1)), min_size=1, max_size=9),
    st.floats(0, 1),
    st.floats(300, 1500),
)
def test_a_piece_as_a_whole_takes_what_its_zones_take(
    zones: list[tuple[float, float]], texture: float, hardness: float
) -> None:
    """Of the same total area, mean darkness and line, where no wood is left bare."""
    area = sum(a for a, _ in zones)
    measured = _plan(
        area_cm2=area,
        hardness_lbf=hardness,
        zones=tuple(ZoneWork(n, a, d, texture) for n, (a, d) in enumerate(zones, 1)),
        lines=LineWork(100, 200, 50),
    )
    whole = coarse_plan(
        300, 400, area, hardness_lbf=hardness, darkness=Grade(measured.darkness),
        texture=Grade(measured.texture), line_cm=300,
    )  # fmt: skip
    for stage, hours in standard_hours(measured).items():
        assert standard_hours(whole)[stage] == pytest.approx(hours, rel=1e-9)


def test_a_piece_with_a_bare_background_takes_less_than_its_mean_darkness_says() -> None:
    vignette = _plan(zones=(ZoneWork(1, 500, 0.6, 0.2), ZoneWork(2, 700, 0.0, 0.0)))
    whole = coarse_plan(
        300, 400, 1200, hardness_lbf=410, darkness=Grade(vignette.darkness),
        texture=Grade(vignette.texture), line_cm=1000,
    )  # fmt: skip
    assert standard_hours(vignette)[Work.BURN] < standard_hours(whole)[Work.BURN]


def test_even_a_pale_piece_is_worked_over() -> None:
    palest, pale = (
        standard_hours(coarse_plan(300, 400, 1200, darkness=Grade(d)))[Work.BURN] for d in (0, 0.12)
    )
    assert pale / 3 < palest < pale


def test_a_measured_plan_has_no_doubts_but_that_of_an_unknown_wood() -> None:
    assert doubt_in_hours(_plan()) == {}
    assert set(doubt_by_stage(_plan()).values()) == {0.0}
    found = doubt_in_hours(_plan(hardness_lbf=None))
    assert found[DoubtOf.HARDNESS][Work.BURN] > 0
    assert found[DoubtOf.DARKNESS][Work.BURN] == 0


@pytest.mark.parametrize("texture", [0.3, 1.4])
@pytest.mark.parametrize("name", ["darkness", "texture", "line", "covered"])
def test_doubts_are_the_slopes_of_the_hours(name: str, texture: float) -> None:
    """Against a difference quotient of the hours themselves; beyond 1 it is a showpiece."""
    step = 1e-4

    def plan(**moved: float) -> WorkPlan:
        at = {"darkness": 0.5, "texture": texture, "line": 0.0, "covered": 0.0} | moved
        area = 1200 * exp(at["covered"])
        return _plan(
            area_cm2=2000.0,
            zones=(ZoneWork(1, area, at["darkness"], at["texture"]),),
            lines=LineWork(1000 * exp(at["line"])),
        )

    middle = {"darkness": 0.5, "texture": texture}.get(name, 0.0)
    more, less = (standard_hours(plan(**{name: middle + sign * step})) for sign in (1, -1))
    found = doubt_by_stage(plan()._replace(doubt=Doubt(**{name: 0.1})))
    for stage in Work:
        slope = (log(more[stage]) - log(less[stage])) / (2 * step)
        assert found[stage] == pytest.approx(0.1 * slope, abs=1e-6)


def test_what_is_not_covered_takes_no_burning_but_is_sanded_and_finished() -> None:
    """60 % of 1200 cm²: shading is 0.6 of it, lines 0.6 to the power 0.81 of them."""
    whole, part = (
        coarse_plan(300, 400, 1200, hardness_lbf=410, covered=Grade(share)) for share in (1, 0.6)
    )
    before, after = standard_hours(whole), standard_hours(part)
    assert after[Work.PREPARE] == before[Work.PREPARE]
    assert after[Work.FINISH] == before[Work.FINISH]
    assert after[Work.TRANSFER] < before[Work.TRANSFER]
    shading = [zone_hours(plan.zones[0], 410) for plan in (whole, part)]
    assert shading[1] == pytest.approx(0.6 * shading[0])
    assert part.lines.drawn_cm == pytest.approx(0.6**0.81 * whole.lines.drawn_cm)
    # Beside the shading 48 cm of line a minute; 10 min to set out for each 2 h.
    burning = shading[1] + part.lines.drawn_cm / 48 / 60
    assert after[Work.BURN] == pytest.approx(burning * (1 + 10 / 120))


def test_zones_of_a_photo_as_one_take_what_they_take_together() -> None:
    """Also where much is bare: the share burned, and how dark it is, are of what is burned."""
    zones = (ZoneWork(1, 200, 0.8, 0.2), ZoneWork(2, 300, 0.3, 0.2), ZoneWork(3, 400, 0.06, 0.2))
    measured = _plan(zones=zones)
    share, dark, texture = burned(measured)
    assert share == pytest.approx((200 + 300 + 200) / 1200)
    assert dark == pytest.approx((200 * 0.8 + 300 * 0.3 + 200 * 0.06) / 700)
    one = coarse_plan(
        300, 400, 1200, hardness_lbf=410, darkness=Grade(dark), texture=Grade(texture),
        covered=Grade(share), line_cm=1000,
    )  # fmt: skip
    together = sum(zone_hours(zone, 410) for zone in zones)
    assert zone_hours(one.zones[0], 410) == pytest.approx(together)
    assert burned(_plan(zones=(ZoneWork(1, 1200, 0.0, 0.0),))) == (0, 0, 0)


def test_a_showpiece_takes_two_and_a_half_times_dense_fur_and_teaches_as_that() -> None:
    furry, showpiece = (
        coarse_plan(300, 400, 1200, hardness_lbf=410, texture=Grade(t)) for t in (1.0, 2.0)
    )
    hours = [zone_hours(plan.zones[0], 410) for plan in (furry, showpiece)]
    assert hours[1] == pytest.approx(2.5 * hours[0])
    assert showpiece.texture == furry.texture == 1
    assert showpiece.lines == furry.lines
