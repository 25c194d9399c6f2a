"""Several photos on one piece."""

import sqlalchemy as sa
from alembic import op

from burnplan.ledger import history_rows

revision = "0024"
down_revision = "0023"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("reference") as reference:
        reference.add_column(sa.Column("together", sa.JSON(none_as_null=True), nullable=True))
    history_rows.rewrite(op.get_bind(), "reference", history_rows.having({"together": None}))


def downgrade() -> None:
    """Leave the composed picture as the one photo; of what it was composed is gone."""
    with op.batch_alter_table("reference") as reference:
        reference.drop_column("together")
    history_rows.rewrite(
        op.get_bind(),
        "reference",
        history_rows.without("together"),
    )
