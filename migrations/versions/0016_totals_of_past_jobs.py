"""Past jobs may have one total of hours, what it covers, and how much of the face is burned."""

from typing import Any

import sqlalchemy as sa
from alembic import op

from burnplan.ledger import history_rows

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
    history_rows.rewrite(op.get_bind(), "past_job", history_rows.having(BEFORE))


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
    history_rows.rewrite(op.get_bind(), "past_job", _of_before)


def _of_before(row: dict[str, Any]) -> dict[str, Any]:
    """Return a row in the older form: of totals it has one of burning alone, and no grade 6."""
    before = {name: row[name] for name in row if name not in BEFORE}
    if row.get("covers") == "burn" and row["burn_h"] is None:
        before["burn_h"] = row["total_h"]
    if row["texture"] == "eye:6":
        before["texture"] = "eye:5"
    return before
