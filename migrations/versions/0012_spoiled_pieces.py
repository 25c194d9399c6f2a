"""Pieces that were ruined and begun again, and the sessions that were on them."""

import sqlalchemy as sa
from alembic import op

from burnplan.ledger import history_rows

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None

ON_SPOILED = sa.column("spoiled_id", sa.Integer()).is_not(None)


def upgrade() -> None:
    op.create_table(
        "spoiled_piece",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("commission_id", sa.Integer(), nullable=False),
        sa.Column("blank_id", sa.Integer(), nullable=True),
        sa.Column("reason", sa.String(), nullable=False),
        sa.Column("spoiled_on", sa.Date(), nullable=False),
        sa.Column("plan", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("done", sa.JSON(none_as_null=True), nullable=False),
        sa.CheckConstraint("reason <> ''", name=op.f("ck_spoiled_piece_with_reason")),
        sa.ForeignKeyConstraint(["blank_id"], ["blank.id"], name=op.f("fk_spoiled_piece_blank_id")),
        sa.ForeignKeyConstraint(
            ["commission_id"], ["commission.id"], name=op.f("fk_spoiled_piece_commission_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_spoiled_piece")),
        sa.UniqueConstraint("blank_id", name=op.f("uq_spoiled_piece_blank_id")),
    )
    for column in ("commission_id", "spoiled_on"):
        op.create_index(op.f(f"ix_spoiled_piece_{column}"), "spoiled_piece", [column])
    with op.batch_alter_table("burn_session") as session:
        session.add_column(sa.Column("spoiled_id", sa.Integer(), nullable=True))
        session.create_foreign_key(
            op.f("fk_burn_session_spoiled_id"), "spoiled_piece", ["spoiled_id"], ["id"]
        )
    op.create_index(
        op.f("ix_burn_session_spoiled_id"),
        "burn_session",
        ["spoiled_id"],
        sqlite_where=ON_SPOILED,
        postgresql_where=ON_SPOILED,
    )
    history_rows.rewrite(op.get_bind(), "burn_session", history_rows.having({"spoiled_id": None}))


def downgrade() -> None:
    """Leave the hours of spoiled pieces with their jobs, without what says whose they were."""
    op.drop_index(op.f("ix_burn_session_spoiled_id"), "burn_session")
    with op.batch_alter_table("burn_session") as session:
        session.drop_constraint(op.f("fk_burn_session_spoiled_id"), type_="foreignkey")
        session.drop_column("spoiled_id")
    op.drop_table("spoiled_piece")
    history_rows.rewrite(op.get_bind(), "burn_session", history_rows.without("spoiled_id"))
