"""Whatever is typed or handed over is read or refused: nothing else comes out.

tests/soak/fuzz.py does the same for minutes, from changed examples.
"""

import random
from collections.abc import Iterator

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from burnplan.desk.derived import studio_settings
from burnplan.desk.studio import settings as desk
from burnplan.errors import BadInput
from burnplan.money import parse_money
from burnplan.units import parse_duration
from tests import books
from tests.cases import quick_first
from tests.fuzz import targets
from tests.fuzz.targets import Target, refusing
from tests.soak.fuzz import LEAST_TAKEN, TOKENS, mutated

pytestmark = books.about_files

TEXTS = (
    "length", "size", "duration", "money", "money, German", "money, yen", "money, French",
    "currency", "locale", "date", "moment", "layout", "instalment", "thresholds", "air", "percent",
    "condition", "grade", "species", "setting", "codes", "cleaned", "database",
)  # fmt: skip
FILES = {"photo": 60, "past jobs": 40, "book.json": 40, "archive": 40, "manifest": 200}

pieces = st.one_of(
    st.sampled_from(TOKENS).map(bytes),
    st.text(max_size=4).map(_encoded := (lambda text: text.encode("utf-8", "surrogatepass"))),
)


@pytest.fixture(scope="module")
def readers(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, Target]]:
    with (
        targets.all_targets(tmp_path_factory.mktemp("fuzz")) as found,
        pytest.MonkeyPatch.context() as patch,
    ):
        patch.chdir(tmp_path_factory.mktemp("here"))
        yield found


def test_every_target_is_fed(readers: dict[str, Target]) -> None:
    assert set(readers) == {*TEXTS, *FILES, "commands"}


@quick_first("name", TEXTS, quick=8, long=99)
def test_texts(readers: dict[str, Target], name: str) -> None:
    target = readers[name]
    examples = st.sampled_from(target.examples)

    @settings(max_examples=60)
    @given(st.lists(st.one_of(examples, pieces), min_size=1, max_size=5))
    def read(parts: list[bytes]) -> None:
        refusing(target.read, b"".join(parts))

    read()


@pytest.mark.parametrize("name", [*TEXTS, *FILES, "commands"])
def test_changed_examples(readers: dict[str, Target], name: str) -> None:
    target, dice = readers[name], random.Random(name)  # noqa: S311
    times = FILES.get(name, 40)
    taken = sum(refusing(target.read, mutated(dice, target)) for _ in range(times))
    assert taken >= LEAST_TAKEN * times, f"{taken} of {times} taken"


@pytest.mark.parametrize("name", [*TEXTS, *FILES])
def test_an_example_of_each_is_taken(readers: dict[str, Target], name: str) -> None:
    assert any(refusing(readers[name].read, example) for example in readers[name].examples)


# Found by fuzzing.


@pytest.mark.parametrize("text", ["199999999999999999999999999999999h", "2 h 99999999999 m"])
def test_a_length_of_time_without_end(text: str) -> None:
    with pytest.raises(BadInput):
        parse_duration(text)


@pytest.mark.parametrize("text", ["1e3333333333333", "1e3081250505050", "1e-99999999", "1e308"])
def test_an_amount_beyond_all_numbers(text: str) -> None:
    with pytest.raises(BadInput):
        parse_money(text, "EUR")


@pytest.mark.parametrize("name", ["DEC", "UTILS", "DE-", "DE-XX", "HOLIDAYBASE", "-BY"])
def test_what_is_no_country(name: str) -> None:
    with pytest.raises(BadInput, match="No public holidays"):
        desk.parsed(studio_settings.Settings(), "holidays", name)
    assert desk.parsed(studio_settings.Settings(), "holidays", "de-by").holidays == "DE-BY"
