"""A photo of a blank keeps what it tells of the face: grain, knots, the sheet on it."""

import sqlalchemy as sa
from alembic import op

from burnplan.ledger import history_rows

revision = "0023"
down_revision = "0022"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("blank_photo") as photo:
        photo.add_column(sa.Column("face", sa.JSON(), nullable=True))
    history_rows.rewrite(op.get_bind(), "blank_photo", history_rows.having({"face": None}))


def downgrade() -> None:
    with op.batch_alter_table("blank_photo") as photo:
        photo.drop_column("face")
    history_rows.rewrite(
        op.get_bind(),
        "blank_photo",
        history_rows.without("face"),
    )
