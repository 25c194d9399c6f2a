"""Each entry of the history says who did it; for what was done before, nobody is named."""

import sqlalchemy as sa
from alembic import op

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("history") as history:
        history.add_column(sa.Column("author", sa.String(60), nullable=False, server_default=""))
    with op.batch_alter_table("history") as history:
        history.alter_column("author", server_default=None)


def downgrade() -> None:
    with op.batch_alter_table("history") as history:
        history.drop_column("author")
