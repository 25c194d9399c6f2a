"""What an hour should earn may be open; a forecast and a quote say on how many jobs they rest."""

from typing import Any

import sqlalchemy as sa
from alembic import op

from burnplan.ledger import history_rows

revision = "0017"
down_revision = "0016"
branch_labels = None
depends_on = None

# What an hour earned before in a new studio, in ten-thousandths, whatever the currency.
BEFORE = 300_000


def upgrade() -> None:
    with op.batch_alter_table("studio") as studio:
        studio.drop_constraint(op.f("ck_studio_hourly_target"), type_="check")
        studio.alter_column("hourly_target", existing_type=sa.BigInteger(), nullable=True)
        studio.create_check_constraint(
            op.f("ck_studio_hourly_target"), "hourly_target is null or hourly_target >= 0"
        )
    with op.batch_alter_table("reference") as reference:
        reference.add_column(
            sa.Column("taught_by", sa.Integer(), nullable=False, server_default="0")
        )
    with op.batch_alter_table("reference") as reference:
        reference.alter_column("taught_by", server_default=None)
    with op.batch_alter_table("quote") as quote:
        quote.add_column(sa.Column("taught_by", sa.Integer(), nullable=True))
    history_rows.rewrite(op.get_bind(), "quote", history_rows.having({"taught_by": None}))


def downgrade() -> None:
    with op.batch_alter_table("quote") as quote:
        quote.drop_column("taught_by")
    with op.batch_alter_table("reference") as reference:
        reference.drop_column("taught_by")
    studio_row = sa.table("studio", sa.column("hourly_target"))
    op.execute(
        sa.update(studio_row)
        .where(studio_row.c.hourly_target.is_(None))
        .values(hourly_target=BEFORE)
    )
    with op.batch_alter_table("studio") as studio:
        studio.drop_constraint(op.f("ck_studio_hourly_target"), type_="check")
        studio.alter_column("hourly_target", existing_type=sa.BigInteger(), nullable=False)
        studio.create_check_constraint(op.f("ck_studio_hourly_target"), "hourly_target >= 0")
    history_rows.rewrite(op.get_bind(), "quote", history_rows.without("taught_by"))
    history_rows.rewrite(op.get_bind(), "studio", _with_target)


def _with_target(row: dict[str, Any]) -> dict[str, Any]:
    return row if row["hourly_target"] is not None else row | {"hourly_target": "30"}
