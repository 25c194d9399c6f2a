"""Who took a photo, and how they allowed its use."""

from collections.abc import Callable
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0020"
down_revision = "0019"
branch_labels = None
depends_on = None

COLUMNS = {"taken_by": 120, "allowed": 200}


def upgrade() -> None:
    with op.batch_alter_table("original") as original:
        for name, length in COLUMNS.items():
            column = sa.Column(name, sa.String(length=length), nullable=False, server_default="")
            original.add_column(column)
    with op.batch_alter_table("original") as original:
        for name in COLUMNS:
            original.alter_column(name, server_default=None)
    _rewrite(lambda row: row | dict.fromkeys(COLUMNS, ""))


def downgrade() -> None:
    with op.batch_alter_table("original") as original:
        for name in COLUMNS:
            original.drop_column(name)
    _rewrite(lambda row: {name: row[name] for name in row if name not in COLUMNS})


def _rewrite(change: Callable[[dict[str, Any]], dict[str, Any]]) -> None:
    """Let the history hold rows of the new form: what was done before can still be undone."""
    history = sa.table("history", sa.column("id"), sa.column("changes", sa.JSON()))
    named = sa.cast(history.c.changes, sa.String()).contains('"original"', autoescape=True)
    book = op.get_bind()
    for entry in book.execute(sa.select(history).where(named)).all():
        changes = [
            {
                name: change(row) if name != "table" and row and one["table"] == "original" else row
                for name, row in one.items()
            }
            for one in entry.changes
        ]
        book.execute(sa.update(history).where(history.c.id == entry.id).values(changes=changes))
