"""Blanks and what is known of them, woods of the studio's own, tone ladders."""

from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from sqlalchemy import CheckConstraint, ForeignKey, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from burnplan.ledger.models.record import OUTLINES, Record
from burnplan.ledger.types import one_of

if TYPE_CHECKING:
    from burnplan.ledger.models.jobs import Commission


GRAINS = ("along-width", "along-height", "end-grain")


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
