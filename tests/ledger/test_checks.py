"""Every CHECK of the book, at its edge: what still holds, and what only just does not.

A CHECK that is dropped or loosened, in the models and the migrations alike, fails here.
Money counts ten-thousandths.
"""

from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import CheckConstraint, Connection, text
from sqlalchemy.exc import IntegrityError

from burnplan.ledger.models import Record
from tests import books
from tests.conftest import FixedClock

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")

DROPPED = "dropped_on = '2027-03-17', drop_reason = 'x', delivered_on = null"

# For each CHECK: changes of one row that it allows, and changes that it must refuse. A change
# is what follows SET; after a bar, which rows it can be made to.
EDGES: dict[str, tuple[list[str], list[str]]] = {
    "ck_blank_bark_mm": (["bark_mm = 0", "bark_mm = null"], ["bark_mm = -0.1"]),
    "ck_blank_bare": (["bare = 100", "bare = null"], ["bare = 101"]),
    "ck_blank_cost": (["cost = 0", "cost = null"], ["cost = -1"]),
    "ck_blank_grain": (["grain = 'end-grain'", "grain = null"], ["grain = 'sideways'"]),
    "ck_blank_outline": (["outline = 'oval'"], ["outline = 'star'"]),
    "ck_blank_round": (
        ["outline = 'round', width_mm = 90, height_mm = 90"],
        ["outline = 'round', width_mm = 90, height_mm = 91"],
    ),
    "ck_blank_scrapped_with_reason": (
        ["scrapped_on = '2027-03-17', scrap_reason = 'split'"],
        ["scrapped_on = '2027-03-17'", "scrap_reason = 'split'"],
    ),
    "ck_blank_size": (
        ["width_mm = 0.1, height_mm = 0.1"],
        ["width_mm = 0, height_mm = 9", "width_mm = 9, height_mm = 0"],
    ),
    "ck_blank_thickness": (["thickness_mm = 0.1", "thickness_mm = null"], ["thickness_mm = 0"]),
    "ck_blank_condition_named": ([], ["kind = ''"]),
    "ck_burn_session_replaced_by_newer": (
        [],
        ["replaced_by_id = id, replace_reason = 'slip'"],
    ),
    "ck_burn_session_replaced_with_reason": (
        [],
        ["replace_reason = 'slip'", "replaced_by_id = (select max(id) from burn_session)"],
    ),
    "ck_burn_session_work": (["work = 'finish'"], ["work = 'handover'"]),
    "ck_client_named": ([], ["name = ''"]),
    "ck_climate_celsius": (
        ["celsius = -40", "celsius = 70"],
        ["celsius = -40.1", "celsius = 70.1"],
    ),
    "ck_climate_humidity": (
        ["humidity = 0.1", "humidity = 99.9"],
        ["humidity = 0", "humidity = 100"],
    ),
    "ck_commission_both_sides": ([], ["width_mm = null, outline = null", "height_mm = null"]),
    "ck_commission_dropped_or_delivered": (
        [],
        ["dropped_on = '2027-03-17', drop_reason = 'x', delivered_on = '2027-03-17'"],
    ),
    "ck_commission_dropped_with_reason": (
        [],
        ["dropped_on = '2027-03-17' | delivered_on is null", "drop_reason = 'x'"],
    ),
    "ck_commission_drop_amount": (
        [
            f"{DROPPED}, drop_terms = 'nothing', drop_amount = 0",
            f"{DROPPED}, drop_terms = 'work', drop_amount = 1",
        ],
        [
            f"{DROPPED}, drop_terms = 'nothing', drop_amount = 1",
            f"{DROPPED}, drop_terms = 'work', drop_amount = -1",
        ],
    ),
    "ck_commission_drop_terms": (
        [f"{DROPPED}, drop_terms = 'deposit', drop_amount = 1"],
        [f"{DROPPED}, drop_terms = 'wood', drop_amount = 1"],
    ),
    "ck_commission_drop_terms_amount": (
        [],
        [f"{DROPPED}, drop_terms = 'work'", f"{DROPPED}, drop_amount = 0"],
    ),
    "ck_commission_drop_terms_of_drop": (
        [],
        ["drop_terms = 'work', drop_amount = 1 | dropped_on is null"],
    ),
    "ck_commission_written_off_closed": (
        [f"{DROPPED}, written_off_on = '2027-03-17', write_off_reason = 'x'"],
        ["written_off_on = '2027-03-17', write_off_reason = 'x'| delivered_on is null"],
    ),
    "ck_commission_written_off_with_reason": (
        [],
        [f"{DROPPED}, written_off_on = '2027-03-17'", f"{DROPPED}, write_off_reason = 'x'"],
    ),
    "ck_commission_outline": (["outline = 'live-edge'"], ["outline = 'star'"]),
    "ck_commission_paused_with_reason": (
        ["paused_on = '2027-03-17', pause_reason = 'x'"],
        ["paused_on = '2027-03-17'", "pause_reason = 'x'"],
    ),
    "ck_commission_size": (
        ["width_mm = 0.1, height_mm = 0.1"],
        ["width_mm = 0, height_mm = 9", "width_mm = 9, height_mm = 0"],
    ),
    "ck_commission_size_with_outline": (
        ["width_mm = null, height_mm = null, outline = null"],
        ["outline = null", "width_mm = null, height_mm = null"],
    ),
    "ck_commission_titled": ([], ["title = ''"]),
    "ck_commission_use": (["use = 'food'"], ["use = 'attic'"]),
    "ck_day_off_order": (["ends_on = starts_on"], ["ends_on = '2020-01-01'"]),
    "ck_day_off_with_reason": ([], ["reason = ''"]),
    "ck_consent_answer": (
        ["answer = 'no', with_name = false"],
        ["answer = 'perhaps', with_name = false"],
    ),
    "ck_consent_said_by": ([], ["said_by = ''"]),
    "ck_consent_with_name": (
        ["answer = 'yes', with_name = true", "answer = 'no', with_name = false"],
        ["answer = 'no', with_name = true"],
    ),
    "ck_finish_coat_dry_hours": (["dry_hours = 0.1"], ["dry_hours = 0"]),
    "ck_finish_coat_named": ([], ["product = ''"]),
    "ck_finish_coat_next_coat_hours": (["next_coat_hours = 0.1"], ["next_coat_hours = 0"]),
    "ck_hazard_override_named": ([], ["hazard = ''"]),
    "ck_hazard_override_with_reason": ([], ["reason = ''"]),
    "ck_ladder_patch_lightness": (
        ["lightness = 0", "lightness = 100"],
        ["lightness = -0.1", "lightness = 100.1"],
    ),
    "ck_ladder_patch_read": (["read = 'photo'"], ["read = 'nose'"]),
    "ck_ladder_patch_speed": (["speed = 0.1", "speed = null"], ["speed = 0"]),
    "ck_ladder_patch_strokes": (["strokes = 0.1"], ["strokes = 0"]),
    "ck_moisture_reading_moisture": (
        ["moisture = 0", "moisture = 200"],
        ["moisture = -0.1", "moisture = 200.1"],
    ),
    "ck_original_sha256": ([], []),  # a name that others point to: see below
    "ck_own_species_bare": (
        ["bare = 100", "bare = null", "bare = 0, burnt = null"],
        ["bare = 100.1", "bare = -0.1, burnt = null"],
    ),
    "ck_own_species_burnt": (
        ["burnt = 0", "burnt = null", "burnt = 100, bare = null"],
        ["burnt = -0.1", "burnt = 100.1, bare = null"],
    ),
    "ck_own_species_burnt_darker": (
        ["burnt = 39.9, bare = 40"],
        ["burnt = 40, bare = 40"],
    ),
    "ck_own_species_hardness": (["hardness = 0.1", "hardness = null"], ["hardness = 0"]),
    "ck_own_species_named": ([], ["key = ''", "name = ''"]),
    "ck_own_species_radial": (
        ["radial = 0", "radial = 30", "radial = null"],
        ["radial = -0.1", "radial = 30.1"],
    ),
    "ck_own_species_specific_gravity": (
        ["specific_gravity = 0.1", "specific_gravity = 1.59", "specific_gravity = null"],
        ["specific_gravity = 0", "specific_gravity = 1.6"],
    ),
    "ck_own_species_tangential": (
        ["tangential = 0", "tangential = 30", "tangential = null"],
        ["tangential = -0.1", "tangential = 30.1"],
    ),
    "ck_past_job_covers": (
        ["total_h = 9, covers = 'burn'", "total_h = null, covers = ''", "total_h = 9, covers = ''"],
        ["total_h = null, covers = 'burn'"],
    ),
    "ck_past_job_hours": (
        ["prepare_h = 0, transfer_h = null, burn_h = 0, finish_h = null"],
        ["prepare_h = -1", "transfer_h = -1", "burn_h = -1", "finish_h = -1"],
    ),
    "ck_past_job_line": (["line_cm = 0", "line_cm = null"], ["line_cm = -1"]),
    "ck_past_job_outline": (["outline = 'oval'"], ["outline = 'star'"]),
    "ck_past_job_price": (["price = 0", "price = null"], ["price = -1"]),
    "ck_past_job_size": (["width_mm = 0.1, height_mm = 0.1"], ["width_mm = 0", "height_mm = 0"]),
    "ck_past_job_titled": ([], ["title = ''"]),
    "ck_past_job_total": (["total_h = 0.1", "total_h = null"], ["total_h = 0", "total_h = -1"]),
    "ck_payment_kind": (["kind = 'deposit'"], ["kind = 'gift'"]),
    "ck_payment_not_nothing": ([], ["amount = 0"]),
    "ck_payment_refund_below_zero": (
        ["kind = 'refund', amount = -1"],
        ["kind = 'refund'", "amount = -1"],
    ),
    "ck_planned_session_break_minutes": (
        ["break_minutes = 0", "break_minutes = 1440"],
        ["break_minutes = -1", "break_minutes = 1441"],
    ),
    "ck_planned_session_minutes": (
        ["minutes = 1", "minutes = 1440"],
        ["minutes = 0", "minutes = 1441"],
    ),
    "ck_planned_session_work": (["work = 'finish'"], ["work = 'lunch'"]),
    "ck_quote_acceptance": (
        ["accepted_on = issued_on", "accepted_on = null"],
        ["accepted_on = '2020-01-01'"],
    ),
    "ck_lettering_at": (["at = 'top'"], ["at = 'left'"]),
    "ck_lettering_clear": (["clear_mm = 0", "clear_mm = 100"], ["clear_mm = -1", "clear_mm = 101"]),
    "ck_lettering_course": (["course = 'edge'"], ["course = 'wavy'"]),
    "ck_lettering_darkness": (
        ["darkness = 0.01", "darkness = 1"],
        ["darkness = 0", "darkness = 1.01"],
    ),
    "ck_lettering_height": (
        ["height_mm = 2", "height_mm = 500"],
        ["height_mm = 1.9", "height_mm = 501"],
    ),
    "ck_lettering_middle": (["x_mm = 1, y_mm = 1"], ["x_mm = 1", "y_mm = 1"]),
    "ck_lettering_one_typeface": (
        ["face = '', font_sha256 = (select min(sha256) from original)"],
        ["face = ''", "font_sha256 = (select min(sha256) from original)"],
    ),
    "ck_lettering_radius": (["radius_mm = 0.1", "radius_mm = null"], ["radius_mm = 0"]),
    "ck_lettering_says_something": ([], ["text = ''"]),
    "ck_quote_amounts": (
        ["total = 0, tax = 0, deposit = 0"],
        ["total = -1, deposit = -1", "tax = -1", "deposit = -1"],
    ),
    "ck_quote_certainty": (
        ["ready_on = issued_on, certainty = 0.5"],
        ["ready_on = issued_on, certainty = 0", "ready_on = issued_on, certainty = 1"],
    ),
    "ck_quote_choice_amounts": (
        ["total = 0, tax = 0, deposit = 0"],
        ["total = -1, deposit = -1", "tax = -1", "deposit = -1"],
    ),
    "ck_quote_choice_deposit": (["deposit = total"], ["deposit = total + 1"]),
    "ck_quote_choice_outline": (["outline = 'oval'"], ["outline = 'star'"]),
    "ck_quote_choice_size": (
        ["width_mm = 0.1, height_mm = 0.1"],
        ["width_mm = 0", "height_mm = 0"],
    ),
    "ck_quote_ready_with_certainty": (
        ["ready_on = null, certainty = null"],
        ["ready_on = issued_on, certainty = null", "ready_on = null, certainty = 0.5"],
    ),
    "ck_quote_deposit": (["deposit = total"], ["deposit = total + 1"]),
    "ck_quote_instalment_amount": (["amount = 0"], ["amount = -1"]),
    "ck_quote_instalment_milestone": (["milestone = 'burned'"], ["milestone = 'eaten'"]),
    "ck_quote_validity": (["valid_until = issued_on"], ["valid_until = '2020-01-01'"]),
    "ck_reference_min_area": (["min_area_mm2 = 0"], ["min_area_mm2 = -0.1"]),
    "ck_reference_zones": (["zones = 2", "zones = 9"], ["zones = 1", "zones = 10"]),
    "ck_sanding_grit": (
        ["grit = 20 | grit is not null", "grit = 5000 | grit is not null"],
        ["grit = 19 | grit is not null", "grit = 5001 | grit is not null"],
    ),
    "ck_sanding_grit_or_water": ([], ["grit = null | grit is not null"]),
    "ck_session_interval_order": (
        ["ended_at = started_at"],
        ["ended_at = '2020-01-01'"],
    ),
    "ck_session_interval_running": (
        ["ended_at = null, running = 1"],
        ["ended_at = null", "running = 1"],
    ),
    "ck_session_interval_running_mark": ([], ["ended_at = null, running = 2"]),
    "ck_spoiled_piece_with_reason": ([], ["reason = ''"]),
    "ck_step_phase": (["phase = 'handover'"], ["phase = 'lunch'"]),
    "ck_step_says_something": ([], ["text = ''"]),
    "ck_step_skipped_with_reason": (
        ["skipped_at = '2027-03-17', skip_reason = 'x' | ticked_at is null"],
        ["skipped_at = '2027-03-17' | ticked_at is null", "skip_reason = 'x' | ticked_at is null"],
    ),
    "ck_step_ticked_or_skipped": (
        [],
        ["ticked_at = '2027-03-17', skipped_at = '2027-03-17', skip_reason = 'x'"],
    ),
    "ck_studio_burning_hours": (
        ["burning_hours = 0.1", "burning_hours = 24"],
        ["burning_hours = 0", "burning_hours = 24.1"],
    ),
    "ck_studio_delivery_days": (
        ["delivery_days = 0", "delivery_days = 365"],
        ["delivery_days = -1", "delivery_days = 366"],
    ),
    "ck_studio_deposit_percent": (
        ["deposit_percent = 0", "deposit_percent = 1000000"],
        ["deposit_percent = -1", "deposit_percent = 1000001"],
    ),
    "ck_studio_drawing_hand": (["drawing_hand = 'left'"], ["drawing_hand = 'both'"]),
    "ck_studio_drying_days": (
        ["drying_days = 0", "drying_days = 365"],
        ["drying_days = -1", "drying_days = 366"],
    ),
    "ck_studio_hourly_target": (
        ["hourly_target = 0", "hourly_target = null"],
        ["hourly_target = -1"],
    ),
    **{
        f"ck_studio_hours_{day}": (
            [f"hours_{day} = 0", f"hours_{day} = 24"],
            [f"hours_{day} = -0.1", f"hours_{day} = 24.1"],
        )
        for day in DAYS
    },
    "ck_studio_ink": (["ink = 'grey'"], ["ink = 'invisible'"]),
    "ck_studio_line": (["line = 'fine'"], ["line = 'thick'"]),
    "ck_studio_paper": (["paper = 'letter'"], ["paper = 'napkin'"]),
    "ck_studio_single_row": ([], ["id = 2"]),
    "ck_studio_tax_percent": (
        ["tax_percent = 0", "tax_percent = 1000000"],
        ["tax_percent = -1", "tax_percent = 1000001"],
    ),
    "ck_studio_units": (["units = 'imperial'"], ["units = 'cubits'"]),
    "ck_tone_ladder_bare": (
        ["bare = 0", "bare = 100", "bare = null"],
        ["bare = -0.1", "bare = 100.1"],
    ),
    "ck_tone_ladder_heat_unit": ([], ["heat_unit = ''"]),
    "ck_tone_ladder_with_tip": ([], ["tip = ''"]),
}

