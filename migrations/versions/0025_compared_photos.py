"""A comparison with the plan, kept with its photo."""

import sqlalchemy as sa
from alembic import op

from burnplan.ledger import history_rows

revision = "0025"
down_revision = "0024"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("progress_photo") as photo:
        photo.add_column(sa.Column("comparison", sa.JSON(none_as_null=True), nullable=True))
    history_rows.rewrite(op.get_bind(), "progress_photo", history_rows.having({"comparison": None}))


def downgrade() -> None:
    """Leave the photos; what comparing them came to is gone."""
    with op.batch_alter_table("progress_photo") as photo:
        photo.drop_column("comparison")
    history_rows.rewrite(
        op.get_bind(),
        "progress_photo",
        history_rows.without("comparison"),
    )
