"""A blank knows its bark and how light it is, and its photo where its outline is seen."""

import sqlalchemy as sa
from alembic import op

from burnplan.ledger import history_rows

revision = "0019"
down_revision = "0018"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("blank") as blank:
        blank.add_column(sa.Column("bark_mm", sa.Double(), nullable=True))
        blank.add_column(sa.Column("bare", sa.Double(), nullable=True))
        blank.create_check_constraint(op.f("ck_blank_bark_mm"), "bark_mm is null or bark_mm >= 0")
        blank.create_check_constraint(
            op.f("ck_blank_bare"), "bare is null or bare between 0 and 100"
        )
    with op.batch_alter_table("blank_photo") as photo:
        photo.add_column(sa.Column("view", sa.JSON(), nullable=True))
    history_rows.rewrite(
        op.get_bind(), "blank", history_rows.having({"bark_mm": None, "bare": None})
    )
    history_rows.rewrite(op.get_bind(), "blank_photo", history_rows.having({"view": None}))


def downgrade() -> None:
    with op.batch_alter_table("blank_photo") as photo:
        photo.drop_column("view")
    with op.batch_alter_table("blank") as blank:
        blank.drop_constraint(op.f("ck_blank_bare"), type_="check")
        blank.drop_constraint(op.f("ck_blank_bark_mm"), type_="check")
        blank.drop_column("bare")
        blank.drop_column("bark_mm")
    history_rows.rewrite(op.get_bind(), "blank", history_rows.without("bark_mm", "bare"))
    history_rows.rewrite(op.get_bind(), "blank_photo", history_rows.without("view"))
