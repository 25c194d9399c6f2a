"""Cautions have their moments, a short form, and a source or the word that there is none."""

import re

import pytest

from burnplan.units import UnitSystem
from burnplan.wood import cautions
from burnplan.wood.cautions import Moment, at
from burnplan.wording import Wording

MOMENTS = [
    (work, moment) for work in ("prepare", "transfer", "burn", "finish") for moment in Moment
]
SOURCED = ("no source", "OSHA", "IARC", "HSE", "NHS", "NFPA", "Fire Science Reviews", "label")


@pytest.mark.parametrize(("work", "moment"), MOMENTS)
def test_in_full_each_has_its_source_and_the_last_says_whose_word_is_first(
    work: str, moment: Moment
) -> None:
    said = at(work, moment, in_full=True)
    assert len(at(work, moment)) == (1 if said else 0)
    if said:
        assert said[-1] == cautions.DEFER
        assert all(any(source in one for source in SOURCED) for one in said[:-1])


def test_burning_has_all_of_its_cautions() -> None:
    short, full = (
        at("burn", Moment.START)[0].lower(),
        " ".join(at("burn", Moment.START, in_full=True)),
    )
    for words in ("smoke", "tip on its stand", "eyes", "resin", "water", "cord and plug"):
        assert words in short
    for words in (
        "gases", "off and cold before its tip is changed", "cord and plug", "never left alone",
        "maker's label", "spit", "running water", "ten minutes in each hour",
    ):  # fmt: skip
        assert words in full
    stop = " ".join((*at("burn", Moment.STOP), *at("burn", Moment.STOP, in_full=True)))
    for words in ("Pen off", "the bench for smouldering", "pull its plug", "smoulder"):
        assert words in stop


def test_charring_and_smouldering_are_at_the_temperatures_of_the_source() -> None:
    """Fire Science Reviews 2:4, Table 1: charring and smoke 280-500 °C; above, smouldering."""
    assert "smokes from 280 °C" in cautions.FIRE
    assert "above 500 °C its char smoulders" in cautions.FIRE
    assert "Fire Science" not in cautions.SMOKE  # a table of temperatures says nothing of masks
    assert "1910.134, Appendix D" in cautions.SMOKE


def test_an_inch_studio_reads_the_same_sources() -> None:
    """IARC's volume 100 C is a volume and no temperature."""
    american = Wording(UnitSystem.IMPERIAL, "en_US")
    for caution in (*cautions.SESSION, cautions.DUST):
        said = re.sub(r"(\d+) °C", lambda m: f"{1.8 * int(m[1]) + 32:.0f} °F", caution)
        assert american.own(caution) == said.replace("smoulder", "smolder")
    assert "vol. 100 C)" in american.own(cautions.DUST)