TABLE_OF = {
    str(check.name): table.name
    for table in Record.metadata.sorted_tables
    for check in table.constraints
    if isinstance(check, CheckConstraint)
}


@pytest.fixture(scope="module")
def connection(filled: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Connection]:
    """The book of the demo; what a test changes in it is rolled back."""
    home = tmp_path_factory.mktemp("checks") / "home"
    books.copy(filled, home)
    studio = books.open_at(home, FixedClock())
    with studio.engine.connect().execution_options(writing=True) as opened:
        yield opened
    studio.close()


def test_no_check_is_missing_here_or_there() -> None:
    assert set(EDGES) == set(TABLE_OF)


def _change(connection: Connection, table: str, change: str) -> None:
    what, _, which = (part.strip() for part in change.partition("|"))
    rows = f"select min(id) from {table} where {which or 'true'}"  # noqa: S608 all ours
    done = connection.execute(text(f"update {table} set {what} where id = ({rows})"))  # noqa: S608
    assert done.rowcount == 1, "no row to try it on"


@pytest.mark.parametrize("name", EDGES)
def test_a_check_is_where_it_says(connection: Connection, name: str) -> None:
    holds, breaks = EDGES[name]
    connection.rollback()
    for change in holds:
        _change(connection, TABLE_OF[name], change)
        connection.rollback()
    for change in breaks:
        with pytest.raises(IntegrityError, match=f"{name}\\b"):
            _change(connection, TABLE_OF[name], change)
        connection.rollback()


def test_an_original_is_named_by_64_letters(connection: Connection) -> None:
    columns = "filename, bytes, width_px, height_px, added_at, taken_by, allowed"
    start = f"insert into original (sha256, {columns})"
    rest = f"{columns} from original limit 1"
    connection.execute(text(f"{start} select '{'a' * 64}', {rest}"))
    with pytest.raises(IntegrityError, match="ck_original_sha256"):
        connection.execute(text(f"{start} select '{'a' * 63}', {rest}"))
    connection.rollback()
