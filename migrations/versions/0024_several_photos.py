"""Several photos on one piece."""

from collections.abc import Callable
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0024"
down_revision = "0023"
branch_labels = None
depends_on = None

ADDED: dict[str, dict[str, Any]] = {"reference": {"together": None}}


def upgrade() -> None:
    with op.batch_alter_table("reference") as reference:
        reference.add_column(sa.Column("together", sa.JSON(none_as_null=True), nullable=True))
    _rewrite(lambda table, row: row | ADDED[table])


def downgrade() -> None:
    """Leave the composed picture as the one photo; of what it was composed is gone."""
    with op.batch_alter_table("reference") as reference:
        reference.drop_column("together")
    _rewrite(lambda table, row: {name: row[name] for name in row if name not in ADDED[table]})


def _rewrite(change: Callable[[str, dict[str, Any]], dict[str, Any]]) -> None:
    """Let the history hold rows of the new form: what was done before can still be undone."""
    history = sa.table("history", sa.column("id"), sa.column("changes", sa.JSON()))
    words = sa.cast(history.c.changes, sa.String())
    named = sa.or_(*(words.contains(f'"{table}"', autoescape=True) for table in ADDED))
    book = op.get_bind()
    for entry in book.execute(sa.select(history).where(named)).all():
        changes = [
            {
                name: change(one["table"], row)
                if name != "table" and row and one["table"] in ADDED
                else row
                for name, row in one.items()
            }
            for one in entry.changes
        ]
        book.execute(sa.update(history).where(history.c.id == entry.id).values(changes=changes))
