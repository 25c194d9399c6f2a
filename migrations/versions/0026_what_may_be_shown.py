"""Whether a piece may be shown to others, as its client said; photos chosen to show it."""

from collections.abc import Callable
from typing import Any

import sqlalchemy as sa
from alembic import op

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
    _rewrite(lambda row: row | {"chosen": False})


def downgrade() -> None:
    """Leave the photos; what clients said of showing their pieces is gone."""
    op.drop_table("consent")
    with op.batch_alter_table("progress_photo") as photo:
        photo.drop_column("chosen")
    _rewrite(lambda row: {name: row[name] for name in row if name != "chosen"})


def _rewrite(change: Callable[[dict[str, Any]], dict[str, Any]]) -> None:
    """Let the history hold rows of the new form: what was done before can still be undone."""
    history = sa.table("history", sa.column("id"), sa.column("changes", sa.JSON()))
    named = sa.cast(history.c.changes, sa.String()).contains('"progress_photo"', autoescape=True)
    book = op.get_bind()
    for entry in book.execute(sa.select(history).where(named)).all():
        changes = [
            {
                name: change(row)
                if name != "table" and row and one["table"] == "progress_photo"
                else row
                for name, row in one.items()
            }
            for one in entry.changes
        ]
        book.execute(sa.update(history).where(history.c.id == entry.id).values(changes=changes))
