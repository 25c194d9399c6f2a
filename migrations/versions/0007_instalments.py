"""Quotes with parts that fall due along the way."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "quote_instalment",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("quote_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column(
            "milestone",
            sa.Enum(
                "prepared", "transferred", "burned",
                name="milestone", native_enum=False, create_constraint=True, length=16,
            ),
            nullable=False,
        ),
        sa.Column("amount", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("amount >= 0", name=op.f("ck_quote_instalment_amount")),
        sa.ForeignKeyConstraint(
            ["quote_id"], ["quote.id"],
            name=op.f("fk_quote_instalment_quote_id"), ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_quote_instalment")),
        sa.UniqueConstraint(
            "quote_id", "position", name=op.f("uq_quote_instalment_quote_id_position")
        ),
    )  # fmt: skip


def downgrade() -> None:
    op.drop_table("quote_instalment")
