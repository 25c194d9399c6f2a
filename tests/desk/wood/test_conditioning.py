"""Blanks as wood: readings, airs, movement, grain, photos, woods of one's own; all undone."""

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest

from burnplan.desk.jobs import checklists, commissions, holding
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import undo
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks, conditioning, own_species
from burnplan.desk.wood.own_species import NewSpecies
from burnplan.errors import BadInput, NotAllowed, NotFound
from burnplan.reckon.settling import Unknown, Verdict
from burnplan.units import UnitSystem
from tests.conftest import FixedClock
from tests.desk.test_whole_line import contents


@pytest.fixture
def blank(studio: Studio) -> str:
    """A basswood board, held for a job of Mara's."""
    blanks.add(studio, blanks.NewBlank(species="basswood", size="30x20cm", thickness="18mm"))
    commissions.add(studio, Wishes(title="Barn", client="Mara"))
    return holding.hold(studio, "1", "Barn").code


ACTS: list[Callable[[Studio, Path], object]] = [
    lambda studio, _: conditioning.log_moisture(studio, "1", "9.5%", note="both ends"),
    lambda studio, _: conditioning.note_air(studio, "19C 48%"),
    lambda studio, _: conditioning.note_air(studio, "70F 35%", "Mara"),
    lambda studio, _: conditioning.set_grain(studio, "1", "along-width"),
    lambda studio, photo: conditioning.add_photo(studio, "1", photo),
    lambda studio, _: own_species.add(studio, NewSpecies(name="Plum", bare=70, burnt=20)),
]


@pytest.mark.parametrize("act", ACTS)
def test_every_act_is_undone(
    studio: Studio, blank: str, photo: Path, act: Callable[[Studio, Path], object]
) -> None:
    assert blank == "B-0001"
    before = contents(studio)
    act(studio, photo)
    assert contents(studio) != before
    undo.undo_last(studio)
    assert contents(studio) == before


class TestAir:
    def test_both_scales_give_the_handbook_table(self) -> None:
        # Wood Handbook FPL-GTR-190 Table 4-2: 70 °F and 50 % is 9.2 %.
        warm = conditioning.parse_air("70F 50%", UnitSystem.METRIC)
        same = conditioning.parse_air("21.11 °C, 50", UnitSystem.METRIC)
        assert warm.emc == pytest.approx(9.2, abs=0.1)
        assert same.emc == pytest.approx(warm.emc, abs=0.02)

    def test_bare_numbers_follow_the_units(self) -> None:
        assert conditioning.parse_air("70 50", UnitSystem.IMPERIAL).celsius == pytest.approx(
            21.11, abs=0.01
        )

    @pytest.mark.parametrize(
        "text", ["21C", "45%", "", "21C 45% 3", "warm 45%", "21C 0%", "21C 100%", "90C 40%"]
    )
    def test_what_is_none_is_refused(self, text: str) -> None:
        with pytest.raises(BadInput):
            conditioning.parse_air(text, UnitSystem.METRIC)

    def test_the_newest_counts(self, studio: Studio, blank: str, clock: FixedClock) -> None:
        conditioning.note_air(studio, "19C 60%")
        clock.forward(days=1)
        conditioning.note_air(studio, "20C 45%")
        found = conditioning.moisture_of(studio, blank)
        assert found.shop is not None
        assert found.shop.humidity == 45
        assert found.home is None


