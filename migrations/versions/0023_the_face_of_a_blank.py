"""A photo of a blank keeps what it tells of the face: grain, knots, the sheet on it."""

from collections.abc import Callable
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0023"
down_revision = "0022"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("blank_photo") as photo:
        photo.add_column(sa.Column("face", sa.JSON(), nullable=True))
    _rewrite("blank_photo", lambda row: row | {"face": None})


def downgrade() -> None:
    with op.batch_alter_table("blank_photo") as photo:
        photo.drop_column("face")
    _rewrite("blank_photo", lambda row: {name: row[name] for name in row if name != "face"})


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
