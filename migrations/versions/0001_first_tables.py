"""The book's first tables."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "blank",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("species", sa.String(length=60), nullable=False),
        sa.Column(
            "outline",
            sa.Enum(
                "rectangle",
                "round",
                "oval",
                "live-edge",
                name="outline",
                native_enum=False,
                create_constraint=True,
                length=16,
            ),
            nullable=False,
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
    op.create_index(op.f("ix_history_commission_id"), "history", ["commission_id"], unique=False)
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
        "studio",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column(
            "units",
            sa.Enum(
                "metric",
                "imperial",
                name="units",
                native_enum=False,
                create_constraint=True,
                length=16,
            ),
            nullable=False,
        ),
        sa.Column("currency", sa.String(length=3), nullable=False),
        sa.Column("locale", sa.String(length=20), nullable=False),
        sa.Column(
            "paper",
            sa.Enum(
                "a4",
                "a3",
                "letter",
                "tabloid",
                name="paper",
                native_enum=False,
                create_constraint=True,
                length=16,
            ),
            nullable=False,
        ),
        sa.Column(
            "drawing_hand",
            sa.Enum(
                "right",
                "left",
                name="drawing_hand",
                native_enum=False,
                create_constraint=True,
                length=16,
            ),
            nullable=False,
        ),
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
        sa.CheckConstraint(
            "deposit_percent between 0 and 1000000", name=op.f("ck_studio_deposit_percent")
        ),
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
        "commission",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("title", sa.String(length=200), nullable=False),
        sa.Column("client_id", sa.Integer(), nullable=True),
        sa.Column(
            "outline",
            sa.Enum(
                "rectangle",
                "round",
                "oval",
                "live-edge",
                name="outline",
                native_enum=False,
                create_constraint=True,
                length=16,
            ),
            nullable=True,
        ),
        sa.Column("width_mm", sa.Double(), nullable=True),
        sa.Column("height_mm", sa.Double(), nullable=True),
        sa.Column("species", sa.String(length=60), nullable=True),
        sa.Column("blank_id", sa.Integer(), nullable=True),
        sa.Column("due_on", sa.Date(), nullable=True),
        sa.Column(
            "use",
            sa.Enum(
                "indoor",
                "outdoor",
                "food",
                name="use",
                native_enum=False,
                create_constraint=True,
                length=16,
            ),
            nullable=False,
        ),
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
    op.create_index(op.f("ix_commission_client_id"), "commission", ["client_id"], unique=False)
    op.create_index(
        "ix_commission_open", "commission", ["delivered_on", "dropped_on"], unique=False
    )
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
    op.create_index(op.f("ix_sanding_blank_id"), "sanding", ["blank_id"], unique=False)
    op.create_table(
        "burn_session",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("commission_id", sa.Integer(), nullable=False),
        sa.Column(
            "work",
            sa.Enum(
                "prepare",
                "transfer",
                "burn",
                "finish",
                name="work",
                native_enum=False,
                create_constraint=True,
                length=16,
            ),
            nullable=False,
        ),
        sa.Column("zone", sa.Integer(), nullable=True),
        sa.Column("tip", sa.String(length=80), nullable=False),
        sa.Column("heat", sa.String(length=40), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("closed", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(
            ["commission_id"], ["commission.id"], name=op.f("fk_burn_session_commission_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_burn_session")),
    )
    op.create_index(
        op.f("ix_burn_session_commission_id"), "burn_session", ["commission_id"], unique=False
    )
    op.create_table(
        "payment",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("commission_id", sa.Integer(), nullable=False),
        sa.Column(
            "kind",
            sa.Enum(
                "deposit",
                "payment",
                "refund",
                name="kind",
                native_enum=False,
                create_constraint=True,
                length=16,
            ),
            nullable=False,
        ),
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
    op.create_index(op.f("ix_payment_commission_id"), "payment", ["commission_id"], unique=False)
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
    op.create_index(op.f("ix_quote_commission_id"), "quote", ["commission_id"], unique=False)
    op.create_table(
        "reference",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("commission_id", sa.Integer(), nullable=False),
        sa.Column("original_sha256", sa.String(length=64), nullable=False),
        sa.Column("zones", sa.Integer(), nullable=False),
        sa.Column("min_area_mm2", sa.Double(), nullable=False),
        sa.Column("thresholds", sa.JSON(), nullable=False),
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
    op.create_index(
        op.f("ix_reference_commission_id"), "reference", ["commission_id"], unique=False
    )
    op.create_table(
        "step",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("commission_id", sa.Integer(), nullable=False),
        sa.Column(
            "phase",
            sa.Enum(
                "prepare",
                "transfer",
                "burn",
                "finish",
                "handover",
                name="phase",
                native_enum=False,
                create_constraint=True,
                length=16,
            ),
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
    op.create_index(op.f("ix_step_commission_id"), "step", ["commission_id"], unique=False)
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
    op.create_index(op.f("ix_spell_session_id"), "spell", ["session_id"], unique=False)


def downgrade() -> None:
    op.drop_index(op.f("ix_spell_session_id"), table_name="spell")
    op.drop_table("spell")
    op.drop_table("quote_line")
    op.drop_index(op.f("ix_step_commission_id"), table_name="step")
    op.drop_table("step")
    op.drop_index(op.f("ix_reference_commission_id"), table_name="reference")
    op.drop_table("reference")
    op.drop_index(op.f("ix_quote_commission_id"), table_name="quote")
    op.drop_table("quote")
    op.drop_index(op.f("ix_payment_commission_id"), table_name="payment")
    op.drop_table("payment")
    op.drop_index(op.f("ix_burn_session_commission_id"), table_name="burn_session")
    op.drop_table("burn_session")
    op.drop_index(op.f("ix_sanding_blank_id"), table_name="sanding")
    op.drop_table("sanding")
    op.drop_index("ix_commission_open", table_name="commission")
    op.drop_index(op.f("ix_commission_client_id"), table_name="commission")
    op.drop_table("commission")
    op.drop_table("studio")
    op.drop_table("original")
    op.drop_index(op.f("ix_history_commission_id"), table_name="history")
    op.drop_table("history")
    op.drop_table("client")
    op.drop_table("blank")