class TestMoisture:
    def test_without_readings_or_air_it_says_what_to_do(self, studio: Studio, blank: str) -> None:
        found = conditioning.moisture_of(studio, blank)
        assert found.verdict is None
        assert len(found.notes) == 2

    def test_waits_then_goes(self, studio: Studio, blank: str, clock: FixedClock) -> None:
        conditioning.note_air(studio, "70F 50%")  # settles at 9.2 %
        # The gap of 5 % halves each five days: 14.2, 11.7, 10.45, 9.8.
        for number, reading in enumerate(("14.2", "11.7", "10.45")):
            if number:
                clock.forward(days=5)
            found = conditioning.log_moisture(studio, blank, reading)
        assert found.verdict is Verdict.WAIT
        assert found.days_left is not None
        # By hand: 1.25 % left, within 1 % after 5·log2(1.25) = 1.6 days.
        assert found.days_left.low <= 1.6 <= found.days_left.high
        clock.forward(days=5)
        assert conditioning.log_moisture(studio, blank, "9.8").verdict is Verdict.GO

    def test_too_few_readings_tell_no_days(self, studio: Studio, blank: str) -> None:
        conditioning.note_air(studio, "70F 50%")
        found = conditioning.log_moisture(studio, blank, "15")
        assert (found.verdict, found.days_left) == (Verdict.WAIT, None)
        assert found.unknown is Unknown.TOO_FEW
        # Green sapwood of basswood (Wood Handbook, Table 4-1; from memory).
        assert conditioning.log_moisture(studio, blank, "133").unknown is Unknown.TOO_WET

    def test_one_that_was_mistyped_is_put_right(
        self, studio: Studio, blank: str, clock: FixedClock
    ) -> None:
        with pytest.raises(NotAllowed, match="no reading yet"):
            conditioning.log_moisture(studio, blank, "9", instead=True)
        conditioning.log_moisture(studio, blank, "12")
        wrong = conditioning.log_moisture(studio, blank, "90", note="low end").readings[-1]
        clock.forward(days=1)
        found = conditioning.log_moisture(studio, blank, "9", instead=True)
        assert [one.moisture for one in found.readings] == [12, 9]
        assert (found.readings[-1].taken_at, found.readings[-1].note) == (
            wrong.taken_at, "low end",
        )  # fmt: skip

    def test_a_late_entry_takes_its_place(self, studio: Studio, blank: str) -> None:
        conditioning.log_moisture(studio, blank, "9")
        found = conditioning.log_moisture(studio, blank, "12", at=studio.now() - timedelta(days=4))
        assert [reading.moisture for reading in found.readings] == [12, 9]

    def test_what_cannot_be_is_refused(self, studio: Studio, blank: str) -> None:
        before = contents(studio)
        for reading in ("wet", "-3", "0.09", "300"):
            with pytest.raises(BadInput):
                conditioning.log_moisture(studio, blank, reading)
        with pytest.raises(BadInput, match="still to come"):
            conditioning.log_moisture(studio, blank, "9", at=studio.now() + timedelta(hours=1))
        assert contents(studio) == before

    def test_a_scrapped_blank_takes_none(self, studio: Studio) -> None:
        blanks.add(studio, blanks.NewBlank(species="cherry", size="10x10cm"))
        blanks.scrap(studio, "1", "checked")
        with pytest.raises(NotAllowed, match="scrapped"):
            conditioning.log_moisture(studio, "1", "9")


class TestMovement:
    def test_is_the_coefficient_times_the_change(self, studio: Studio, blank: str) -> None:
        # Wood Handbook Table 13-5, basswood: tangential 0.00330, radial 0.00230.
        conditioning.set_grain(studio, blank, "along-width")  # so 200 mm lie across it
        conditioning.log_moisture(studio, blank, "12")
        found = conditioning.movement_of(studio, blank, home="70F 40%")  # EMC 7.7 % (Table 4-2)
        flat, quarter = found.moved
        change = found.end - 12
        assert found.end == pytest.approx(7.7, abs=0.1)
        assert flat.change_mm == pytest.approx(200 * 0.00330 * change)
        assert quarter.change_mm == pytest.approx(200 * 0.00230 * change)
        assert "Table 13-5" in flat.source

    def test_beyond_the_table_it_names_the_shrinkage(self, studio: Studio, blank: str) -> None:
        conditioning.log_moisture(studio, blank, "18")
        found = conditioning.movement_of(studio, blank, home="70F 40%")
        assert "Table 4-3" in found.moved[0].source
        assert "grain" in " ".join(map(str, found.notes))
        assert found.across_mm == 300

    def test_without_a_reading_the_shop_counts(self, studio: Studio, blank: str) -> None:
        with pytest.raises(BadInput, match="client's home is not known"):
            conditioning.movement_of(studio, blank)
        with pytest.raises(BadInput, match="no moisture reading"):
            conditioning.movement_of(studio, blank, home="21C 40%")
        conditioning.note_air(studio, "70F 50%")
        conditioning.note_air(studio, "70F 40%", "Mara")
        found = conditioning.movement_of(studio, blank)
        assert (found.start, found.end) == pytest.approx((9.2, 7.7), abs=0.1)

    def test_an_end_grain_round_may_check(self, studio: Studio) -> None:
        blanks.add(studio, blanks.NewBlank(species="beech", size="round 20cm"))
        conditioning.set_grain(studio, "1", "end-grain")
        conditioning.log_moisture(studio, "1", "20")
        found = conditioning.movement_of(studio, "1", home="70F 40%")
        assert found.checking == "high"
        assert "rim" in found.checking_why

    def test_end_grain_is_flagged_on_the_blank_and_its_job(self, studio: Studio) -> None:
        blanks.add(studio, blanks.NewBlank(species="beech", size="round 20cm"))
        commissions.add(studio, Wishes(title="Barn"))
        assert blanks.show(studio, "1").checking == ""
        conditioning.set_grain(studio, "1", "end-grain")
        assert "log its moisture" in blanks.show(studio, "1").checking
        conditioning.note_air(studio, "70F 40%")  # EMC 7.7 %
        conditioning.log_moisture(studio, "1", "20")
        holding.hold(studio, "1", "Barn")
        steps = {step.key: step for step in checklists.of(studio, "Barn").steps}
        assert "Checking risk high" in steps["sound-wood"].caution
        conditioning.log_moisture(studio, "1", "7.5")  # dry already: nothing left to open it
        assert blanks.show(studio, "1").checking == ""
        steps = {step.key: step for step in checklists.of(studio, "Barn").steps}
        assert "Checking" not in steps["sound-wood"].caution

    def test_an_unknown_wood_says_so(self, studio: Studio) -> None:
        blanks.add(studio, blanks.NewBlank(species="plum", size="20x10cm"))
        conditioning.log_moisture(studio, "1", "12")
        found = conditioning.movement_of(studio, "1", home="70F 40%")
        assert found.moved == []
        assert "species_add" in str(found.notes[-1])
        own_species.add(studio, NewSpecies(name="plum", tangential=9.0))
        (flat,) = conditioning.movement_of(studio, "1", home="70F 40%").moved
        assert flat.change_mm < 0
        assert flat.source == "as given for this wood of your own"


