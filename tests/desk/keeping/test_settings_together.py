"""Two who change settings at once: what each changed is kept, and nothing else is put back."""

import pytest

from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from tests import books
from tests.cli.test_settings import OTHERS


def changed(seen: Settings, *names: str) -> Settings:
    return seen.model_copy(update={name: getattr(OTHERS, name) for name in names})


@pytest.mark.parametrize("mine", [*Settings.model_fields])
def test_each_keeps_what_the_other_changed(mine: str, studio: Studio) -> None:
    seen = settings.save(studio, Settings())
    other = books.open_at(studio.home, studio.clock)
    theirs = [name for name in Settings.model_fields if name != mine]
    # While somebody thinks over one setting, all others are changed.
    settings.save(other, changed(seen, *theirs), settings.current(other))
    kept = settings.save(studio, changed(seen, mine), seen)
    assert kept == settings.current(other) == settings.current(studio) == OTHERS
    other.close()


def test_free_hours_are_kept_by_the_day(studio: Studio) -> None:
    seen = settings.save(studio, Settings())
    settings.save(studio, settings.parsed(seen, "hours", "1 4 4 4 4 0 0"), seen)
    kept = settings.save(studio, settings.parsed(seen, "hours", "4 4 4 4 4 0 7"), seen)
    assert [*kept.hours.values()] == [1, 4, 4, 4, 4, 0, 7]


def test_the_first_two_to_set_up_a_studio_are_both_kept(studio: Studio) -> None:
    guess = settings.current(studio)
    settings.save(studio, settings.parsed(guess, "name", "Ember"), guess)
    kept = settings.save(studio, settings.parsed(guess, "paper", "a3"), guess)
    assert (kept.name, kept.paper) == ("Ember", "a3")
