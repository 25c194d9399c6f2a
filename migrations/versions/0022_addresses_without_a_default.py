"""The studio's address and account have no default: books of before the first release had one."""

from alembic import op

revision = "0022"
down_revision = "0021"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("studio") as studio:
        for name in ("address", "pay_to"):
            studio.alter_column(name, server_default=None)


def downgrade() -> None:
    """Nothing to do: without a default it was of that form too."""
