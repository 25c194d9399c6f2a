"""Days off, burning hours, planned sessions, corrected sessions, photos of progress."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "day_off",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("starts_on", sa.Date(), nullable=False),
        sa.Column("ends_on", sa.Date(), nullable=False),
        sa.Column("reason", sa.String(length=200), nullable=False),
        sa.CheckConstraint("ends_on >= starts_on", name=op.f("ck_day_off_order")),
        sa.CheckConstraint("reason <> ''", name=op.f("ck_day_off_with_reason")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_day_off")),
    )
    op.create_index(op.f("ix_day_off_ends_on"), "day_off", ["ends_on"])
    op.create_table(
        "planned_session",
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
        sa.Column("starts_at", sa.DateTime(), nullable=False),
        sa.Column("minutes", sa.Integer(), nullable=False),
        sa.Column("break_minutes", sa.Integer(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("uid", sa.String(length=36), nullable=False),
        sa.CheckConstraint("minutes between 1 and 1440", name=op.f("ck_planned_session_minutes")),
        sa.CheckConstraint(
            "break_minutes between 0 and 1440", name=op.f("ck_planned_session_break_minutes")
        ),
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
    with op.batch_alter_table("studio") as batch:
        batch.add_column(
            sa.Column("burning_hours", sa.Double(), nullable=False, server_default="24")
        )
        batch.add_column(
            sa.Column("holidays", sa.String(length=12), nullable=False, server_default="")
        )
        batch.add_column(sa.Column("drying_days", sa.Integer(), nullable=False, server_default="1"))
        batch.add_column(
            sa.Column("delivery_days", sa.Integer(), nullable=False, server_default="0")
        )
        batch.create_check_constraint(
            op.f("ck_studio_burning_hours"), "burning_hours > 0 and burning_hours <= 24"
        )
        batch.create_check_constraint(
            op.f("ck_studio_drying_days"), "drying_days between 0 and 365"
        )
        batch.create_check_constraint(
            op.f("ck_studio_delivery_days"), "delivery_days between 0 and 365"
        )
    # The defaults were for the row on record; from here on the models give them.
    with op.batch_alter_table("studio") as batch:
        for name in ("burning_hours", "holidays", "drying_days", "delivery_days"):
            batch.alter_column(name, server_default=None)
    with op.batch_alter_table("burn_session") as batch:
        batch.add_column(sa.Column("replaced_by_id", sa.Integer(), nullable=True))
        batch.add_column(sa.Column("replace_reason", sa.String(), nullable=True))
        batch.create_unique_constraint(op.f("uq_burn_session_replaced_by_id"), ["replaced_by_id"])
        batch.create_foreign_key(
            op.f("fk_burn_session_replaced_by_id"), "burn_session", ["replaced_by_id"], ["id"]
        )
        batch.create_check_constraint(
            op.f("ck_burn_session_replaced_with_reason"),
            "(replaced_by_id is null) = (replace_reason is null)",
        )
        batch.create_check_constraint(
            op.f("ck_burn_session_replaced_by_newer"),
            "replaced_by_id is null or replaced_by_id > id",
        )


def downgrade() -> None:
    # An older book knows no corrections: what was replaced must not count beside what replaced it.
    op.execute(
        "DELETE FROM spell WHERE session_id IN"
        " (SELECT id FROM burn_session WHERE replaced_by_id IS NOT NULL)"
    )
    op.execute("DELETE FROM burn_session WHERE replaced_by_id IS NOT NULL")
    with op.batch_alter_table("burn_session") as batch:
        batch.drop_constraint(op.f("ck_burn_session_replaced_by_newer"), type_="check")
        batch.drop_constraint(op.f("ck_burn_session_replaced_with_reason"), type_="check")
        batch.drop_constraint(op.f("fk_burn_session_replaced_by_id"), type_="foreignkey")
        batch.drop_constraint(op.f("uq_burn_session_replaced_by_id"), type_="unique")
        batch.drop_column("replace_reason")
        batch.drop_column("replaced_by_id")
    with op.batch_alter_table("studio") as batch:
        for name in ("delivery_days", "drying_days", "burning_hours"):
            batch.drop_constraint(op.f(f"ck_studio_{name}"), type_="check")
        for name in ("delivery_days", "drying_days", "holidays", "burning_hours"):
            batch.drop_column(name)
    op.drop_table("progress_photo")
    op.drop_table("planned_session")
    op.drop_table("day_off")
