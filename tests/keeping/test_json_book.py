"""A book as one JSON document: what it says, what is refused, and its published schema."""

import json
import shutil
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, BurnplanError
from burnplan.ledger import engines, json_book, json_book_schema, json_checks, migrate
from burnplan.ledger.models import Client, History, PastJob, Record
from burnplan.ledger.tables import rows, tables, to_json
from burnplan.money import LARGEST
from tests.keeping.conftest import JSON, read


@pytest.fixture(scope="module")
def blank_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("blank")
    studio = Studio(folder, engines.sqlite_url(folder / "book.db"))
    with studio.reading():
        pass
    studio.close()
    return folder / "book.db"


def _shortened(lines: list[bytes]) -> list[bytes]:
    """Leave most of the history out, which is most of the document and names nothing."""
    start = lines.index(b'"history": [') + 1
    stop = next(n for n in range(start, len(lines)) if lines[n].startswith(b"]"))
    return [*lines[: start + 4], lines[start + 4].removesuffix(b","), *lines[stop:]]


class Loader:
    """Loads documents into a book emptied again after each."""

    def __init__(self, book: Path, folder: Path, good: bytes) -> None:
        self.good = _shortened(good.split(b"\n"))
        self.counts = dict.fromkeys((table.name for table in tables()), 0)
        name = ""
        for line in self.good[1:]:
            if line.endswith(b": ["):
                name = json.loads(line[:-3])
            elif line.startswith(b"{"):
                self.counts[name] += 1
        self.book, self.path = book, folder / "book.db"

    def load(self, lines: list[bytes]) -> dict[str, Any]:
        """Return the rows loaded."""
        shutil.copy(self.book, self.path)
        engine = engines.open_engine(engines.sqlite_url(self.path))
        try:
            data = b"\n".join(lines)
            pieces = (data[n : n + 7000] for n in range(0, len(data), 7000))
            json_book.load(json_book.JsonBook(pieces), engine, self.counts)
            with engines.transaction(engine, writing=False) as book:
                return {t.name: list(rows(book.connection(), t)) for t in tables()}
        except BurnplanError:
            with engines.transaction(engine, writing=False) as book:
                empty = [t.name for t in tables() if list(rows(book.connection(), t))]
            assert empty == [], "none of it is kept"
            raise
        finally:
            engine.dispose()
            for end in ("", "-wal", "-shm"):
                self.path.with_name(f"book.db{end}").unlink(missing_ok=True)

    def line_of(self, table: str) -> int:
        return self.good.index(f'"{table}": ['.encode()) + 1


@pytest.fixture(scope="module")
def loader(packages: Path, blank_book: Path, tmp_path_factory: pytest.TempPathFactory) -> Loader:
    good = read(packages / "e.zip")["book.json"]
    return Loader(blank_book, tmp_path_factory.mktemp("loading"), good)


COLUMNS = [(table.name, column.name) for table in tables() for column in table.columns]
WRONG: list[Any] = [
    10**400, -1, 2**31, 1e308, "\x1b[31m", "\x00", "\ud800", "x" * 100_000, [], {}, True, "",
    [[[[]]]], "2027-13-01", "1e5", "٣", "0001-01-01T00:00:00+14:00", "NaN", 0.1 + 0.2, None,
]  # fmt: skip


@pytest.mark.long
@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(where=st.sampled_from(COLUMNS), value=st.sampled_from(WRONG) | JSON)
@example(("client", "name"), "\x1b]0;x\x07")
@example(("payment", "amount"), "1000000000000000000000")
@example(("payment", "amount"), 5)
@example(("payment", "amount"), "0.00001")
@example(("history", "changes"), [{"table": "nothing", "before": None, "after": None}])
@example(("history", "changes"), [{"table": "nothing", "before": None, "after": {"id": 1}}])
@example(("history", "changes"), [{"table": "client", "before": 5, "after": {"id": 1}}])
@example(("client", "added_at"), "2027-03-17T09:00:00")
@example(("client", "added_at"), "2027-03-17T10:00:00+01:00")
def test_any_value_anywhere_is_taken_as_it_is_or_refused(
    loader: Loader, where: tuple[str, str], value: Any
) -> None:
    table, column = where
    lines = list(loader.good)
    place = loader.line_of(table)
    row = json.loads(lines[place].removesuffix(b","))
    row[column] = value
    try:
        text = json.dumps(row).encode()
    except ValueError:
        text = json.dumps({**row, column: 0}).replace(": 0", ": " + "9" * 401, 1).encode()
    comma = b"," if lines[place].endswith(b",") else b""
    lines[place] = text + comma
    try:
        loaded = loader.load(lines)
    except BurnplanError as error:
        message = str(error)
        assert "\n" not in message
        assert message.isprintable()
    else:
        found = to_json(loaded[table][0][column])
        assert found == value or str(found) == str(value)


