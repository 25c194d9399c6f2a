"""The book's tables.

Facts: whatever can be derived (the stage of a commission, its balance, its hours
left) is not stored, but for what :mod:`burnplan.desk.derived.renewal` keeps. Rules
that hold for every row are constraints in the database; rules about what may follow
what live in :mod:`burnplan.desk`.
"""

from datetime import date, datetime
from decimal import Decimal
from typing import Any, ClassVar

from sqlalchemy import (
    JSON,
    CheckConstraint,
    ColumnElement,
    ForeignKey,
    Index,
    MetaData,
    String,
    UniqueConstraint,
)
from sqlalchemy.ext.hybrid import hybrid_property
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column, relationship

from burnplan.ledger.types import (
    MILESTONES,
    PHASES,
    STAGES_OF_WORK,
    Money,
    UtcDateTime,
    one_of,
)

OUTLINES = ("rectangle", "round", "oval", "live-edge")
DROP_TERMS = ("nothing", "deposit", "work")
LETTERED_AT = ("top", "middle", "bottom")
COURSES = ("straight", "arc", "edge")
GRAINS = ("along-width", "along-height", "end-grain")
CONSENTS = ("yes", "no")


def _hours_check(day: str) -> CheckConstraint:
    return CheckConstraint(f"hours_{day} between 0 and 24", name=f"hours_{day}")


