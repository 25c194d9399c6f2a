"""The colour of lines on trace sheets, and whether they lie over the photo, are settings."""

import sqlalchemy as sa
from alembic import op

from burnplan.ledger import history_rows
from burnplan.ledger.types import one_of

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None

BEFORE = {"ink": "blue", "over_photo": False}


def upgrade() -> None:
    ink = one_of("ink", "blue", "red", "grey")
    with op.batch_alter_table("studio") as studio:
        studio.add_column(sa.Column("ink", ink, nullable=False, server_default="blue"))
        studio.add_column(
            sa.Column("over_photo", sa.Boolean(), nullable=False, server_default=sa.false())
        )
    with op.batch_alter_table("studio") as studio:
        for name in BEFORE:
            studio.alter_column(name, server_default=None)
    history_rows.rewrite(op.get_bind(), "studio", history_rows.having(BEFORE))


def downgrade() -> None:
    with op.batch_alter_table("studio") as studio:
        studio.drop_constraint(op.f("ck_studio_ink"), type_="check")
        for name in BEFORE:
            studio.drop_column(name)
    history_rows.rewrite(op.get_bind(), "studio", history_rows.without(*BEFORE))
