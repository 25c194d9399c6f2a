"""Commissions, and what belongs to a piece."""

from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from sqlalchemy import CheckConstraint, ColumnElement, ForeignKey, Index, String, UniqueConstraint
from sqlalchemy.ext.hybrid import hybrid_property
from sqlalchemy.orm import Mapped, mapped_column, relationship

from burnplan.ledger.models.keeping import Original
from burnplan.ledger.models.record import OUTLINES, Record, index_some
from burnplan.ledger.models.wood import Blank
from burnplan.ledger.types import PHASES, one_of

if TYPE_CHECKING:
    from burnplan.ledger.models.money import Payment, Quote
    from burnplan.ledger.models.time import BurnSession


class Client(Record):
    """Somebody who orders."""

    __tablename__ = "client"
    __table_args__ = (CheckConstraint("name <> ''", name="named"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(200), unique=True)
    email: Mapped[str] = mapped_column(String(200), default="")
    phone: Mapped[str] = mapped_column(String(60), default="")
    address: Mapped[str] = mapped_column(default="")
    note: Mapped[str] = mapped_column(default="")
    added_at: Mapped[datetime]
    # What they read, CLDR; empty for the studio's own.
    language: Mapped[str] = mapped_column(String(20), default="")


class Commission(Record):
    """A piece ordered by a client, or burned for stock."""

    __tablename__ = "commission"
    __table_args__ = (
        CheckConstraint("title <> ''", name="titled"),
        CheckConstraint("(width_mm is null) = (height_mm is null)", name="both_sides"),
        CheckConstraint("(width_mm is null) = (outline is null)", name="size_with_outline"),
        CheckConstraint("width_mm is null or (width_mm > 0 and height_mm > 0)", name="size"),
        CheckConstraint("(paused_on is null) = (pause_reason is null)", name="paused_with_reason"),
        CheckConstraint("(dropped_on is null) = (drop_reason is null)", name="dropped_with_reason"),
        CheckConstraint("dropped_on is null or delivered_on is null", name="dropped_or_delivered"),
        CheckConstraint("(drop_terms is null) = (drop_amount is null)", name="drop_terms_amount"),
        CheckConstraint("drop_terms is null or dropped_on is not null", name="drop_terms_of_drop"),
        CheckConstraint(
            "drop_amount is null or drop_amount = 0"
            " or (drop_amount > 0 and drop_terms <> 'nothing')",
            name="drop_amount",
        ),
        CheckConstraint(
            "(written_off_on is null) = (write_off_reason is null)",
            name="written_off_with_reason",
        ),
        CheckConstraint(
            "written_off_on is null or dropped_on is not null or delivered_on is not null",
            name="written_off_closed",
        ),
        Index("ix_commission_open", "delivered_on", "dropped_on"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    title: Mapped[str] = mapped_column(String(200))
    client_id: Mapped[int | None] = mapped_column(ForeignKey("client.id"), index=True)
    outline: Mapped[str | None] = mapped_column(one_of("outline", *OUTLINES))
    width_mm: Mapped[float | None]
    height_mm: Mapped[float | None]
    species: Mapped[str | None] = mapped_column(String(60))
    blank_id: Mapped[int | None] = mapped_column(ForeignKey("blank.id"), unique=True)
    due_on: Mapped[date | None]
    use: Mapped[str] = mapped_column(one_of("use", "indoor", "outdoor", "food"), default="indoor")
    note: Mapped[str] = mapped_column(default="")
    added_at: Mapped[datetime]
    paused_on: Mapped[date | None]
    pause_reason: Mapped[str | None]
    dropped_on: Mapped[date | None]
    drop_reason: Mapped[str | None]
    # What was agreed to be owed when it was dropped; None where nothing is on record of it.
    drop_terms: Mapped[str | None] = mapped_column(
        one_of("drop_terms", "nothing", "deposit", "work")
    )
    drop_amount: Mapped[Decimal | None]
    delivered_on: Mapped[date | None]
    # What was still owed then is given up.
    written_off_on: Mapped[date | None]
    write_off_reason: Mapped[str | None]
    # Whether money is still open though it is closed.
    unsettled: Mapped[bool] = mapped_column(default=False, info={"derived": True})

    @hybrid_property
    def is_open(self) -> bool:
        """Whether it is neither handed over nor dropped."""
        return self.delivered_on is None and self.dropped_on is None

    @is_open.inplace.expression
    @classmethod
    def _is_open(cls) -> ColumnElement[bool]:
        return cls.delivered_on.is_(None) & cls.dropped_on.is_(None)

    client: Mapped[Client | None] = relationship()
    blank: Mapped[Blank | None] = relationship(back_populates="commission")
    references: Mapped[list["Reference"]] = relationship(
        back_populates="commission", order_by="Reference.id"
    )
    steps: Mapped[list["Step"]] = relationship(
        back_populates="commission", order_by="Step.position, Step.id"
    )
    # Those on the piece as it is. Entries that a correction replaced stay on record but count
    # for nothing; those on a spoiled piece are its own.
    sessions: Mapped[list["BurnSession"]] = relationship(
        back_populates="commission",
        order_by="BurnSession.id",
        primaryjoin="and_(BurnSession.commission_id == Commission.id,"
        " BurnSession.replaced_by_id.is_(None), BurnSession.spoiled_id.is_(None))",
    )
    spoiled: Mapped[list["SpoiledPiece"]] = relationship(
        back_populates="commission", order_by="SpoiledPiece.id"
    )
    quotes: Mapped[list["Quote"]] = relationship(
        back_populates="commission", order_by="Quote.version"
    )
    payments: Mapped[list["Payment"]] = relationship(
        back_populates="commission", order_by="Payment.id"
    )
    coats: Mapped[list["FinishCoat"]] = relationship(
        back_populates="commission", order_by="FinishCoat.position"
    )
    lettering: Mapped[list["Lettering"]] = relationship(
        back_populates="commission", order_by="Lettering.id"
    )
    consent: Mapped["Consent | None"] = relationship(back_populates="commission")


index_some(Commission.unsettled, Commission.unsettled.is_(True))


class Reference(Record):
    """A photo placed on a commission's wood, with the work measured from it.

    The newest one of a commission is the one in use. ``plan`` is the work plan as
    measured (as it is today: ``desk.derived.piece``), ``hours`` its forecast, kept by
    ``desk.derived.renewal``, ``layout`` how the photo is placed and its tones are set
    (None: filled, centred, as it is), all as their own modules write them.
    """

    __tablename__ = "reference"
    __table_args__ = (
        CheckConstraint("zones between 2 and 9", name="zones"),
        CheckConstraint("min_area_mm2 >= 0", name="min_area"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    commission_id: Mapped[int] = mapped_column(ForeignKey("commission.id"), index=True)
    original_sha256: Mapped[str] = mapped_column(ForeignKey("original.sha256"))
    zones: Mapped[int]
    min_area_mm2: Mapped[float]
    thresholds: Mapped[list[Any]]
    layout: Mapped[dict[str, Any] | None]
    # The photos that the original is composed from, and how; None where it is one photo.
    together: Mapped[dict[str, Any] | None]
    plan: Mapped[dict[str, Any]]
    hours: Mapped[dict[str, Any]] = mapped_column(default=dict, info={"derived": True})
    # From how many jobs the pace is known that they are forecast by.
    taught_by: Mapped[int] = mapped_column(default=0, info={"derived": True})
    added_at: Mapped[datetime]

    commission: Mapped[Commission] = relationship(back_populates="references")
    original: Mapped[Original] = relationship()


_FOLLOWS_UNLESS_OWN = {"follows_without": ("own",)}


class Step(Record):
    """One line of a commission's checklist.

    Its words and place follow from the facts of the job unless it is the artist's own, and
    so does the whole row while it is neither ticked nor skipped.
    """

    __tablename__ = "step"
    __table_args__ = (
        UniqueConstraint("commission_id", "key"),
        CheckConstraint("text <> ''", name="says_something"),
        CheckConstraint("ticked_at is null or skipped_at is null", name="ticked_or_skipped"),
        CheckConstraint("(skipped_at is null) = (skip_reason is null)", name="skipped_with_reason"),
        {"info": {"follows_without": ("own", "ticked_at", "skipped_at")}},
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    commission_id: Mapped[int] = mapped_column(ForeignKey("commission.id"), index=True)
    phase: Mapped[str] = mapped_column(one_of("phase", *PHASES))
    position: Mapped[int] = mapped_column(info=_FOLLOWS_UNLESS_OWN)
    key: Mapped[str] = mapped_column(String(80))
    text: Mapped[str] = mapped_column(info=_FOLLOWS_UNLESS_OWN)
    caution: Mapped[str] = mapped_column(default="", info=_FOLLOWS_UNLESS_OWN)
    zone: Mapped[int | None] = mapped_column(info=_FOLLOWS_UNLESS_OWN)
    own: Mapped[bool] = mapped_column(default=False)
    ticked_at: Mapped[datetime | None]
    skipped_at: Mapped[datetime | None]
    skip_reason: Mapped[str | None]

    @hybrid_property
    def settled(self) -> bool:
        """Whether it is ticked or skipped."""
        return self.ticked_at is not None or self.skipped_at is not None

    @settled.inplace.expression
    @classmethod
    def _settled(cls) -> ColumnElement[bool]:
        return cls.ticked_at.is_not(None) | cls.skipped_at.is_not(None)

    commission: Mapped[Commission] = relationship(back_populates="steps")


class FinishCoat(Record):
    """A coat of finish to put on a piece, with the times its maker's label gives.

    When it was put on is the moment its checklist step was ticked.
    """

    __tablename__ = "finish_coat"
    __table_args__ = (
        UniqueConstraint("commission_id", "position"),
        CheckConstraint("product <> ''", name="named"),
        CheckConstraint("dry_hours > 0", name="dry_hours"),
        CheckConstraint("next_coat_hours > 0", name="next_coat_hours"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    commission_id: Mapped[int] = mapped_column(ForeignKey("commission.id"), index=True)
    position: Mapped[int]
    product: Mapped[str] = mapped_column(String(120))
    dry_hours: Mapped[float]
    next_coat_hours: Mapped[float]

    commission: Mapped[Commission] = relationship(back_populates="coats")


class Lettering(Record):
    """Words to burn on a piece: what they say, a line each, and how they are set and laid.

    ``face`` is a typeface that comes with the program, or the font is a file kept as it came.
    Lengths are mm; ``height_mm`` is that of a capital. It lies ``at`` an edge, unless its
    middle was given.
    """

    __tablename__ = "lettering"
    __table_args__ = (
        CheckConstraint("text <> ''", name="says_something"),
        CheckConstraint("(face = '') = (font_sha256 is not null)", name="one_typeface"),
        CheckConstraint("height_mm between 2 and 500", name="height"),
        CheckConstraint("(x_mm is null) = (y_mm is null)", name="middle"),
        CheckConstraint("radius_mm > 0", name="radius"),
        CheckConstraint("darkness > 0 and darkness <= 1", name="darkness"),
        CheckConstraint("clear_mm between 0 and 100", name="clear"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    commission_id: Mapped[int] = mapped_column(ForeignKey("commission.id"), index=True)
    text: Mapped[str]
    face: Mapped[str] = mapped_column(String(40))
    font_sha256: Mapped[str | None] = mapped_column(ForeignKey("original.sha256"))
    height_mm: Mapped[float]
    at: Mapped[str] = mapped_column(one_of("at", "top", "middle", "bottom"))
    x_mm: Mapped[float | None]
    y_mm: Mapped[float | None]
    course: Mapped[str] = mapped_column(one_of("course", "straight", "arc", "edge"))
    radius_mm: Mapped[float | None]
    filled: Mapped[bool]
    darkness: Mapped[float]
    clear_mm: Mapped[float]

    commission: Mapped[Commission] = relationship(back_populates="lettering")
    font: Mapped[Original | None] = relationship()


class SpoiledPiece(Record):
    """A piece of a commission that was ruined, and begun again on another blank.

    ``plan`` is the work it took, ``done`` the share of each stage that was done, and which
    ``zones``, as they were then: its hours teach by them.
    """

    __tablename__ = "spoiled_piece"
    __table_args__ = (CheckConstraint("reason <> ''", name="with_reason"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    commission_id: Mapped[int] = mapped_column(ForeignKey("commission.id"), index=True)
    # None where its wood was not on record.
    blank_id: Mapped[int | None] = mapped_column(ForeignKey("blank.id"), unique=True)
    reason: Mapped[str]
    spoiled_on: Mapped[date] = mapped_column(index=True)
    plan: Mapped[dict[str, Any] | None]
    done: Mapped[dict[str, Any]]

    commission: Mapped[Commission] = relationship(back_populates="spoiled")
    blank: Mapped[Blank | None] = relationship()
    sessions: Mapped[list["BurnSession"]] = relationship(
        back_populates="spoiled",
        order_by="BurnSession.id",
        primaryjoin="and_(BurnSession.spoiled_id == SpoiledPiece.id,"
        " BurnSession.replaced_by_id.is_(None))",
    )


class ProgressPhoto(Record):
    """A photo of a piece on its way, by the day it shows."""

    __tablename__ = "progress_photo"
    __table_args__ = (UniqueConstraint("commission_id", "original_sha256"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    commission_id: Mapped[int] = mapped_column(ForeignKey("commission.id"), index=True)
    original_sha256: Mapped[str] = mapped_column(ForeignKey("original.sha256"))
    taken_on: Mapped[date] = mapped_column(index=True)
    note: Mapped[str] = mapped_column(default="")
    # What a comparison of it with the plan came to, as it was said; None if there was none.
    comparison: Mapped[dict[str, Any] | None]
    added_at: Mapped[datetime]
    # Whether it shows the piece in the portfolio; where none is chosen the newest does.
    chosen: Mapped[bool] = mapped_column(default=False)

    commission: Mapped[Commission] = relationship()
    original: Mapped[Original] = relationship()


class Consent(Record):
    """Whether a piece may be shown to others, as its client said; none while nobody was asked."""

    __tablename__ = "consent"
    __table_args__ = (
        CheckConstraint("said_by <> ''", name="said_by"),
        CheckConstraint("answer = 'yes' or not with_name", name="with_name"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    commission_id: Mapped[int] = mapped_column(ForeignKey("commission.id"), unique=True)
    answer: Mapped[str] = mapped_column(one_of("answer", "yes", "no"))
    said_by: Mapped[str] = mapped_column(String(200))
    said_on: Mapped[date]
    how: Mapped[str] = mapped_column(String(200), default="")
    # Whether the client is named beside the piece.
    with_name: Mapped[bool] = mapped_column(default=False)
    # What the piece is called where others see it; empty for its title.
    shown_as: Mapped[str] = mapped_column(String(200), default="")

    commission: Mapped[Commission] = relationship(back_populates="consent")
