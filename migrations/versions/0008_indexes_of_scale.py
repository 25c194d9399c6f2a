"""Indexes for a book of thirty years."""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None

REPLACED = sa.column("replaced_by_id", sa.Integer()).is_not(None)
OPEN = sa.column("closed", sa.Boolean()).is_(False)


def upgrade() -> None:
    with op.batch_alter_table("burn_session") as batch:
        batch.drop_constraint(op.f("uq_burn_session_replaced_by_id"), type_="unique")
    op.create_index(
        op.f("ix_burn_session_replaced_by_id"), "burn_session", ["replaced_by_id"],
        unique=True, sqlite_where=REPLACED, postgresql_where=REPLACED,
    )  # fmt: skip
    op.create_index(
        op.f("ix_burn_session_closed"), "burn_session", ["closed"],
        sqlite_where=OPEN, postgresql_where=OPEN,
    )  # fmt: skip
    op.create_index(op.f("ix_spell_ended_at"), "spell", ["ended_at"])
    op.create_index(op.f("ix_payment_paid_on"), "payment", ["paid_on"])
    op.create_index(op.f("ix_progress_photo_taken_on"), "progress_photo", ["taken_on"])


def downgrade() -> None:
    op.drop_index(op.f("ix_progress_photo_taken_on"), "progress_photo")
    op.drop_index(op.f("ix_payment_paid_on"), "payment")
    op.drop_index(op.f("ix_spell_ended_at"), "spell")
    op.drop_index(op.f("ix_burn_session_closed"), "burn_session")
    op.drop_index(op.f("ix_burn_session_replaced_by_id"), "burn_session")
    with op.batch_alter_table("burn_session") as batch:
        batch.create_unique_constraint(op.f("uq_burn_session_replaced_by_id"), ["replaced_by_id"])
