"""A blank knows its bark and how light it is, and its photo where its outline is seen."""

from collections.abc import Callable
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0019"
down_revision = "0018"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("blank") as blank:
        blank.add_column(sa.Column("bark_mm", sa.Double(), nullable=True))
        blank.add_column(sa.Column("bare", sa.Double(), nullable=True))
        blank.create_check_constraint(op.f("ck_blank_bark_mm"), "bark_mm is null or bark_mm >= 0")
        blank.create_check_constraint(
            op.f("ck_blank_bare"), "bare is null or bare between 0 and 100"
        )
    with op.batch_alter_table("blank_photo") as photo:
        photo.add_column(sa.Column("view", sa.JSON(), nullable=True))
    _rewrite("blank", lambda row: row | {"bark_mm": None, "bare": None})
    _rewrite("blank_photo", lambda row: row | {"view": None})


def downgrade() -> None:
    with op.batch_alter_table("blank_photo") as photo:
        photo.drop_column("view")
    with op.batch_alter_table("blank") as blank:
        blank.drop_constraint(op.f("ck_blank_bare"), type_="check")
        blank.drop_constraint(op.f("ck_blank_bark_mm"), type_="check")
        blank.drop_column("bare")
        blank.drop_column("bark_mm")
    _rewrite("blank", lambda row: _without(row, "bark_mm", "bare"))
    _rewrite("blank_photo", lambda row: _without(row, "view"))


def _without(row: dict[str, Any], *names: str) -> dict[str, Any]:
    return {name: row[name] for name in row if name not in names}


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
