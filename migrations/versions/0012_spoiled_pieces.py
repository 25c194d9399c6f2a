"""Pieces that were ruined and begun again, and the sessions that were on them."""

from collections.abc import Callable
from typing import Any

import sqlalchemy as sa
from alembic import op

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
    _rewrite(lambda row: row | {"spoiled_id": None})


def downgrade() -> None:
    """Leave the hours of spoiled pieces with their jobs, without what says whose they were."""
    op.drop_index(op.f("ix_burn_session_spoiled_id"), "burn_session")
    with op.batch_alter_table("burn_session") as session:
        session.drop_constraint(op.f("fk_burn_session_spoiled_id"), type_="foreignkey")
        session.drop_column("spoiled_id")
    op.drop_table("spoiled_piece")
    _rewrite(lambda row: {name: row[name] for name in row if name != "spoiled_id"})


def _rewrite(change: Callable[[dict[str, Any]], dict[str, Any]]) -> None:
    """Let the history hold rows of the new form: what was done before can still be undone."""
    history = sa.table("history", sa.column("id"), sa.column("changes", sa.JSON()))
    named = sa.cast(history.c.changes, sa.String()).contains('"burn_session"', autoescape=True)
    book = op.get_bind()
    for entry in book.execute(sa.select(history).where(named)).all():
        changes = [
            {
                name: change(row)
                if name != "table" and row and one["table"] == "burn_session"
                else row
                for name, row in one.items()
            }
            for one in entry.changes
        ]
        book.execute(sa.update(history).where(history.c.id == entry.id).values(changes=changes))