class TestOwnSpecies:
    def test_its_cautions_reach_the_checklist(self, studio: Studio) -> None:
        own_species.add(studio, NewSpecies(name="Spindle", irritant="its dust is poisonous"))
        commissions.add(studio, Wishes(title="Barn", species="spindle"))
        steps = {step.key: step for step in checklists.of(studio, "Barn").steps}
        assert "its dust is poisonous" in steps["sound-wood"].caution

    def test_what_cannot_be_is_refused(self, studio: Studio) -> None:
        with pytest.raises(NotAllowed, match="species table"):
            own_species.add(studio, NewSpecies(name="Basswood"))
        with pytest.raises(NotFound, match="could be"):
            own_species.add(studio, NewSpecies(name="maple"))
        with pytest.raises(BadInput, match="not darker"):
            own_species.add(studio, NewSpecies(name="Plum", bare=20, burnt=70))
        with pytest.raises(BadInput, match="hardness"):
            own_species.add(studio, NewSpecies(name="Plum", hardness=float("nan")))
        own_species.add(studio, NewSpecies(name="Plum"))
        with pytest.raises(NotAllowed, match="already"):
            own_species.add(studio, NewSpecies(name="plum"))
        assert [one.key for one in own_species.everything(studio)] == ["plum"]


def test_the_grain_runs_one_of_three_ways(studio: Studio, blank: str) -> None:
    with pytest.raises(BadInput, match="along-height"):
        conditioning.set_grain(studio, blank, "sideways")


def test_a_photo_that_is_none_is_refused(studio: Studio, blank: str, tmp_path: Path) -> None:
    (tmp_path / "no.jpg").write_text("not a photo")
    with pytest.raises(BadInput):
        conditioning.add_photo(studio, blank, tmp_path / "no.jpg")


def test_the_newest_photo_of_a_blank_is_found_again(studio: Studio, photo: Path) -> None:
    blanks.add(studio, blanks.NewBlank(species="basswood", size="20x15cm"))
    with pytest.raises(NotFound, match="No photo of B-0001"):
        conditioning.photo_of(studio, "1")
    conditioning.add_photo(studio, "1", photo)
    code, kept = conditioning.photo_of(studio, "1")
    assert code == "B-0001"
    assert kept.read_bytes() == photo.read_bytes()


def test_an_estimate_knows_the_woods_of_the_users_own(studio: Studio) -> None:
    own_species.add(studio, own_species.NewSpecies(name="Olive", hardness=2700, bare=70, burnt=18))
    assert own_species.meant(studio, "olive").hardness_lbf == 2700
    assert own_species.meant(studio, "lime").key == "basswood"
