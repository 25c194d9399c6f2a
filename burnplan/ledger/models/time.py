"""Hours at the bench: spent, meant to be, and of jobs before."""

from datetime import date, datetime
from decimal import Decimal

from sqlalchemy import CheckConstraint, ForeignKey, String
from sqlalchemy.orm import Mapped, mapped_column, relationship

from burnplan.ledger.models.jobs import Commission, SpoiledPiece
from burnplan.ledger.models.record import OUTLINES, Record, index_some
from burnplan.ledger.types import STAGES_OF_WORK, one_of


class BurnSession(Record):
    """A sitting at the bench; its time is in its intervals."""

    __tablename__ = "burn_session"
    __table_args__ = (
        CheckConstraint(
            "(replaced_by_id is null) = (replace_reason is null)", name="replaced_with_reason"
        ),
        CheckConstraint("replaced_by_id is null or replaced_by_id > id", name="replaced_by_newer"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    commission_id: Mapped[int] = mapped_column(ForeignKey("commission.id"), index=True)
    work: Mapped[str] = mapped_column(one_of("work", *STAGES_OF_WORK))
    zone: Mapped[int | None]
    tip: Mapped[str] = mapped_column(String(80), default="")
    heat: Mapped[str] = mapped_column(String(40), default="")
    note: Mapped[str] = mapped_column(default="")
    closed: Mapped[bool] = mapped_column(default=False)
    # Why its hours are not to teach the pace (a clock left running); None if they are.
    set_aside: Mapped[str | None]
    # The entry that corrects this one, and why; None while it counts.
    replaced_by_id: Mapped[int | None] = mapped_column(ForeignKey("burn_session.id"))
    replace_reason: Mapped[str | None]
    # The spoiled piece that it was on; None for the piece as it is.
    spoiled_id: Mapped[int | None] = mapped_column(ForeignKey("spoiled_piece.id"))

    commission: Mapped[Commission] = relationship(back_populates="sessions")
    spoiled: Mapped[SpoiledPiece | None] = relationship(back_populates="sessions")
    intervals: Mapped[list["Interval"]] = relationship(
        back_populates="session", order_by="Interval.started_at", cascade="all, delete-orphan"
    )

    def hours(self, now: datetime) -> float:
        """Return its hours, up to now if its clock runs."""
        # A clock moved back since the start must not take hours off the others.
        lengths = ((one.ended_at or now) - one.started_at for one in self.intervals)
        return sum(max(0.0, length.total_seconds()) for length in lengths) / 3600

    def newest_interval(self) -> "Interval":
        """Return the one that is open, else the one that began last."""
        return next((one for one in self.intervals if one.ended_at is None), self.intervals[-1])


# Nearly all sessions are closed and replaced by none. An index of them all would be taken
# for the best way to those that count, before the one by commission.
index_some(BurnSession.replaced_by_id, BurnSession.replaced_by_id.is_not(None), unique=True)
index_some(BurnSession.closed, BurnSession.closed.is_(False))
index_some(BurnSession.spoiled_id, BurnSession.spoiled_id.is_not(None))


class Interval(Record):
    """A part of a session without a break; open-ended while the clock runs."""

    __tablename__ = "session_interval"
    __table_args__ = (
        CheckConstraint("ended_at is null or ended_at >= started_at", name="order"),
        CheckConstraint("(ended_at is null) = (running is not null)", name="running"),
        CheckConstraint("running is null or running = 1", name="running_mark"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    session_id: Mapped[int] = mapped_column(
        ForeignKey("burn_session.id", ondelete="CASCADE"), index=True
    )
    started_at: Mapped[datetime]
    ended_at: Mapped[datetime | None] = mapped_column(index=True)
    # 1 while running, else null: unique, so that the book has one running clock.
    running: Mapped[int | None] = mapped_column(unique=True)

    session: Mapped[BurnSession] = relationship(back_populates="intervals")


class PastJob(Record):
    """A job done before burnplan, or elsewhere: only what is known of it as a whole.

    Empty grades and null numbers are unknown. Grades are 0 to 1, or ``eye:3``. A total of
    hours ``covers`` the whole piece, or the stages named; ``covered`` is the share of the
    face that is burned, all of it where it is empty.
    """

    __tablename__ = "past_job"
    __table_args__ = (
        CheckConstraint("title <> ''", name="titled"),
        CheckConstraint("width_mm > 0 and height_mm > 0", name="size"),
        CheckConstraint("line_cm is null or line_cm >= 0", name="line"),
        CheckConstraint(
            "coalesce(prepare_h, 0) >= 0 and coalesce(transfer_h, 0) >= 0"
            " and coalesce(burn_h, 0) >= 0 and coalesce(finish_h, 0) >= 0",
            name="hours",
        ),
        CheckConstraint("price is null or price >= 0", name="price"),
        CheckConstraint("total_h is null or total_h > 0", name="total"),
        CheckConstraint("covers = '' or total_h is not null", name="covers"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    title: Mapped[str] = mapped_column(String(200))
    finished_on: Mapped[date | None]
    width_mm: Mapped[float]
    height_mm: Mapped[float]
    outline: Mapped[str] = mapped_column(one_of("outline", *OUTLINES))
    species: Mapped[str] = mapped_column(String(60), default="")
    darkness: Mapped[str] = mapped_column(String(24), default="")
    texture: Mapped[str] = mapped_column(String(24), default="")
    line_cm: Mapped[float | None]
    prepare_h: Mapped[float | None]
    transfer_h: Mapped[float | None]
    burn_h: Mapped[float | None]
    finish_h: Mapped[float | None]
    price: Mapped[Decimal | None]
    total_h: Mapped[float | None]
    covers: Mapped[str] = mapped_column(String(40), default="")
    covered: Mapped[str] = mapped_column(String(24), default="")
    # Why its hours are not to teach the pace; None if they are.
    set_aside: Mapped[str | None]


class PlannedSession(Record):
    """A sitting at the bench that is meant to be; breaks come on top of its minutes."""

    __tablename__ = "planned_session"
    __table_args__ = (
        CheckConstraint("minutes between 1 and 1440", name="minutes"),
        CheckConstraint("break_minutes between 0 and 1440", name="break_minutes"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    commission_id: Mapped[int] = mapped_column(ForeignKey("commission.id"), index=True)
    work: Mapped[str] = mapped_column(one_of("work", *STAGES_OF_WORK))
    starts_at: Mapped[datetime] = mapped_column(index=True)
    minutes: Mapped[int]
    break_minutes: Mapped[int] = mapped_column(default=0)
    note: Mapped[str] = mapped_column(default="")
    # Names it in calendar files, whatever becomes of its number.
    uid: Mapped[str] = mapped_column(String(36), unique=True)

    commission: Mapped[Commission] = relationship()
