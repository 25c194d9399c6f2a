"""What was agreed to be owed for a job dropped, what was written off, what money is open."""

import sqlalchemy as sa
from alembic import op

from burnplan.ledger import history_rows
from burnplan.ledger.types import Money, one_of

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None

FACTS = ("drop_terms", "drop_amount", "written_off_on", "write_off_reason")
CHECKS = {
    "drop_terms_amount": "(drop_terms is null) = (drop_amount is null)",
    "drop_terms_of_drop": "drop_terms is null or dropped_on is not null",
    "drop_amount": "drop_amount is null or drop_amount = 0"
    " or (drop_amount > 0 and drop_terms <> 'nothing')",
    "written_off_with_reason": "(written_off_on is null) = (write_off_reason is null)",
    "written_off_closed": "written_off_on is null or dropped_on is not null"
    " or delivered_on is not null",
}
UNSETTLED = sa.column("unsettled", sa.Boolean()).is_(True)
# Of those delivered, where less came in than the quote that holds comes to.
OWED = """
    coalesce((
        select total from quote where quote.commission_id = commission.id
        order by case when accepted_on is null then 1 else 0 end, version desc limit 1
    ), 0) > coalesce((
        select sum(amount) from payment where payment.commission_id = commission.id
    ), 0)
"""


def upgrade() -> None:
    with op.batch_alter_table("commission") as commission:
        commission.add_column(
            sa.Column("drop_terms", one_of("drop_terms", "nothing", "deposit", "work"))
        )
        commission.add_column(sa.Column("drop_amount", Money()))
        commission.add_column(sa.Column("written_off_on", sa.Date()))
        commission.add_column(sa.Column("write_off_reason", sa.String()))
        commission.add_column(
            sa.Column("unsettled", sa.Boolean(), nullable=False, server_default=sa.false())
        )
        for name, condition in CHECKS.items():
            commission.create_check_constraint(op.f(f"ck_commission_{name}"), condition)
    with op.batch_alter_table("commission") as commission:
        commission.alter_column("unsettled", server_default=None)
        commission.create_index(
            op.f("ix_commission_unsettled"),
            ["unsettled"],
            sqlite_where=UNSETTLED,
            postgresql_where=UNSETTLED,
        )
    jobs = sa.table("commission", sa.column("unsettled"), sa.column("delivered_on"))
    op.get_bind().execute(
        sa.update(jobs)
        .where(jobs.c.delivered_on.is_not(None), sa.text(OWED))
        .values(unsettled=sa.true())
    )
    history_rows.rewrite(op.get_bind(), "commission", history_rows.having(dict.fromkeys(FACTS)))


def downgrade() -> None:
    with op.batch_alter_table("commission") as commission:
        commission.drop_index(op.f("ix_commission_unsettled"))
    with op.batch_alter_table("commission") as commission:
        for name in CHECKS:
            commission.drop_constraint(op.f(f"ck_commission_{name}"), type_="check")
        commission.drop_constraint(op.f("ck_commission_drop_terms"), type_="check")
        for name in (*FACTS, "unsettled"):
            commission.drop_column(name)
    history_rows.rewrite(op.get_bind(), "commission", history_rows.without(*FACTS))
