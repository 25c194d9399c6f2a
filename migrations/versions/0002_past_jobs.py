"""Past jobs known as a whole, and sessions whose hours are not to teach."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "past_job",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("title", sa.String(length=200), nullable=False),
        sa.Column("finished_on", sa.Date(), nullable=True),
        sa.Column("width_mm", sa.Double(), nullable=False),
        sa.Column("height_mm", sa.Double(), nullable=False),
        sa.Column(
            "outline",
            sa.Enum(
                "rectangle",
                "round",
                "oval",
                "live-edge",
                name="outline",
                native_enum=False,
                create_constraint=True,
                length=16,
            ),
            nullable=False,
        ),
        sa.Column("species", sa.String(length=60), nullable=False),
        sa.Column("darkness", sa.String(length=24), nullable=False),
        sa.Column("texture", sa.String(length=24), nullable=False),
        sa.Column("line_cm", sa.Double(), nullable=True),
        sa.Column("prepare_h", sa.Double(), nullable=True),
        sa.Column("transfer_h", sa.Double(), nullable=True),
        sa.Column("burn_h", sa.Double(), nullable=True),
        sa.Column("finish_h", sa.Double(), nullable=True),
        sa.Column("price", sa.BigInteger(), nullable=True),
        sa.Column("set_aside", sa.String(), nullable=True),
        sa.CheckConstraint("title <> ''", name=op.f("ck_past_job_titled")),
        sa.CheckConstraint(
            "coalesce(prepare_h, 0) >= 0 and coalesce(transfer_h, 0) >= 0"
            " and coalesce(burn_h, 0) >= 0 and coalesce(finish_h, 0) >= 0",
            name=op.f("ck_past_job_hours"),
        ),
        sa.CheckConstraint("line_cm is null or line_cm >= 0", name=op.f("ck_past_job_line")),
        sa.CheckConstraint("price is null or price >= 0", name=op.f("ck_past_job_price")),
        sa.CheckConstraint("width_mm > 0 and height_mm > 0", name=op.f("ck_past_job_size")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_past_job")),
    )
    with op.batch_alter_table("burn_session", schema=None) as batch_op:
        batch_op.add_column(sa.Column("set_aside", sa.String(), nullable=True))


def downgrade() -> None:
    with op.batch_alter_table("burn_session", schema=None) as batch_op:
        batch_op.drop_column("set_aside")

    op.drop_table("past_job")
