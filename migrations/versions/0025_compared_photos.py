"""A comparison with the plan, kept with its photo."""

from collections.abc import Callable
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0025"
down_revision = "0024"
branch_labels = None
depends_on = None

ADDED: dict[str, dict[str, Any]] = {"progress_photo": {"comparison": None}}


def upgrade() -> None:
    with op.batch_alter_table("progress_photo") as photo:
        photo.add_column(sa.Column("comparison", sa.JSON(none_as_null=True), nullable=True))
    _rewrite(lambda table, row: row | ADDED[table])


def downgrade() -> None:
    """Leave the photos; what comparing them came to is gone."""
    with op.batch_alter_table("progress_photo") as photo:
        photo.drop_column("comparison")
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
