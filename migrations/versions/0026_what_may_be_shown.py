"""Whether a piece may be shown to others, as its client said; photos chosen to show it."""

import sqlalchemy as sa
from alembic import op

from burnplan.ledger import history_rows
from burnplan.ledger.types import one_of

revision = "0026"
down_revision = "0025"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "consent",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("commission_id", sa.Integer(), nullable=False),
        sa.Column("answer", one_of("answer", "yes", "no"), nullable=False),
        sa.Column("said_by", sa.String(length=200), nullable=False),
        sa.Column("said_on", sa.Date(), nullable=False),
        sa.Column("how", sa.String(length=200), nullable=False),
        sa.Column("with_name", sa.Boolean(), nullable=False),
        sa.Column("shown_as", sa.String(length=200), nullable=False),
        sa.CheckConstraint("said_by <> ''", name=op.f("ck_consent_said_by")),
        sa.CheckConstraint("answer = 'yes' or not with_name", name=op.f("ck_consent_with_name")),
        sa.ForeignKeyConstraint(
            ["commission_id"], ["commission.id"], name=op.f("fk_consent_commission_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_consent")),
        sa.UniqueConstraint("commission_id", name=op.f("uq_consent_commission_id")),
    )
    with op.batch_alter_table("progress_photo") as photo:
        photo.add_column(
            sa.Column("chosen", sa.Boolean(), nullable=False, server_default=sa.false())
        )
    with op.batch_alter_table("progress_photo") as photo:
        photo.alter_column("chosen", server_default=None)
    history_rows.rewrite(op.get_bind(), "progress_photo", history_rows.having({"chosen": False}))


def downgrade() -> None:
    """Leave the photos; what clients said of showing their pieces is gone."""
    op.drop_table("consent")
    with op.batch_alter_table("progress_photo") as photo:
        photo.drop_column("chosen")
    history_rows.rewrite(
        op.get_bind(),
        "progress_photo",
        history_rows.without("chosen"),
    )
