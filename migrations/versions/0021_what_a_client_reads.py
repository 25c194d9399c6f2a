"""Sizes put to a client side by side with a quote; a client's language; the studio's mark."""

from typing import Any

import sqlalchemy as sa
from alembic import op

from burnplan.ledger import history_rows
from burnplan.ledger.types import Money, one_of

revision = "0021"
down_revision = "0020"
branch_labels = None
depends_on = None

ADDED: dict[str, dict[str, Any]] = {
    "studio": {"mark": ""},
    "client": {"language": ""},
    "quote": {"ready_on": None, "certainty": None},
}


def upgrade() -> None:
    for table, column, length in (("studio", "mark", 64), ("client", "language", 20)):
        with op.batch_alter_table(table) as changed:
            changed.add_column(
                sa.Column(column, sa.String(length), nullable=False, server_default="")
            )
        with op.batch_alter_table(table) as changed:
            changed.alter_column(column, server_default=None)
    with op.batch_alter_table("quote") as quote:
        quote.add_column(sa.Column("ready_on", sa.Date(), nullable=True))
        quote.add_column(sa.Column("certainty", sa.Double(), nullable=True))
        quote.create_check_constraint(
            op.f("ck_quote_ready_with_certainty"), "(ready_on is null) = (certainty is null)"
        )
        quote.create_check_constraint(
            op.f("ck_quote_certainty"), "certainty is null or (certainty > 0 and certainty < 1)"
        )
    op.create_table(
        "quote_choice",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("quote_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column(
            "outline", one_of("outline", "rectangle", "round", "oval", "live-edge"), nullable=False
        ),
        sa.Column("width_mm", sa.Double(), nullable=False),
        sa.Column("height_mm", sa.Double(), nullable=False),
        sa.Column("points", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("total", Money(), nullable=False),
        sa.Column("tax", Money(), nullable=False),
        sa.Column("deposit", Money(), nullable=False),
        sa.Column("hours_p50", sa.Double(), nullable=False),
        sa.Column("hours_p80", sa.Double(), nullable=False),
        sa.Column("hours_paid", sa.Double(), nullable=False),
        sa.Column("ready_on", sa.Date(), nullable=True),
        sa.Column("lines", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("instalments", sa.JSON(none_as_null=True), nullable=False),
        sa.CheckConstraint("width_mm > 0 and height_mm > 0", name=op.f("ck_quote_choice_size")),
        sa.CheckConstraint(
            "total >= 0 and tax >= 0 and deposit >= 0", name=op.f("ck_quote_choice_amounts")
        ),
        sa.CheckConstraint("deposit <= total", name=op.f("ck_quote_choice_deposit")),
        sa.ForeignKeyConstraint(
            ["quote_id"], ["quote.id"], name=op.f("fk_quote_choice_quote_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_quote_choice")),
        sa.UniqueConstraint("quote_id", "position", name=op.f("uq_quote_choice_quote_id_position")),
    )
    for table, facts in ADDED.items():
        history_rows.rewrite(op.get_bind(), table, history_rows.having(facts))


def downgrade() -> None:
    """Leave each quote as it was accepted; what else was put beside it is gone."""
    op.drop_table("quote_choice")
    with op.batch_alter_table("quote") as quote:
        quote.drop_constraint(op.f("ck_quote_ready_with_certainty"), type_="check")
        quote.drop_constraint(op.f("ck_quote_certainty"), type_="check")
        quote.drop_column("ready_on")
        quote.drop_column("certainty")
    with op.batch_alter_table("client") as client:
        client.drop_column("language")
    with op.batch_alter_table("studio") as studio:
        studio.drop_column("mark")
    for table, facts in ADDED.items():
        history_rows.rewrite(op.get_bind(), table, history_rows.without(*facts))
