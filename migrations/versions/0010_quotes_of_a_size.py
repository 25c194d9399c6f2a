"""A quote says which size and wood it was reckoned for; older ones do not know."""

from collections.abc import Callable
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None

COLUMNS = ("width_mm", "height_mm", "species")


def upgrade() -> None:
    with op.batch_alter_table("quote") as quote:
        quote.add_column(sa.Column("width_mm", sa.Double(), nullable=True))
        quote.add_column(sa.Column("height_mm", sa.Double(), nullable=True))
        quote.add_column(sa.Column("species", sa.String(length=60), nullable=True))
    _rewrite(lambda row: row | dict.fromkeys(COLUMNS))


def downgrade() -> None:
    with op.batch_alter_table("quote") as quote:
        for name in COLUMNS:
            quote.drop_column(name)
    _rewrite(lambda row: {name: row[name] for name in row if name not in COLUMNS})


def _rewrite(change: Callable[[dict[str, Any]], dict[str, Any]]) -> None:
    """Let the history hold rows of the new form: what was done before can still be undone."""
    history = sa.table("history", sa.column("id"), sa.column("changes", sa.JSON()))
    named = sa.cast(history.c.changes, sa.String()).contains('"quote"', autoescape=True)
    book = op.get_bind()
    for entry in book.execute(sa.select(history).where(named)).all():
        changes = [
            {
                name: change(row) if name != "table" and row and one["table"] == "quote" else row
                for name, row in one.items()
            }
            for one in entry.changes
        ]
        book.execute(sa.update(history).where(history.c.id == entry.id).values(changes=changes))
