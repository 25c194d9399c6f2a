"""How much is drawn of a photo's lines is a setting of the studio."""

from collections.abc import Callable
from typing import Any

import sqlalchemy as sa
from alembic import op

from burnplan.ledger.types import one_of

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None


def upgrade() -> None:
    line = one_of("line", "calm", "usual", "fine")
    with op.batch_alter_table("studio") as studio:
        studio.add_column(sa.Column("line", line, nullable=False, server_default="usual"))
    with op.batch_alter_table("studio") as studio:
        studio.alter_column("line", server_default=None)
    _rewrite(lambda row: row | {"line": "usual"})


def downgrade() -> None:
    with op.batch_alter_table("studio") as studio:
        studio.drop_constraint(op.f("ck_studio_line"), type_="check")
        studio.drop_column("line")
    _rewrite(lambda row: {name: row[name] for name in row if name != "line"})


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
