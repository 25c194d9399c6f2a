"""How the studio works, and its days off."""

from datetime import date
from decimal import Decimal

from sqlalchemy import CheckConstraint, String
from sqlalchemy.orm import Mapped, mapped_column

from burnplan.ledger.models.record import Record
from burnplan.ledger.types import one_of


def _hours_check(day: str) -> CheckConstraint:
    return CheckConstraint(f"hours_{day} between 0 and 24", name=f"hours_{day}")


class Studio(Record):
    """How this studio works; one row."""

    __tablename__ = "studio"
    __table_args__ = (
        CheckConstraint("id = 1", name="single_row"),
        CheckConstraint("hourly_target is null or hourly_target >= 0", name="hourly_target"),
        # Money counts ten-thousandths, so these say 0 to 100 per cent.
        CheckConstraint("tax_percent between 0 and 1000000", name="tax_percent"),
        CheckConstraint("deposit_percent between 0 and 1000000", name="deposit_percent"),
        *(_hours_check(day) for day in ("mon", "tue", "wed", "thu", "fri", "sat", "sun")),
        CheckConstraint("burning_hours > 0 and burning_hours <= 24", name="burning_hours"),
        CheckConstraint("drying_days between 0 and 365", name="drying_days"),
        CheckConstraint("delivery_days between 0 and 365", name="delivery_days"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(200))
    address: Mapped[str] = mapped_column(default="")
    pay_to: Mapped[str] = mapped_column(default="")
    units: Mapped[str] = mapped_column(one_of("units", "metric", "imperial"))
    currency: Mapped[str] = mapped_column(String(3))
    locale: Mapped[str] = mapped_column(String(20))
    paper: Mapped[str] = mapped_column(one_of("paper", "a4", "a3", "letter", "tabloid"))
    drawing_hand: Mapped[str] = mapped_column(one_of("drawing_hand", "right", "left"))
    # The colour of lines to trace, and whether they lie over the faint photo.
    ink: Mapped[str] = mapped_column(one_of("ink", "blue", "red", "grey"), default="blue")
    over_photo: Mapped[bool] = mapped_column(default=False)
    # What an hour should earn; prices stay open until it is said.
    hourly_target: Mapped[Decimal | None]
    tax_percent: Mapped[Decimal]
    deposit_percent: Mapped[Decimal]
    hours_mon: Mapped[float]
    hours_tue: Mapped[float]
    hours_wed: Mapped[float]
    hours_thu: Mapped[float]
    hours_fri: Mapped[float]
    hours_sat: Mapped[float]
    hours_sun: Mapped[float]
    # Most hours of burning in a day; 24 is no limit.
    burning_hours: Mapped[float] = mapped_column(default=24.0)
    # Country or part of one, ISO 3166 (DE, DE-BY); empty to work on public holidays.
    holidays: Mapped[str] = mapped_column(String(12), default="")
    # Days that pass after the last hour of work.
    drying_days: Mapped[int] = mapped_column(default=1)
    delivery_days: Mapped[int] = mapped_column(default=0)
    # How much is drawn of a photo's lines where a plan does not say.
    line: Mapped[str] = mapped_column(one_of("line", "calm", "usual", "fine"), default="usual")
    # The studio's mark on what clients read: the SHA-256 of an image kept; empty for none.
    mark: Mapped[str] = mapped_column(String(64), default="")


class DayOff(Record):
    """Days without work, first and last included."""

    __tablename__ = "day_off"
    __table_args__ = (
        CheckConstraint("ends_on >= starts_on", name="order"),
        CheckConstraint("reason <> ''", name="with_reason"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    starts_on: Mapped[date]
    ends_on: Mapped[date] = mapped_column(index=True)
    reason: Mapped[str] = mapped_column(String(200))
