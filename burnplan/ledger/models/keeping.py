"""Photos and fonts as they came, and what was done."""

from datetime import datetime
from typing import Any

from sqlalchemy import CheckConstraint, ForeignKey, String
from sqlalchemy.orm import Mapped, mapped_column

from burnplan.ledger.models.record import Record


class Original(Record):
    """A photo, or a font, kept as it came, named by the SHA-256 of its bytes.

    A font has no pixels. ``taken_by`` is who took a photo, ``allowed`` how they allowed its
    use; empty while that is not known.
    """

    __tablename__ = "original"
    __table_args__ = (CheckConstraint("length(sha256) = 64", name="sha256"),)

    sha256: Mapped[str] = mapped_column(String(64), primary_key=True)
    filename: Mapped[str] = mapped_column(String(255))
    bytes: Mapped[int]
    width_px: Mapped[int]
    height_px: Mapped[int]
    added_at: Mapped[datetime]
    taken_by: Mapped[str] = mapped_column(String(120), default="")
    allowed: Mapped[str] = mapped_column(String(200), default="")


class History(Record):
    """What was done, when, and every row before and after."""

    __tablename__ = "history"

    id: Mapped[int] = mapped_column(primary_key=True)
    at: Mapped[datetime]
    action: Mapped[str] = mapped_column(String(60))
    summary: Mapped[str] = mapped_column(String(300))
    commission_id: Mapped[int | None] = mapped_column(index=True)
    changes: Mapped[list[Any]]
    # The entry that this one takes back: an action, an undo (then it is a redo), or a redo.
    undoes_id: Mapped[int | None] = mapped_column(ForeignKey("history.id"), unique=True)
    # Who did it; empty where nobody was named, as before there were names.
    author: Mapped[str] = mapped_column(String(60), default="")
