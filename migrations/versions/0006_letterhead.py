"""What stands at the head and the foot of letters: address, and where to pay."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("studio") as batch:
        batch.add_column(sa.Column("address", sa.String(), nullable=False, server_default=""))
        batch.add_column(sa.Column("pay_to", sa.String(), nullable=False, server_default=""))


def downgrade() -> None:
    with op.batch_alter_table("studio") as batch:
        batch.drop_column("pay_to")
        batch.drop_column("address")
