"""How much is drawn of a photo's lines is a setting of the studio."""

import sqlalchemy as sa
from alembic import op

from burnplan.ledger import history_rows
from burnplan.ledger.types import one_of

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None


def upgrade() -> None:
    line = one_of("line", "calm", "usual", "fine")
    with op.batch_alter_table("studio") as studio:
        studio.add_column(sa.Column("line", line, nullable=False, server_default="usual"))
    with op.batch_alter_table("studio") as studio:
        studio.alter_column("line", server_default=None)
    history_rows.rewrite(op.get_bind(), "studio", history_rows.having({"line": "usual"}))


def downgrade() -> None:
    with op.batch_alter_table("studio") as studio:
        studio.drop_constraint(op.f("ck_studio_line"), type_="check")
        studio.drop_column("line")
    history_rows.rewrite(op.get_bind(), "studio", history_rows.without("line"))
