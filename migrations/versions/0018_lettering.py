"""Words to burn on a piece."""

import sqlalchemy as sa
from alembic import op

revision = "0018"
down_revision = "0017"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "lettering",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("commission_id", sa.Integer(), nullable=False),
        sa.Column("text", sa.String(), nullable=False),
        sa.Column("face", sa.String(length=40), nullable=False),
        sa.Column("font_sha256", sa.String(length=64), nullable=True),
        sa.Column("height_mm", sa.Double(), nullable=False),
        sa.Column("at", _one_of("at", "top", "middle", "bottom"), nullable=False),
        sa.Column("x_mm", sa.Double(), nullable=True),
        sa.Column("y_mm", sa.Double(), nullable=True),
        sa.Column("course", _one_of("course", "straight", "arc", "edge"), nullable=False),
        sa.Column("radius_mm", sa.Double(), nullable=True),
        sa.Column("filled", sa.Boolean(), nullable=False),
        sa.Column("darkness", sa.Double(), nullable=False),
        sa.Column("clear_mm", sa.Double(), nullable=False),
        sa.CheckConstraint("text <> ''", name=op.f("ck_lettering_says_something")),
        sa.CheckConstraint(
            "(face = '') = (font_sha256 is not null)", name=op.f("ck_lettering_one_typeface")
        ),
        sa.CheckConstraint("height_mm between 2 and 500", name=op.f("ck_lettering_height")),
        sa.CheckConstraint("(x_mm is null) = (y_mm is null)", name=op.f("ck_lettering_middle")),
        sa.CheckConstraint("radius_mm > 0", name=op.f("ck_lettering_radius")),
        sa.CheckConstraint("darkness > 0 and darkness <= 1", name=op.f("ck_lettering_darkness")),
        sa.CheckConstraint("clear_mm between 0 and 100", name=op.f("ck_lettering_clear")),
        sa.ForeignKeyConstraint(
            ["commission_id"], ["commission.id"], name=op.f("fk_lettering_commission_id")
        ),
        sa.ForeignKeyConstraint(
            ["font_sha256"], ["original.sha256"], name=op.f("fk_lettering_font_sha256")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_lettering")),
    )
    op.create_index(op.f("ix_lettering_commission_id"), "lettering", ["commission_id"])


def downgrade() -> None:
    """Forget the words; the plans made with them stay as they are."""
    op.drop_table("lettering")


def _one_of(column: str, *names: str) -> sa.Enum:
    return sa.Enum(*names, native_enum=False, create_constraint=True, length=16, name=column)
