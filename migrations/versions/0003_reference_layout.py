"""How a reference's photo is placed and its tones are set."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("reference") as batch:
        batch.add_column(sa.Column("layout", sa.JSON(), nullable=True))


def downgrade() -> None:
    with op.batch_alter_table("reference") as batch:
        batch.drop_column("layout")
