"""What a session's time is kept in is called an interval; the history names it so too."""

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    move("spell", "session_interval")


def downgrade() -> None:
    move("session_interval", "spell")


def move(old: str, new: str) -> None:
    op.create_table(
        new,
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("session_id", sa.Integer(), nullable=False),
        sa.Column("started_at", sa.DateTime(), nullable=False),
        sa.Column("ended_at", sa.DateTime(), nullable=True),
        sa.Column("running", sa.Integer(), nullable=True),
        sa.CheckConstraint(
            "ended_at is null or ended_at >= started_at", name=op.f(f"ck_{new}_order")
        ),
        sa.CheckConstraint(
            "(ended_at is null) = (running is not null)", name=op.f(f"ck_{new}_running")
        ),
        sa.CheckConstraint("running is null or running = 1", name=op.f(f"ck_{new}_running_mark")),
        sa.ForeignKeyConstraint(
            ["session_id"], ["burn_session.id"],
            name=op.f(f"fk_{new}_session_id"), ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{new}")),
        sa.UniqueConstraint("running", name=op.f(f"uq_{new}_running")),
    )  # fmt: skip
    op.create_index(op.f(f"ix_{new}_session_id"), new, ["session_id"])
    op.create_index(op.f(f"ix_{new}_ended_at"), new, ["ended_at"])
    names = ("id", "session_id", "started_at", "ended_at", "running")
    rows = sa.table(old, *map(sa.column, names))
    op.execute(sa.insert(sa.table(new, *map(sa.column, names))).from_select(names, sa.select(rows)))
    op.drop_table(old)

    # What was done before can still be undone.
    history = sa.table("history", sa.column("id"), sa.column("changes", sa.JSON()))
    named = sa.cast(history.c.changes, sa.String()).contains(f'"{old}"', autoescape=True)
    book = op.get_bind()
    for entry in book.execute(sa.select(history).where(named)).all():
        changes = [
            {**change, "table": new if change["table"] == old else change["table"]}
            for change in entry.changes
        ]
        book.execute(sa.update(history).where(history.c.id == entry.id).values(changes=changes))