class Record(DeclarativeBase):
    """Base of every table."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
            "fk": "fk_%(table_name)s_%(column_0_N_name)s",
            "pk": "pk_%(table_name)s",
        }
    )
    type_annotation_map: ClassVar[dict[Any, Any]] = {
        datetime: UtcDateTime,
        Decimal: Money,
        dict[str, Any]: JSON(none_as_null=True),
        # A missing value is NULL, not the JSON null, so that undo finds it again.
        list[Any]: JSON(none_as_null=True),
    }


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


class Blank(Record):
    """A piece of wood to burn on."""

    __tablename__ = "blank"
    __table_args__ = (
        CheckConstraint("width_mm > 0 and height_mm > 0", name="size"),
        CheckConstraint("thickness_mm is null or thickness_mm > 0", name="thickness"),
        CheckConstraint("cost is null or cost >= 0", name="cost"),
        CheckConstraint("outline <> 'round' or width_mm = height_mm", name="round"),
        CheckConstraint("bark_mm is null or bark_mm >= 0", name="bark_mm"),
        CheckConstraint("bare is null or bare between 0 and 100", name="bare"),
        CheckConstraint(
            "(scrapped_on is null) = (scrap_reason is null)", name="scrapped_with_reason"
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    species: Mapped[str] = mapped_column(String(60))
    outline: Mapped[str] = mapped_column(one_of("outline", *OUTLINES))
    width_mm: Mapped[float]
    height_mm: Mapped[float]
    points: Mapped[list[Any] | None]
    thickness_mm: Mapped[float | None]
    cost: Mapped[Decimal | None]
    supplier: Mapped[str] = mapped_column(String(200), default="")
    location: Mapped[str] = mapped_column(String(200), default="")
    note: Mapped[str] = mapped_column(default="")
    added_at: Mapped[datetime]
    scrapped_on: Mapped[date | None]
    scrap_reason: Mapped[str | None]
    # Which way the grain runs on the face; None if nobody looked.
    grain: Mapped[str | None] = mapped_column(one_of("grain", *GRAINS))
    # How deep bark reaches in from the edge, millimetres; None if nobody looked.
    bark_mm: Mapped[float | None]
    # L* of its own bare face, read from a photo; None while its species has to tell.
    bare: Mapped[float | None]

    sandings: Mapped[list["Sanding"]] = relationship(
        back_populates="blank", order_by="Sanding.id", cascade="all, delete-orphan"
    )
    readings: Mapped[list["MoistureReading"]] = relationship(
        back_populates="blank",
        order_by="MoistureReading.taken_at, MoistureReading.id",
        cascade="all, delete-orphan",
    )
    conditions: Mapped[list["BlankCondition"]] = relationship(
        back_populates="blank", order_by="BlankCondition.id", cascade="all, delete-orphan"
    )
    overrides: Mapped[list["HazardOverride"]] = relationship(
        back_populates="blank", order_by="HazardOverride.id", cascade="all, delete-orphan"
    )
    photos: Mapped[list["BlankPhoto"]] = relationship(
        back_populates="blank", order_by="BlankPhoto.id", cascade="all, delete-orphan"
    )
    commission: Mapped["Commission | None"] = relationship(back_populates="blank")


class Sanding(Record):
    """A grit gone over on a blank, or its grain raised with water."""

    __tablename__ = "sanding"
    __table_args__ = (
        CheckConstraint("grit is null or grit between 20 and 5000", name="grit"),
        CheckConstraint("(grit is null) = water", name="grit_or_water"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    blank_id: Mapped[int] = mapped_column(ForeignKey("blank.id", ondelete="CASCADE"), index=True)
    grit: Mapped[int | None]
    water: Mapped[bool] = mapped_column(default=False)
    done_at: Mapped[datetime]

    blank: Mapped[Blank] = relationship(back_populates="sandings")


class BlankPhoto(Record):
    """A photo of a blank itself."""

    __tablename__ = "blank_photo"

    id: Mapped[int] = mapped_column(primary_key=True)
    blank_id: Mapped[int] = mapped_column(ForeignKey("blank.id", ondelete="CASCADE"), index=True)
    original_sha256: Mapped[str] = mapped_column(ForeignKey("original.sha256"))
    # Where the outline's millimetres are seen: a homography to pixels, row by row; None
    # where the outline is not from this photo.
    view: Mapped[list[Any] | None]
    # What it tells of the face, in the outline's millimetres: grain, marks, the sheet on it.
    face: Mapped[dict[str, Any] | None]
    added_at: Mapped[datetime]

    blank: Mapped[Blank] = relationship(back_populates="photos")


class MoistureReading(Record):
    """What a moisture meter showed on a blank, per cent."""

    __tablename__ = "moisture_reading"
    __table_args__ = (CheckConstraint("moisture between 0 and 200", name="moisture"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    blank_id: Mapped[int] = mapped_column(ForeignKey("blank.id", ondelete="CASCADE"), index=True)
    moisture: Mapped[float]
    taken_at: Mapped[datetime]
    note: Mapped[str] = mapped_column(default="")

    blank: Mapped[Blank] = relationship(back_populates="readings")


class Climate(Record):
    """The air where wood is kept: the shop's, or a client's home; the newest counts."""

    __tablename__ = "climate"
    __table_args__ = (
        CheckConstraint("celsius between -40 and 70", name="celsius"),
        CheckConstraint("humidity > 0 and humidity < 100", name="humidity"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    # None for the shop.
    client_id: Mapped[int | None] = mapped_column(ForeignKey("client.id"), index=True)
    celsius: Mapped[float]
    humidity: Mapped[float]
    noted_at: Mapped[datetime]


class BlankCondition(Record):
    """Something about a blank that matters when it is heated: painted, treated, spalted."""

    __tablename__ = "blank_condition"
    __table_args__ = (
        UniqueConstraint("blank_id", "kind"),
        CheckConstraint("kind <> ''", name="named"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    blank_id: Mapped[int] = mapped_column(ForeignKey("blank.id", ondelete="CASCADE"), index=True)
    kind: Mapped[str] = mapped_column(String(40))
    note: Mapped[str] = mapped_column(default="")
    noted_at: Mapped[datetime]

    blank: Mapped[Blank] = relationship(back_populates="conditions")


class HazardOverride(Record):
    """A hazard the artist set aside for one job, and why; never without a reason."""

    __tablename__ = "hazard_override"
    __table_args__ = (
        UniqueConstraint("blank_id", "commission_id", "hazard"),
        CheckConstraint("hazard <> ''", name="named"),
        CheckConstraint("reason <> ''", name="with_reason"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    blank_id: Mapped[int] = mapped_column(ForeignKey("blank.id", ondelete="CASCADE"), index=True)
    commission_id: Mapped[int] = mapped_column(ForeignKey("commission.id"), index=True)
    hazard: Mapped[str] = mapped_column(String(40))
    reason: Mapped[str]
    made_at: Mapped[datetime]

    blank: Mapped[Blank] = relationship(back_populates="overrides")


class OwnSpecies(Record):
    """A wood that is not in the table, with the figures its user gives."""

    __tablename__ = "own_species"
    __table_args__ = (
        CheckConstraint("key <> '' and name <> ''", name="named"),
        CheckConstraint("radial is null or radial between 0 and 30", name="radial"),
        CheckConstraint("tangential is null or tangential between 0 and 30", name="tangential"),
        CheckConstraint("hardness is null or hardness > 0", name="hardness"),
        CheckConstraint(
            "specific_gravity is null or (specific_gravity > 0 and specific_gravity < 1.6)",
            name="specific_gravity",
        ),
        CheckConstraint("bare is null or bare between 0 and 100", name="bare"),
        CheckConstraint("burnt is null or burnt between 0 and 100", name="burnt"),
        CheckConstraint("bare is null or burnt is null or burnt < bare", name="burnt_darker"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    key: Mapped[str] = mapped_column(String(60), unique=True)
    name: Mapped[str] = mapped_column(String(60))
    botanical: Mapped[str] = mapped_column(String(100), default="")
    radial: Mapped[float | None]
    tangential: Mapped[float | None]
    hardness: Mapped[float | None]
    specific_gravity: Mapped[float | None]
    bare: Mapped[float | None]
    burnt: Mapped[float | None]
    resinous: Mapped[str] = mapped_column(default="")
    irritant: Mapped[str] = mapped_column(default="")
    source: Mapped[str] = mapped_column(default="")
    added_at: Mapped[datetime]


class ToneLadder(Record):
    """A test strip burned on a wood with one tip, one thing varied from patch to patch."""

    __tablename__ = "tone_ladder"
    __table_args__ = (
        CheckConstraint("tip <> ''", name="with_tip"),
        CheckConstraint("bare is null or bare between 0 and 100", name="bare"),
        CheckConstraint("heat_unit <> ''", name="heat_unit"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    species: Mapped[str] = mapped_column(String(60), index=True)
    tip: Mapped[str] = mapped_column(String(80))
    # "dial", "°C" or "°F": how the patches' heat is written.
    heat_unit: Mapped[str] = mapped_column(String(12), default="dial")
    # L* of the bare wood beside the patches, where it was read.
    bare: Mapped[float | None]
    original_sha256: Mapped[str | None] = mapped_column(ForeignKey("original.sha256"))
    note: Mapped[str] = mapped_column(default="")
    burned_at: Mapped[datetime]

    patches: Mapped[list["LadderPatch"]] = relationship(
        back_populates="ladder", order_by="LadderPatch.position", cascade="all, delete-orphan"
    )


class LadderPatch(Record):
    """One patch of a tone ladder: how it was burned and how light it came out."""

    __tablename__ = "ladder_patch"
    __table_args__ = (
        UniqueConstraint("ladder_id", "position"),
        CheckConstraint("strokes > 0", name="strokes"),
        CheckConstraint("speed is null or speed > 0", name="speed"),
        CheckConstraint("lightness between 0 and 100", name="lightness"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    ladder_id: Mapped[int] = mapped_column(
        ForeignKey("tone_ladder.id", ondelete="CASCADE"), index=True
    )
    position: Mapped[int]
    heat: Mapped[float]
    strokes: Mapped[float] = mapped_column(default=1.0)
    # mm/s, where it was timed.
    speed: Mapped[float | None]
    lightness: Mapped[float]
    read: Mapped[str] = mapped_column(one_of("read", "eye", "photo"))

    ladder: Mapped[ToneLadder] = relationship(back_populates="patches")


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
    drop_terms: Mapped[str | None] = mapped_column(one_of("drop_terms", *DROP_TERMS))
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
    at: Mapped[str] = mapped_column(one_of("at", *LETTERED_AT))
    x_mm: Mapped[float | None]
    y_mm: Mapped[float | None]
    course: Mapped[str] = mapped_column(one_of("course", *COURSES))
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


def _index_some(column: Any, rows: ColumnElement[bool], *, unique: bool = False) -> None:
    """Index a column for only the rows that a condition names.

    On a server too, but there only the migration says so: naming its dialect here
    loads that at every start, and tables are made by migrations alone.
    """
    Index(None, column, unique=unique, sqlite_where=rows)


# Nearly all sessions are closed and replaced by none. An index of them all would be taken
# for the best way to those that count, before the one by commission.
_index_some(BurnSession.replaced_by_id, BurnSession.replaced_by_id.is_not(None), unique=True)
_index_some(BurnSession.closed, BurnSession.closed.is_(False))
_index_some(BurnSession.spoiled_id, BurnSession.spoiled_id.is_not(None))
_index_some(Commission.unsettled, Commission.unsettled.is_(True))


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
    answer: Mapped[str] = mapped_column(one_of("answer", *CONSENTS))
    said_by: Mapped[str] = mapped_column(String(200))
    said_on: Mapped[date]
    how: Mapped[str] = mapped_column(String(200), default="")
    # Whether the client is named beside the piece.
    with_name: Mapped[bool] = mapped_column(default=False)
    # What the piece is called where others see it; empty for its title.
    shown_as: Mapped[str] = mapped_column(String(200), default="")

    commission: Mapped[Commission] = relationship(back_populates="consent")