@pytest.mark.long
@settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_a_document_put_together_wrong_is_refused(loader: Loader, data: st.DataObject) -> None:
    lines = list(loader.good)
    place = data.draw(st.integers(0, len(lines) - 1), "line")
    act = data.draw(st.sampled_from(["drop", "twice", "cut", "swap", "junk", "stop"]), "act")
    other = data.draw(st.integers(0, len(lines) - 1), "other line")
    if act == "drop":
        del lines[place]
    elif act == "twice":
        lines.insert(place, lines[place])
    elif act == "cut":
        lines[place] = lines[place][: len(lines[place]) // 2]
    elif act == "swap":
        lines[place], lines[other] = lines[other], lines[place]
    elif act == "junk":
        lines[place] = data.draw(st.binary(max_size=40).filter(lambda b: b"\n" not in b), "junk")
    else:
        del lines[place:]
    if lines == loader.good:
        return
    try:
        loaded = loader.load(lines)
    except BurnplanError as refused:
        message = str(refused)
        assert "\n" not in message
    else:  # rows that changed places, or the empty line after the end
        assert {name: len(found) for name, found in loaded.items()} == loader.counts


@pytest.mark.parametrize(
    ("line", "says"),
    [
        (b"[" * 100_000 + b"]" * 100_000, "nested too deep"),
        (b'{"id": ' + b"9" * 100_000 + b"}", "not JSON"),
        (b'{"id": 1e999}', "not JSON"),
        (b'{"id": NaN}', "not JSON"),
        (b'{"id": "\x1b"}', "not JSON"),
        (b'{"id": 1, "evil": 2}', "other columns"),
        (b"[]", "other columns"),
        (b"\xff", "not JSON"),
    ],
    ids=range(8),
)
def test_a_row_that_is_none_is_told_by_its_line(loader: Loader, line: bytes, says: str) -> None:
    lines = list(loader.good)
    place = loader.line_of("client")
    lines[place] = line
    with pytest.raises(BadInput, match=says) as refused:
        loader.load(lines)
    assert f"Line {place + 1} " in refused.value.message


def test_a_line_without_end_is_refused() -> None:
    with pytest.raises(BadInput, match="too long"):
        json_book.JsonBook(b"x" * (1 << 20) for _ in range(1000))


@pytest.mark.parametrize(("table", "column"), [("studio", "hours_mon"), ("reference", "zones")])
def test_what_undo_would_write_is_looked_at_too(loader: Loader, table: str, column: str) -> None:
    place = loader.line_of("history")
    row = json.loads(loader.good[place].removesuffix(b","))
    noted = json.loads(loader.good[loader.line_of(table)].removesuffix(b","))
    facts = {name: noted[name] for name in noted if name != "hours"}  # as the history has it
    row["changes"] = [{"table": table, "before": None, "after": facts | {column: "many"}}]
    lines = list(loader.good)
    lines[place] = json.dumps(row).encode() + b","
    with pytest.raises(BadInput, match="rows before and after"):
        loader.load(lines)


def test_rules_and_keys_of_the_tables_are_enforced(loader: Loader) -> None:
    for table, changed, says in (
        ("payment", {"commission_id": 999_999}, "FOREIGN KEY"),
        ("payment", {"amount": "0"}, "not_nothing"),
        ("blank", {"width_mm": -1.0}, "size"),
        ("step", {"id": 2}, "UNIQUE"),
        ("history", {"undoes_id": 10_000}, "FOREIGN KEY"),
    ):
        lines = list(loader.good)
        place = loader.line_of(table)
        row = json.loads(lines[place].removesuffix(b","))
        lines[place] = json.dumps({**row, **changed}).encode() + b","
        with pytest.raises(BadInput, match=says):
            loader.load(lines)


TEXT = st.text(
    st.characters(blacklist_categories=["Cs", "Cc"], whitelist_characters="\n\t"), max_size=60
)


def test_the_largest_amount_that_is_taken_is_sound() -> None:
    of_quote = json_checks.checks(Record.metadata.tables["quote"])["total"]
    for total in (LARGEST, 100 * LARGEST + Decimal("0.5")):  # a hundred hours of the largest
        assert of_quote(to_json(total)) == ""
    assert of_quote("9" * 16)


AMOUNT = st.decimals(-(10**9), 10**9, places=4, allow_nan=False).filter(lambda d: d != 0)


@pytest.mark.long
@settings(max_examples=25)
@given(
    names=st.lists(TEXT.filter(bool), unique=True, max_size=8),
    notes=TEXT,
    price=AMOUNT.map(abs),
    hours=st.floats(0, 1e6) | st.none(),
    width=st.floats(1e-3, 1e5),
    changes=st.lists(
        st.dictionaries(TEXT, st.floats(-1e9, 1e9) | TEXT | st.none(), min_size=1, max_size=4)
    ),
    at=st.datetimes(timezones=st.just(UTC)),
    day=st.dates(),
)
def test_whatever_a_book_can_hold_comes_back(
    blank_book: Path,
    tmp_path_factory: pytest.TempPathFactory,
    names: list[str],
    notes: str,
    price: Decimal,
    hours: float | None,
    width: float,
    changes: list[dict[str, Any]],
    at: datetime,
    day: date,
) -> None:
    folder = tmp_path_factory.mktemp("any")
    shutil.copy(blank_book, folder / "book.db")
    shutil.copy(blank_book, folder / "twin.db")
    engine, twin = (
        engines.open_engine(engines.sqlite_url(folder / name)) for name in ("book.db", "twin.db")
    )
    with engines.transaction(engine, writing=True) as book:
        book.add_all(Client(name=name, note=notes, added_at=at) for name in names)
        book.add(
            PastJob(
                title=f"x{notes}"[:200], finished_on=day, width_mm=width, height_mm=width,
                outline="round", burn_h=hours, price=price,
            )
        )  # fmt: skip
        noted = [{"table": "client", "before": None, "after": one} for one in changes]
        book.add(History(at=at, action="x", summary=notes, changes=noted))
    written: list[bytes] = []

    class Out:
        def write(self, data: bytes) -> None:
            written.append(data)

    with engines.transaction(engine, writing=False) as book:
        json_book.write_book(book.connection(), migrate.newest_version(), Out())
        before = {t.name: list(rows(book.connection(), t)) for t in tables()}
    counts = {name: len(found) for name, found in before.items()}
    json_book.load(json_book.JsonBook(written), twin, counts)
    with engines.transaction(twin, writing=False) as book:
        assert {t.name: list(rows(book.connection(), t)) for t in tables()} == before
    engine.dispose()
    twin.dispose()
    shutil.rmtree(folder)


# --- the published schema --------------------------------------------------


def validator() -> jsonschema.Draft202012Validator:
    """Return an independent validator of JSON Schema, draft 2020-12."""
    schema = json_book_schema.json_schema(migrate.newest_version())
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(
        schema, format_checker=jsonschema.Draft202012Validator.FORMAT_CHECKER
    )


def test_the_export_is_one_document_valid_by_its_schema(packages: Path) -> None:
    found = read(packages / "e.zip")
    document = json.loads(found["book.json"])
    assert json.loads(found["book.schema.json"]) == json_book_schema.json_schema(
        migrate.newest_version()
    )
    validator().validate(document)
    assert set(document["tables"]) == {table.name for table in tables()}


def test_the_schema_knows_the_rules_of_the_tables() -> None:
    described = json_book_schema.json_schema(migrate.newest_version())["$defs"]
    assert described["payment"]["properties"]["kind"] == {"enum": ["deposit", "payment", "refund"]}
    assert described["payment"]["x-foreign-keys"] == {"commission_id": "commission.id"}
    assert "amount <> 0" in described["payment"]["x-rules"]
    assert described["client"]["properties"]["name"] == {"type": "string", "maxLength": 200}


@pytest.mark.long
@settings(max_examples=150, suppress_health_check=[HealthCheck.too_slow])
@given(where=st.sampled_from(COLUMNS), value=st.sampled_from(WRONG) | JSON)
def test_what_its_schema_refuses_is_refused(where: tuple[str, str], value: Any) -> None:
    """The schema is not stricter than the program: nothing it refuses is ever taken."""
    table, column = where
    found = next(t for t in tables() if t.name == table)
    schema = json_book_schema.json_schema(migrate.newest_version())
    one = schema["$defs"][table]["properties"][column]
    valid = jsonschema.Draft202012Validator(one).is_valid(value)
    assert valid or json_checks.checks(found)[column](value)


def test_what_is_nested_too_deep_is_told_of_a_column() -> None:
    deep: list[Any] = []
    for _ in range(json_checks.DEEPEST + 1):
        deep = [deep]
    of_plan = json_checks.checks(Record.metadata.tables["reference"])["plan"]
    assert of_plan(deep) == "is nested too deep"
    assert of_plan(deep[0]) == ""
