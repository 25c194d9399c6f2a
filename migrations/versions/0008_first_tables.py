"""The book's first tables."""

import sqlalchemy as sa
from alembic import op

revision = "0008"  # the first seven were before any release, and are in this one
down_revision = None
branch_labels = None
depends_on = None

REPLACED = sa.column("replaced_by_id", sa.Integer()).is_not(None)
OPEN = sa.column("closed", sa.Boolean()).is_(False)


def one_of(column: str, *names: str) -> sa.Enum:
    return sa.Enum(*names, name=column, native_enum=False, create_constraint=True, length=16)


def upgrade() -> None:
    op.create_table(
        "blank",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("species", sa.String(length=60), nullable=False),
        sa.Column(
            "outline", one_of("outline", "rectangle", "round", "oval", "live-edge"), nullable=False
        ),
        sa.Column("width_mm", sa.Double(), nullable=False),
        sa.Column("height_mm", sa.Double(), nullable=False),
        sa.Column("points", sa.JSON(), nullable=True),
        sa.Column("thickness_mm", sa.Double(), nullable=True),
        sa.Column("cost", sa.BigInteger(), nullable=True),
        sa.Column("supplier", sa.String(length=200), nullable=False),
        sa.Column("location", sa.String(length=200), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("added_at", sa.DateTime(), nullable=False),
        sa.Column("scrapped_on", sa.Date(), nullable=True),
        sa.Column("scrap_reason", sa.String(), nullable=True),
        sa.Column(
            "grain", one_of("grain", "along-width", "along-height", "end-grain"), nullable=True
        ),
        sa.CheckConstraint(
            "outline <> 'round' or width_mm = height_mm", name=op.f("ck_blank_round")
        ),
        sa.CheckConstraint(
            "(scrapped_on is null) = (scrap_reason is null)",
            name=op.f("ck_blank_scrapped_with_reason"),
        ),
        sa.CheckConstraint("cost is null or cost >= 0", name=op.f("ck_blank_cost")),
        sa.CheckConstraint(
            "thickness_mm is null or thickness_mm > 0", name=op.f("ck_blank_thickness")
        ),
        sa.CheckConstraint("width_mm > 0 and height_mm > 0", name=op.f("ck_blank_size")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_blank")),
    )
    op.create_table(
        "client",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("email", sa.String(length=200), nullable=False),
        sa.Column("phone", sa.String(length=60), nullable=False),
        sa.Column("address", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("added_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint("name <> ''", name=op.f("ck_client_named")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_client")),
        sa.UniqueConstraint("name", name=op.f("uq_client_name")),
    )
    op.create_table(
        "day_off",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("starts_on", sa.Date(), nullable=False),
        sa.Column("ends_on", sa.Date(), nullable=False),
        sa.Column("reason", sa.String(length=200), nullable=False),
        sa.CheckConstraint("reason <> ''", name=op.f("ck_day_off_with_reason")),
        sa.CheckConstraint("ends_on >= starts_on", name=op.f("ck_day_off_order")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_day_off")),
    )
    op.create_index(op.f("ix_day_off_ends_on"), "day_off", ["ends_on"])
    op.create_table(
        "history",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("action", sa.String(length=60), nullable=False),
        sa.Column("summary", sa.String(length=300), nullable=False),
        sa.Column("commission_id", sa.Integer(), nullable=True),
        sa.Column("changes", sa.JSON(), nullable=False),
        sa.Column("undoes_id", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(["undoes_id"], ["history.id"], name=op.f("fk_history_undoes_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_history")),
        sa.UniqueConstraint("undoes_id", name=op.f("uq_history_undoes_id")),
    )
    op.create_index(op.f("ix_history_commission_id"), "history", ["commission_id"])
    op.create_table(
        "original",
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("filename", sa.String(length=255), nullable=False),
        sa.Column("bytes", sa.Integer(), nullable=False),
        sa.Column("width_px", sa.Integer(), nullable=False),
        sa.Column("height_px", sa.Integer(), nullable=False),
        sa.Column("added_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint("length(sha256) = 64", name=op.f("ck_original_sha256")),
        sa.PrimaryKeyConstraint("sha256", name=op.f("pk_original")),
    )
    op.create_table(
        "own_species",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(length=60), nullable=False),
        sa.Column("name", sa.String(length=60), nullable=False),
        sa.Column("botanical", sa.String(length=100), nullable=False),
        sa.Column("radial", sa.Double(), nullable=True),
        sa.Column("tangential", sa.Double(), nullable=True),
        sa.Column("hardness", sa.Double(), nullable=True),
        sa.Column("specific_gravity", sa.Double(), nullable=True),
        sa.Column("bare", sa.Double(), nullable=True),
        sa.Column("burnt", sa.Double(), nullable=True),
        sa.Column("resinous", sa.String(), nullable=False),
        sa.Column("irritant", sa.String(), nullable=False),
        sa.Column("source", sa.String(), nullable=False),
        sa.Column("added_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint("key <> '' and name <> ''", name=op.f("ck_own_species_named")),
        sa.CheckConstraint(
            "bare is null or bare between 0 and 100", name=op.f("ck_own_species_bare")
        ),
        sa.CheckConstraint(
            "bare is null or burnt is null or burnt < bare",
            name=op.f("ck_own_species_burnt_darker"),
        ),
        sa.CheckConstraint(
            "burnt is null or burnt between 0 and 100", name=op.f("ck_own_species_burnt")
        ),
        sa.CheckConstraint(
            "hardness is null or hardness > 0", name=op.f("ck_own_species_hardness")
        ),
        sa.CheckConstraint(
            "radial is null or radial between 0 and 30", name=op.f("ck_own_species_radial")
        ),
        sa.CheckConstraint(
            "specific_gravity is null or (specific_gravity > 0 and specific_gravity < 1.6)",
            name=op.f("ck_own_species_specific_gravity"),
        ),
        sa.CheckConstraint(
            "tangential is null or tangential between 0 and 30",
            name=op.f("ck_own_species_tangential"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_own_species")),
        sa.UniqueConstraint("key", name=op.f("uq_own_species_key")),
    )
    op.create_table(
        "past_job",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("title", sa.String(length=200), nullable=False),
        sa.Column("finished_on", sa.Date(), nullable=True),
        sa.Column("width_mm", sa.Double(), nullable=False),
        sa.Column("height_mm", sa.Double(), nullable=False),
        sa.Column(
            "outline", one_of("outline", "rectangle", "round", "oval", "live-edge"), nullable=False
        ),
        sa.Column("species", sa.String(length=60), nullable=False),
        sa.Column("darkness", sa.String(length=24), nullable=False),
        sa.Column("texture", sa.String(length=24), nullable=False),
        sa.Column("line_cm", sa.Double(), nullable=True),
        sa.Column("prepare_h", sa.Double(), nullable=True),
        sa.Column("transfer_h", sa.Double(), nullable=True),
        sa.Column("burn_h", sa.Double(), nullable=True),
        sa.Column("finish_h", sa.Double(), nullable=True),
        sa.Column("price", sa.BigInteger(), nullable=True),
        sa.Column("set_aside", sa.String(), nullable=True),
        sa.CheckConstraint("title <> ''", name=op.f("ck_past_job_titled")),
        sa.CheckConstraint(
            "coalesce(prepare_h, 0) >= 0 and coalesce(transfer_h, 0) >= 0"
            " and coalesce(burn_h, 0) >= 0 and coalesce(finish_h, 0) >= 0",
            name=op.f("ck_past_job_hours"),
        ),
        sa.CheckConstraint("line_cm is null or line_cm >= 0", name=op.f("ck_past_job_line")),
        sa.CheckConstraint("price is null or price >= 0", name=op.f("ck_past_job_price")),
        sa.CheckConstraint("width_mm > 0 and height_mm > 0", name=op.f("ck_past_job_size")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_past_job")),
    )
    op.create_table(
        "studio",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("address", sa.String(), nullable=False),
        sa.Column("pay_to", sa.String(), nullable=False),
        sa.Column("units", one_of("units", "metric", "imperial"), nullable=False),
        sa.Column("currency", sa.String(length=3), nullable=False),
        sa.Column("locale", sa.String(length=20), nullable=False),
        sa.Column("paper", one_of("paper", "a4", "a3", "letter", "tabloid"), nullable=False),
        sa.Column("drawing_hand", one_of("drawing_hand", "right", "left"), nullable=False),
        sa.Column("hourly_target", sa.BigInteger(), nullable=False),
        sa.Column("tax_percent", sa.BigInteger(), nullable=False),
        sa.Column("deposit_percent", sa.BigInteger(), nullable=False),
        sa.Column("hours_mon", sa.Double(), nullable=False),
        sa.Column("hours_tue", sa.Double(), nullable=False),
        sa.Column("hours_wed", sa.Double(), nullable=False),
        sa.Column("hours_thu", sa.Double(), nullable=False),
        sa.Column("hours_fri", sa.Double(), nullable=False),
        sa.Column("hours_sat", sa.Double(), nullable=False),
        sa.Column("hours_sun", sa.Double(), nullable=False),
        sa.Column("burning_hours", sa.Double(), nullable=False),
        sa.Column("holidays", sa.String(length=12), nullable=False),
        sa.Column("drying_days", sa.Integer(), nullable=False),
        sa.Column("delivery_days", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "burning_hours > 0 and burning_hours <= 24", name=op.f("ck_studio_burning_hours")
        ),
        sa.CheckConstraint("delivery_days between 0 and 365", name=op.f("ck_studio_delivery_days")),
        sa.CheckConstraint(
            "deposit_percent between 0 and 1000000", name=op.f("ck_studio_deposit_percent")
        ),
        sa.CheckConstraint("drying_days between 0 and 365", name=op.f("ck_studio_drying_days")),
        sa.CheckConstraint("hourly_target >= 0", name=op.f("ck_studio_hourly_target")),
        sa.CheckConstraint("hours_fri between 0 and 24", name=op.f("ck_studio_hours_fri")),
        sa.CheckConstraint("hours_mon between 0 and 24", name=op.f("ck_studio_hours_mon")),
        sa.CheckConstraint("hours_sat between 0 and 24", name=op.f("ck_studio_hours_sat")),
        sa.CheckConstraint("hours_sun between 0 and 24", name=op.f("ck_studio_hours_sun")),
        sa.CheckConstraint("hours_thu between 0 and 24", name=op.f("ck_studio_hours_thu")),
        sa.CheckConstraint("hours_tue between 0 and 24", name=op.f("ck_studio_hours_tue")),
        sa.CheckConstraint("hours_wed between 0 and 24", name=op.f("ck_studio_hours_wed")),
        sa.CheckConstraint("id = 1", name=op.f("ck_studio_single_row")),
        sa.CheckConstraint("tax_percent between 0 and 1000000", name=op.f("ck_studio_tax_percent")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_studio")),
    )
    op.create_table(
        "blank_condition",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("blank_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("noted_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint("kind <> ''", name=op.f("ck_blank_condition_named")),
        sa.ForeignKeyConstraint(
            ["blank_id"], ["blank.id"], name=op.f("fk_blank_condition_blank_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_blank_condition")),
        sa.UniqueConstraint("blank_id", "kind", name=op.f("uq_blank_condition_blank_id_kind")),
    )
    op.create_index(op.f("ix_blank_condition_blank_id"), "blank_condition", ["blank_id"])
    op.create_table(
        "blank_photo",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("blank_id", sa.Integer(), nullable=False),
        sa.Column("original_sha256", sa.String(length=64), nullable=False),
        sa.Column("added_at", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(
            ["blank_id"], ["blank.id"], name=op.f("fk_blank_photo_blank_id"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["original_sha256"], ["original.sha256"], name=op.f("fk_blank_photo_original_sha256")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_blank_photo")),
    )
    op.create_index(op.f("ix_blank_photo_blank_id"), "blank_photo", ["blank_id"])
    op.create_table(
        "climate",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("client_id", sa.Integer(), nullable=True),
        sa.Column("celsius", sa.Double(), nullable=False),
        sa.Column("humidity", sa.Double(), nullable=False),
        sa.Column("noted_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint("celsius between -40 and 70", name=op.f("ck_climate_celsius")),
        sa.CheckConstraint("humidity > 0 and humidity < 100", name=op.f("ck_climate_humidity")),
        sa.ForeignKeyConstraint(["client_id"], ["client.id"], name=op.f("fk_climate_client_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_climate")),
    )
    op.create_index(op.f("ix_climate_client_id"), "climate", ["client_id"])
    op.create_table(
        "commission",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("title", sa.String(length=200), nullable=False),
        sa.Column("client_id", sa.Integer(), nullable=True),
        sa.Column(
            "outline", one_of("outline", "rectangle", "round", "oval", "live-edge"), nullable=True
        ),
        sa.Column("width_mm", sa.Double(), nullable=True),
        sa.Column("height_mm", sa.Double(), nullable=True),
        sa.Column("species", sa.String(length=60), nullable=True),
        sa.Column("blank_id", sa.Integer(), nullable=True),
        sa.Column("due_on", sa.Date(), nullable=True),
        sa.Column("use", one_of("use", "indoor", "outdoor", "food"), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("added_at", sa.DateTime(), nullable=False),
        sa.Column("paused_on", sa.Date(), nullable=True),
        sa.Column("pause_reason", sa.String(), nullable=True),
        sa.Column("dropped_on", sa.Date(), nullable=True),
        sa.Column("drop_reason", sa.String(), nullable=True),
        sa.Column("delivered_on", sa.Date(), nullable=True),
        sa.CheckConstraint("title <> ''", name=op.f("ck_commission_titled")),
        sa.CheckConstraint(
            "(dropped_on is null) = (drop_reason is null)",
            name=op.f("ck_commission_dropped_with_reason"),
        ),
        sa.CheckConstraint(
            "(paused_on is null) = (pause_reason is null)",
            name=op.f("ck_commission_paused_with_reason"),
        ),
        sa.CheckConstraint(
            "(width_mm is null) = (height_mm is null)", name=op.f("ck_commission_both_sides")
        ),
        sa.CheckConstraint(
            "(width_mm is null) = (outline is null)", name=op.f("ck_commission_size_with_outline")
        ),
        sa.CheckConstraint(
            "dropped_on is null or delivered_on is null",
            name=op.f("ck_commission_dropped_or_delivered"),
        ),
        sa.CheckConstraint(
            "width_mm is null or (width_mm > 0 and height_mm > 0)", name=op.f("ck_commission_size")
        ),
        sa.ForeignKeyConstraint(["blank_id"], ["blank.id"], name=op.f("fk_commission_blank_id")),
        sa.ForeignKeyConstraint(["client_id"], ["client.id"], name=op.f("fk_commission_client_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_commission")),
        sa.UniqueConstraint("blank_id", name=op.f("uq_commission_blank_id")),
    )
    op.create_index(op.f("ix_commission_client_id"), "commission", ["client_id"])
    op.create_index("ix_commission_open", "commission", ["delivered_on", "dropped_on"])
    op.create_table(
        "moisture_reading",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("blank_id", sa.Integer(), nullable=False),
        sa.Column("moisture", sa.Double(), nullable=False),
        sa.Column("taken_at", sa.DateTime(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.CheckConstraint("moisture between 0 and 200", name=op.f("ck_moisture_reading_moisture")),
        sa.ForeignKeyConstraint(
            ["blank_id"],
            ["blank.id"],
            name=op.f("fk_moisture_reading_blank_id"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_moisture_reading")),
    )
    op.create_index(op.f("ix_moisture_reading_blank_id"), "moisture_reading", ["blank_id"])
    op.create_table(
        "sanding",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("blank_id", sa.Integer(), nullable=False),
        sa.Column("grit", sa.Integer(), nullable=True),
        sa.Column("water", sa.Boolean(), nullable=False),
        sa.Column("done_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint("(grit is null) = water", name=op.f("ck_sanding_grit_or_water")),
        sa.CheckConstraint(
            "grit is null or grit between 20 and 5000", name=op.f("ck_sanding_grit")
        ),
        sa.ForeignKeyConstraint(
            ["blank_id"], ["blank.id"], name=op.f("fk_sanding_blank_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sanding")),
    )
    op.create_index(op.f("ix_sanding_blank_id"), "sanding", ["blank_id"])
    op.create_table(
        "tone_ladder",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("species", sa.String(length=60), nullable=False),
        sa.Column("tip", sa.String(length=80), nullable=False),
        sa.Column("heat_unit", sa.String(length=12), nullable=False),
        sa.Column("bare", sa.Double(), nullable=True),
        sa.Column("original_sha256", sa.String(length=64), nullable=True),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("burned_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint("heat_unit <> ''", name=op.f("ck_tone_ladder_heat_unit")),
        sa.CheckConstraint("tip <> ''", name=op.f("ck_tone_ladder_with_tip")),
        sa.CheckConstraint(
            "bare is null or bare between 0 and 100", name=op.f("ck_tone_ladder_bare")
        ),
        sa.ForeignKeyConstraint(
            ["original_sha256"], ["original.sha256"], name=op.f("fk_tone_ladder_original_sha256")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_tone_ladder")),
    )
    op.create_index(op.f("ix_tone_ladder_species"), "tone_ladder", ["species"])
    op.create_table(
        "burn_session",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("commission_id", sa.Integer(), nullable=False),
        sa.Column("work", one_of("work", "prepare", "transfer", "burn", "finish"), nullable=False),
        sa.Column("zone", sa.Integer(), nullable=True),
        sa.Column("tip", sa.String(length=80), nullable=False),
        sa.Column("heat", sa.String(length=40), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("closed", sa.Boolean(), nullable=False),
        sa.Column("set_aside", sa.String(), nullable=True),
        sa.Column("replaced_by_id", sa.Integer(), nullable=True),
        sa.Column("replace_reason", sa.String(), nullable=True),
        sa.CheckConstraint(
            "(replaced_by_id is null) = (replace_reason is null)",
            name=op.f("ck_burn_session_replaced_with_reason"),
        ),
        sa.CheckConstraint(
            "replaced_by_id is null or replaced_by_id > id",
            name=op.f("ck_burn_session_replaced_by_newer"),
        ),
        sa.ForeignKeyConstraint(
            ["commission_id"], ["commission.id"], name=op.f("fk_burn_session_commission_id")
        ),
        sa.ForeignKeyConstraint(
            ["replaced_by_id"], ["burn_session.id"], name=op.f("fk_burn_session_replaced_by_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_burn_session")),
    )
    op.create_index(
        op.f("ix_burn_session_closed"),
        "burn_session",
        ["closed"],
        sqlite_where=OPEN,
        postgresql_where=OPEN,
    )
    op.create_index(op.f("ix_burn_session_commission_id"), "burn_session", ["commission_id"])
    op.create_index(
        op.f("ix_burn_session_replaced_by_id"),
        "burn_session",
        ["replaced_by_id"],
        unique=True,
        sqlite_where=REPLACED,
        postgresql_where=REPLACED,
    )
    op.create_table(
        "finish_coat",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("commission_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("product", sa.String(length=120), nullable=False),
        sa.Column("dry_hours", sa.Double(), nullable=False),
        sa.Column("next_coat_hours", sa.Double(), nullable=False),
        sa.CheckConstraint("product <> ''", name=op.f("ck_finish_coat_named")),
        sa.CheckConstraint("dry_hours > 0", name=op.f("ck_finish_coat_dry_hours")),
        sa.CheckConstraint("next_coat_hours > 0", name=op.f("ck_finish_coat_next_coat_hours")),
        sa.ForeignKeyConstraint(
            ["commission_id"], ["commission.id"], name=op.f("fk_finish_coat_commission_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_finish_coat")),
        sa.UniqueConstraint(
            "commission_id", "position", name=op.f("uq_finish_coat_commission_id_position")
        ),
    )
    op.create_index(op.f("ix_finish_coat_commission_id"), "finish_coat", ["commission_id"])
    op.create_table(
        "hazard_override",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("blank_id", sa.Integer(), nullable=False),
        sa.Column("commission_id", sa.Integer(), nullable=False),
        sa.Column("hazard", sa.String(length=40), nullable=False),
        sa.Column("reason", sa.String(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint("hazard <> ''", name=op.f("ck_hazard_override_named")),
        sa.CheckConstraint("reason <> ''", name=op.f("ck_hazard_override_with_reason")),
        sa.ForeignKeyConstraint(
            ["blank_id"], ["blank.id"], name=op.f("fk_hazard_override_blank_id"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["commission_id"], ["commission.id"], name=op.f("fk_hazard_override_commission_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_hazard_override")),
        sa.UniqueConstraint(
            "blank_id",
            "commission_id",
            "hazard",
            name=op.f("uq_hazard_override_blank_id_commission_id_hazard"),
        ),
    )
    op.create_index(op.f("ix_hazard_override_blank_id"), "hazard_override", ["blank_id"])
    op.create_index(op.f("ix_hazard_override_commission_id"), "hazard_override", ["commission_id"])
    op.create_table(
        "ladder_patch",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("ladder_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("heat", sa.Double(), nullable=False),
        sa.Column("strokes", sa.Double(), nullable=False),
        sa.Column("speed", sa.Double(), nullable=True),
        sa.Column("lightness", sa.Double(), nullable=False),
        sa.Column("read", one_of("read", "eye", "photo"), nullable=False),
        sa.CheckConstraint("lightness between 0 and 100", name=op.f("ck_ladder_patch_lightness")),
        sa.CheckConstraint("speed is null or speed > 0", name=op.f("ck_ladder_patch_speed")),
        sa.CheckConstraint("strokes > 0", name=op.f("ck_ladder_patch_strokes")),
        sa.ForeignKeyConstraint(
            ["ladder_id"],
            ["tone_ladder.id"],
            name=op.f("fk_ladder_patch_ladder_id"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_ladder_patch")),
        sa.UniqueConstraint(
            "ladder_id", "position", name=op.f("uq_ladder_patch_ladder_id_position")
        ),
    )
    op.create_index(op.f("ix_ladder_patch_ladder_id"), "ladder_patch", ["ladder_id"])
    op.create_table(
        "payment",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("commission_id", sa.Integer(), nullable=False),
        sa.Column("kind", one_of("kind", "deposit", "payment", "refund"), nullable=False),
        sa.Column("amount", sa.BigInteger(), nullable=False),
        sa.Column("currency", sa.String(length=3), nullable=False),
        sa.Column("paid_on", sa.Date(), nullable=False),
        sa.Column("method", sa.String(length=60), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.CheckConstraint(
            "(kind = 'refund') = (amount < 0)", name=op.f("ck_payment_refund_below_zero")
        ),
        sa.CheckConstraint("amount <> 0", name=op.f("ck_payment_not_nothing")),
        sa.ForeignKeyConstraint(
            ["commission_id"], ["commission.id"], name=op.f("fk_payment_commission_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_payment")),
    )
    op.create_index(op.f("ix_payment_commission_id"), "payment", ["commission_id"])
    op.create_index(op.f("ix_payment_paid_on"), "payment", ["paid_on"])
    op.create_table(
        "planned_session",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("commission_id", sa.Integer(), nullable=False),
        sa.Column("work", one_of("work", "prepare", "transfer", "burn", "finish"), nullable=False),
        sa.Column("starts_at", sa.DateTime(), nullable=False),
        sa.Column("minutes", sa.Integer(), nullable=False),
        sa.Column("break_minutes", sa.Integer(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("uid", sa.String(length=36), nullable=False),
        sa.CheckConstraint(
            "break_minutes between 0 and 1440", name=op.f("ck_planned_session_break_minutes")
        ),
        sa.CheckConstraint("minutes between 1 and 1440", name=op.f("ck_planned_session_minutes")),
        sa.ForeignKeyConstraint(
            ["commission_id"], ["commission.id"], name=op.f("fk_planned_session_commission_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_planned_session")),
        sa.UniqueConstraint("uid", name=op.f("uq_planned_session_uid")),
    )
    op.create_index(op.f("ix_planned_session_commission_id"), "planned_session", ["commission_id"])
    op.create_index(op.f("ix_planned_session_starts_at"), "planned_session", ["starts_at"])
    op.create_table(
        "progress_photo",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("commission_id", sa.Integer(), nullable=False),
        sa.Column("original_sha256", sa.String(length=64), nullable=False),
        sa.Column("taken_on", sa.Date(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("added_at", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(
            ["commission_id"], ["commission.id"], name=op.f("fk_progress_photo_commission_id")
        ),
        sa.ForeignKeyConstraint(
            ["original_sha256"], ["original.sha256"], name=op.f("fk_progress_photo_original_sha256")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_progress_photo")),
        sa.UniqueConstraint(
            "commission_id",
            "original_sha256",
            name=op.f("uq_progress_photo_commission_id_original_sha256"),
        ),
    )
    op.create_index(op.f("ix_progress_photo_commission_id"), "progress_photo", ["commission_id"])
    op.create_index(op.f("ix_progress_photo_taken_on"), "progress_photo", ["taken_on"])
    op.create_table(
        "quote",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("commission_id", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("issued_on", sa.Date(), nullable=False),
        sa.Column("valid_until", sa.Date(), nullable=False),
        sa.Column("currency", sa.String(length=3), nullable=False),
        sa.Column("total", sa.BigInteger(), nullable=False),
        sa.Column("tax", sa.BigInteger(), nullable=False),
        sa.Column("deposit", sa.BigInteger(), nullable=False),
        sa.Column("hours_p50", sa.Double(), nullable=False),
        sa.Column("hours_p80", sa.Double(), nullable=False),
        sa.Column("hours_paid", sa.Double(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("accepted_on", sa.Date(), nullable=True),
        sa.CheckConstraint(
            "accepted_on is null or accepted_on >= issued_on", name=op.f("ck_quote_acceptance")
        ),
        sa.CheckConstraint("deposit <= total", name=op.f("ck_quote_deposit")),
        sa.CheckConstraint(
            "total >= 0 and tax >= 0 and deposit >= 0", name=op.f("ck_quote_amounts")
        ),
        sa.CheckConstraint("valid_until >= issued_on", name=op.f("ck_quote_validity")),
        sa.ForeignKeyConstraint(
            ["commission_id"], ["commission.id"], name=op.f("fk_quote_commission_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_quote")),
        sa.UniqueConstraint(
            "commission_id", "version", name=op.f("uq_quote_commission_id_version")
        ),
    )
    op.create_index(op.f("ix_quote_commission_id"), "quote", ["commission_id"])
    op.create_table(
        "reference",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("commission_id", sa.Integer(), nullable=False),
        sa.Column("original_sha256", sa.String(length=64), nullable=False),
        sa.Column("zones", sa.Integer(), nullable=False),
        sa.Column("min_area_mm2", sa.Double(), nullable=False),
        sa.Column("thresholds", sa.JSON(), nullable=False),
        sa.Column("layout", sa.JSON(), nullable=True),
        sa.Column("plan", sa.JSON(), nullable=False),
        sa.Column("hours", sa.JSON(), nullable=False),
        sa.Column("added_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint("min_area_mm2 >= 0", name=op.f("ck_reference_min_area")),
        sa.CheckConstraint("zones between 2 and 9", name=op.f("ck_reference_zones")),
        sa.ForeignKeyConstraint(
            ["commission_id"], ["commission.id"], name=op.f("fk_reference_commission_id")
        ),
        sa.ForeignKeyConstraint(
            ["original_sha256"], ["original.sha256"], name=op.f("fk_reference_original_sha256")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reference")),
    )
    op.create_index(op.f("ix_reference_commission_id"), "reference", ["commission_id"])
    op.create_table(
        "step",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("commission_id", sa.Integer(), nullable=False),
        sa.Column(
            "phase",
            one_of("phase", "prepare", "transfer", "burn", "finish", "handover"),
            nullable=False,
        ),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(length=80), nullable=False),
        sa.Column("text", sa.String(), nullable=False),
        sa.Column("caution", sa.String(), nullable=False),
        sa.Column("zone", sa.Integer(), nullable=True),
        sa.Column("own", sa.Boolean(), nullable=False),
        sa.Column("ticked_at", sa.DateTime(), nullable=True),
        sa.Column("skipped_at", sa.DateTime(), nullable=True),
        sa.Column("skip_reason", sa.String(), nullable=True),
        sa.CheckConstraint("text <> ''", name=op.f("ck_step_says_something")),
        sa.CheckConstraint(
            "(skipped_at is null) = (skip_reason is null)", name=op.f("ck_step_skipped_with_reason")
        ),
        sa.CheckConstraint(
            "ticked_at is null or skipped_at is null", name=op.f("ck_step_ticked_or_skipped")
        ),
        sa.ForeignKeyConstraint(
            ["commission_id"], ["commission.id"], name=op.f("fk_step_commission_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_step")),
        sa.UniqueConstraint("commission_id", "key", name=op.f("uq_step_commission_id_key")),
    )
    op.create_index(op.f("ix_step_commission_id"), "step", ["commission_id"])
    op.create_table(
        "quote_instalment",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("quote_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column(
            "milestone", one_of("milestone", "prepared", "transferred", "burned"), nullable=False
        ),
        sa.Column("amount", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("amount >= 0", name=op.f("ck_quote_instalment_amount")),
        sa.ForeignKeyConstraint(
            ["quote_id"],
            ["quote.id"],
            name=op.f("fk_quote_instalment_quote_id"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_quote_instalment")),
        sa.UniqueConstraint(
            "quote_id", "position", name=op.f("uq_quote_instalment_quote_id_position")
        ),
    )
    op.create_table(
        "quote_line",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("quote_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=20), nullable=False),
        sa.Column("label", sa.String(length=200), nullable=False),
        sa.Column("amount", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(
            ["quote_id"], ["quote.id"], name=op.f("fk_quote_line_quote_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_quote_line")),
        sa.UniqueConstraint("quote_id", "position", name=op.f("uq_quote_line_quote_id_position")),
    )
    op.create_table(
        "spell",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("session_id", sa.Integer(), nullable=False),
        sa.Column("started_at", sa.DateTime(), nullable=False),
        sa.Column("ended_at", sa.DateTime(), nullable=True),
        sa.Column("running", sa.Integer(), nullable=True),
        sa.CheckConstraint(
            "(ended_at is null) = (running is not null)", name=op.f("ck_spell_running")
        ),
        sa.CheckConstraint(
            "ended_at is null or ended_at >= started_at", name=op.f("ck_spell_order")
        ),
        sa.CheckConstraint("running is null or running = 1", name=op.f("ck_spell_running_mark")),
        sa.ForeignKeyConstraint(
            ["session_id"],
            ["burn_session.id"],
            name=op.f("fk_spell_session_id"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_spell")),
        sa.UniqueConstraint("running", name=op.f("uq_spell_running")),
    )
    op.create_index(op.f("ix_spell_ended_at"), "spell", ["ended_at"])
    op.create_index(op.f("ix_spell_session_id"), "spell", ["session_id"])


def downgrade() -> None:
    for table in (
        "spell", "quote_line", "quote_instalment", "step", "reference", "quote", "progress_photo",
        "planned_session", "payment", "ladder_patch", "hazard_override", "finish_coat",
        "burn_session", "tone_ladder", "sanding", "moisture_reading", "commission", "climate",
        "blank_photo", "blank_condition", "studio", "past_job", "own_species", "original",
        "history", "day_off", "client", "blank",
    ):  # fmt: skip
        op.drop_table(table)
