"""Past jobs may have one total of hours, what it covers, and how much of the face is burned."""

from collections.abc import Callable
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None

BEFORE = {"total_h": None, "covers": "", "covered": ""}


def upgrade() -> None:
    with op.batch_alter_table("past_job") as job:
        job.add_column(sa.Column("total_h", sa.Double(), nullable=True))
        job.add_column(sa.Column("covers", sa.String(40), nullable=False, server_default=""))
        job.add_column(sa.Column("covered", sa.String(24), nullable=False, server_default=""))
        job.create_check_constraint(op.f("ck_past_job_total"), "total_h is null or total_h > 0")
        job.create_check_constraint(
            op.f("ck_past_job_covers"), "covers = '' or total_h is not null"
        )
    with op.batch_alter_table("past_job") as job:
        for name in ("covers", "covered"):
            job.alter_column(name, server_default=None)
    _rewrite(lambda row: row | BEFORE)


def downgrade() -> None:
    rows = sa.table("past_job", *map(sa.column, ("burn_h", "total_h", "covers", "texture")))
    alone = (rows.c.covers == "burn") & rows.c.burn_h.is_(None)
    op.execute(sa.update(rows).where(alone).values(burn_h=rows.c.total_h))
    op.execute(sa.update(rows).where(rows.c.texture == "eye:6").values(texture="eye:5"))
    with op.batch_alter_table("past_job") as job:
        job.drop_constraint(op.f("ck_past_job_covers"), type_="check")
        job.drop_constraint(op.f("ck_past_job_total"), type_="check")
        for name in BEFORE:
            job.drop_column(name)
    _rewrite(_of_before)


def _of_before(row: dict[str, Any]) -> dict[str, Any]:
    """Return a row in the older form: of totals it has one of burning alone, and no grade 6."""
    before = {name: row[name] for name in row if name not in BEFORE}
    if row.get("covers") == "burn" and row["burn_h"] is None:
        before["burn_h"] = row["total_h"]
    if row["texture"] == "eye:6":
        before["texture"] = "eye:5"
    return before


def _rewrite(change: Callable[[dict[str, Any]], dict[str, Any]]) -> None:
    """Let the history hold rows of the new form: what was done before can still be undone."""
    history = sa.table("history", sa.column("id"), sa.column("changes", sa.JSON()))
    named = sa.cast(history.c.changes, sa.String()).contains('"past_job"', autoescape=True)
    book = op.get_bind()
    for entry in book.execute(sa.select(history).where(named)).all():
        changes = [
            {
                name: change(row) if name != "table" and row and one["table"] == "past_job" else row
                for name, row in one.items()
            }
            for one in entry.changes
        ]
        book.execute(sa.update(history).where(history.c.id == entry.id).values(changes=changes))
