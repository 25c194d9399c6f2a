"""A quote says which size and wood it was reckoned for; older ones do not know."""

import sqlalchemy as sa
from alembic import op

from burnplan.ledger import history_rows

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None

COLUMNS = ("width_mm", "height_mm", "species")


def upgrade() -> None:
    with op.batch_alter_table("quote") as quote:
        quote.add_column(sa.Column("width_mm", sa.Double(), nullable=True))
        quote.add_column(sa.Column("height_mm", sa.Double(), nullable=True))
        quote.add_column(sa.Column("species", sa.String(length=60), nullable=True))
    history_rows.rewrite(op.get_bind(), "quote", history_rows.having(dict.fromkeys(COLUMNS)))


def downgrade() -> None:
    with op.batch_alter_table("quote") as quote:
        for name in COLUMNS:
            quote.drop_column(name)
    history_rows.rewrite(op.get_bind(), "quote", history_rows.without(*COLUMNS))
