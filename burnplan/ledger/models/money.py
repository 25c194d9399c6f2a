"""Quotes, and what came in."""

from datetime import date
from decimal import Decimal
from typing import Any

from sqlalchemy import CheckConstraint, ForeignKey, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from burnplan.ledger.models.jobs import Commission
from burnplan.ledger.models.record import OUTLINES, Record
from burnplan.ledger.types import MILESTONES, one_of


class Quote(Record):
    """A price put to a client; never edited, a new version replaces it."""

    __tablename__ = "quote"
    __table_args__ = (
        UniqueConstraint("commission_id", "version"),
        CheckConstraint("total >= 0 and tax >= 0 and deposit >= 0", name="amounts"),
        CheckConstraint("deposit <= total", name="deposit"),
        CheckConstraint("valid_until >= issued_on", name="validity"),
        CheckConstraint("accepted_on is null or accepted_on >= issued_on", name="acceptance"),
        CheckConstraint("(ready_on is null) = (certainty is null)", name="ready_with_certainty"),
        CheckConstraint("certainty is null or (certainty > 0 and certainty < 1)", name="certainty"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    commission_id: Mapped[int] = mapped_column(ForeignKey("commission.id"), index=True)
    version: Mapped[int]
    issued_on: Mapped[date]
    valid_until: Mapped[date]
    currency: Mapped[str] = mapped_column(String(3))
    total: Mapped[Decimal]
    tax: Mapped[Decimal]
    deposit: Mapped[Decimal]
    hours_p50: Mapped[float]
    hours_p80: Mapped[float]
    hours_paid: Mapped[float]
    note: Mapped[str] = mapped_column(default="")
    accepted_on: Mapped[date | None]
    # What it was reckoned for; None if that was not said.
    width_mm: Mapped[float | None]
    height_mm: Mapped[float | None]
    species: Mapped[str | None] = mapped_column(String(60))
    # From how many jobs the pace was known that its hours are forecast by; None if that was
    # not said, or the hours were judged.
    taught_by: Mapped[int | None]
    # The date that was put to the client with it, and how sure it was then.
    ready_on: Mapped[date | None]
    certainty: Mapped[float | None]

    commission: Mapped[Commission] = relationship(back_populates="quotes")
    lines: Mapped[list["QuoteLine"]] = relationship(
        back_populates="quote", order_by="QuoteLine.position", cascade="all, delete-orphan"
    )
    instalments: Mapped[list["QuoteInstalment"]] = relationship(
        back_populates="quote", order_by="QuoteInstalment.position", cascade="all, delete-orphan"
    )
    choices: Mapped[list["QuoteChoice"]] = relationship(
        back_populates="quote", order_by="QuoteChoice.position", cascade="all, delete-orphan"
    )


class QuoteLine(Record):
    """A line of a quote; the lines add up to its total."""

    __tablename__ = "quote_line"
    __table_args__ = (UniqueConstraint("quote_id", "position"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    quote_id: Mapped[int] = mapped_column(ForeignKey("quote.id", ondelete="CASCADE"))
    position: Mapped[int]
    kind: Mapped[str] = mapped_column(String(20))
    label: Mapped[str] = mapped_column(String(200))
    amount: Mapped[Decimal]

    quote: Mapped[Quote] = relationship(back_populates="lines")


class QuoteInstalment(Record):
    """A part of a quote that falls due along the way; the rest after it is the balance."""

    __tablename__ = "quote_instalment"
    __table_args__ = (
        UniqueConstraint("quote_id", "position"),
        CheckConstraint("amount >= 0", name="amount"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    quote_id: Mapped[int] = mapped_column(ForeignKey("quote.id", ondelete="CASCADE"))
    position: Mapped[int]
    milestone: Mapped[str] = mapped_column(one_of("milestone", *MILESTONES))
    amount: Mapped[Decimal]

    quote: Mapped[Quote] = relationship(back_populates="instalments")


class QuoteChoice(Record):
    """Another size put to the client beside a quote, as it was shown: it can be accepted instead.

    ``lines`` are kind, label and amount, ``instalments`` milestone and amount, amounts as text.
    """

    __tablename__ = "quote_choice"
    __table_args__ = (
        UniqueConstraint("quote_id", "position"),
        CheckConstraint("width_mm > 0 and height_mm > 0", name="size"),
        CheckConstraint("total >= 0 and tax >= 0 and deposit >= 0", name="amounts"),
        CheckConstraint("deposit <= total", name="deposit"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    quote_id: Mapped[int] = mapped_column(ForeignKey("quote.id", ondelete="CASCADE"))
    position: Mapped[int]
    outline: Mapped[str] = mapped_column(one_of("outline", *OUTLINES))
    width_mm: Mapped[float]
    height_mm: Mapped[float]
    points: Mapped[list[Any] | None]
    total: Mapped[Decimal]
    tax: Mapped[Decimal]
    deposit: Mapped[Decimal]
    hours_p50: Mapped[float]
    hours_p80: Mapped[float]
    hours_paid: Mapped[float]
    ready_on: Mapped[date | None]
    lines: Mapped[list[Any]]
    instalments: Mapped[list[Any]]

    quote: Mapped[Quote] = relationship(back_populates="choices")


class Payment(Record):
    """Money received, or given back (below zero); corrected by a further row."""

    __tablename__ = "payment"
    __table_args__ = (
        CheckConstraint("amount <> 0", name="not_nothing"),
        CheckConstraint("(kind = 'refund') = (amount < 0)", name="refund_below_zero"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    commission_id: Mapped[int] = mapped_column(ForeignKey("commission.id"), index=True)
    kind: Mapped[str] = mapped_column(one_of("kind", "deposit", "payment", "refund"))
    amount: Mapped[Decimal]
    currency: Mapped[str] = mapped_column(String(3))
    paid_on: Mapped[date] = mapped_column(index=True)
    method: Mapped[str] = mapped_column(String(60), default="")
    note: Mapped[str] = mapped_column(default="")

    commission: Mapped[Commission] = relationship(back_populates="payments")
