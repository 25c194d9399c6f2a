"""The colour of lines on trace sheets, and whether they lie over the photo, are settings."""

from collections.abc import Callable
from typing import Any

import sqlalchemy as sa
from alembic import op

from burnplan.ledger.types import one_of

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None

BEFORE = {"ink": "blue", "over_photo": False}


def upgrade() -> None:
    ink = one_of("ink", "blue", "red", "grey")
    with op.batch_alter_table("studio") as studio:
        studio.add_column(sa.Column("ink", ink, nullable=False, server_default="blue"))
        studio.add_column(
            sa.Column("over_photo", sa.Boolean(), nullable=False, server_default=sa.false())
        )
    with op.batch_alter_table("studio") as studio:
        for name in BEFORE:
            studio.alter_column(name, server_default=None)
    _rewrite(lambda row: row | BEFORE)


def downgrade() -> None:
    with op.batch_alter_table("studio") as studio:
        studio.drop_constraint(op.f("ck_studio_ink"), type_="check")
        for name in BEFORE:
            studio.drop_column(name)
    _rewrite(lambda row: {name: row[name] for name in row if name not in BEFORE})


def _rewrite(change: Callable[[dict[str, Any]], dict[str, Any]]) -> None:
    """Let the history hold rows of the new form: what was done before can still be undone."""
    history = sa.table("history", sa.column("id"), sa.column("changes", sa.JSON()))
    named = sa.cast(history.c.changes, sa.String()).contains('"studio"', autoescape=True)
    book = op.get_bind()
    for entry in book.execute(sa.select(history).where(named)).all():
        changes = [
            {
                name: change(row) if name != "table" and row and one["table"] == "studio" else row
                for name, row in one.items()
            }
            for one in entry.changes
        ]
        book.execute(sa.update(history).where(history.c.id == entry.id).values(changes=changes))
