"""What an hour should earn may be open; a forecast and a quote say on how many jobs they rest."""

from collections.abc import Callable
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0017"
down_revision = "0016"
branch_labels = None
depends_on = None

# What an hour earned before in a new studio, in ten-thousandths, whatever the currency.
BEFORE = 300_000


def upgrade() -> None:
    with op.batch_alter_table("studio") as studio:
        studio.drop_constraint(op.f("ck_studio_hourly_target"), type_="check")
        studio.alter_column("hourly_target", existing_type=sa.BigInteger(), nullable=True)
        studio.create_check_constraint(
            op.f("ck_studio_hourly_target"), "hourly_target is null or hourly_target >= 0"
        )
    with op.batch_alter_table("reference") as reference:
        reference.add_column(
            sa.Column("taught_by", sa.Integer(), nullable=False, server_default="0")
        )
    with op.batch_alter_table("reference") as reference:
        reference.alter_column("taught_by", server_default=None)
    with op.batch_alter_table("quote") as quote:
        quote.add_column(sa.Column("taught_by", sa.Integer(), nullable=True))
    _rewrite("quote", lambda row: row | {"taught_by": None})


def downgrade() -> None:
    with op.batch_alter_table("quote") as quote:
        quote.drop_column("taught_by")
    with op.batch_alter_table("reference") as reference:
        reference.drop_column("taught_by")
    studio_row = sa.table("studio", sa.column("hourly_target"))
    op.execute(
        sa.update(studio_row)
        .where(studio_row.c.hourly_target.is_(None))
        .values(hourly_target=BEFORE)
    )
    with op.batch_alter_table("studio") as studio:
        studio.drop_constraint(op.f("ck_studio_hourly_target"), type_="check")
        studio.alter_column("hourly_target", existing_type=sa.BigInteger(), nullable=False)
        studio.create_check_constraint(op.f("ck_studio_hourly_target"), "hourly_target >= 0")
    _rewrite("quote", lambda row: {name: row[name] for name in row if name != "taught_by"})
    _rewrite("studio", _with_target)


def _with_target(row: dict[str, Any]) -> dict[str, Any]:
    return row if row["hourly_target"] is not None else row | {"hourly_target": "30"}


def _rewrite(table: str, change: Callable[[dict[str, Any]], dict[str, Any]]) -> None:
    """Let the history hold rows of the new form: what was done before can still be undone."""
    history = sa.table("history", sa.column("id"), sa.column("changes", sa.JSON()))
    named = sa.cast(history.c.changes, sa.String()).contains(f'"{table}"', autoescape=True)
    book = op.get_bind()
    for entry in book.execute(sa.select(history).where(named)).all():
        changes = [
            {
                name: change(row) if name != "table" and row and one["table"] == table else row
                for name, row in one.items()
            }
            for one in entry.changes
        ]
        book.execute(sa.update(history).where(history.c.id == entry.id).values(changes=changes))
