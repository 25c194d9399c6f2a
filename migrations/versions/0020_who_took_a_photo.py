"""Who took a photo, and how they allowed its use."""

import sqlalchemy as sa
from alembic import op

from burnplan.ledger import history_rows

revision = "0020"
down_revision = "0019"
branch_labels = None
depends_on = None

COLUMNS = {"taken_by": 120, "allowed": 200}


def upgrade() -> None:
    with op.batch_alter_table("original") as original:
        for name, length in COLUMNS.items():
            column = sa.Column(name, sa.String(length=length), nullable=False, server_default="")
            original.add_column(column)
    with op.batch_alter_table("original") as original:
        for name in COLUMNS:
            original.alter_column(name, server_default=None)
    history_rows.rewrite(op.get_bind(), "original", history_rows.having(dict.fromkeys(COLUMNS, "")))


def downgrade() -> None:
    with op.batch_alter_table("original") as original:
        for name in COLUMNS:
            original.drop_column(name)
    history_rows.rewrite(op.get_bind(), "original", history_rows.without(*COLUMNS))
