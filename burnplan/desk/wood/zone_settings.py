"""The setting for each value zone of a job, read off a tone ladder on its wood."""

from sqlalchemy.orm import Session

from burnplan.codes import commission_code, ladder_code
from burnplan.desk.derived import piece, studio_settings, woods
from burnplan.desk.studio.lookup import by_name, find_commission
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import ladders
from burnplan.desk.wood.ladders import Vary
from burnplan.errors import NotFound
from burnplan.ledger.models import Commission, ToneLadder
from burnplan.reckon import ladder as fitting
from burnplan.reckon.ladder import Ladder, Reach
from burnplan.reckon.work import WorkPlan
from burnplan.sentences import Do
from burnplan.view import View
from burnplan.wood.species import Species


class ZoneSettingView(View):
    """The setting for a value zone; lightness in L*."""

    zone: int
    area_cm2: float
    wanted: float
    setting: float
    expected: float
    reach: Reach
    words: str


class LadderSettingsView(View):
    """The settings for a commission's zones, from a ladder on its wood."""

    code: str
    title: str
    ladder: str
    species_name: str
    tip: str
    varies: Vary
    scale: str
    held: str
    bare: float
    darkest: float
    zones: list[ZoneSettingView]
    notes: list[str]


def settings_for(
    studio: Studio, which: str, *, ladder: str | None = None, tip: str | None = None
) -> LadderSettingsView:
    """Return the setting for each zone of a commission's reference.

    Parameters
    ----------
    studio : Studio
    which : str
        The commission.
    ladder : str, optional
        The ladder to use; else the newest on its wood.
    tip : str, optional
        Only ladders with this tip.

    Raises
    ------
    NotFound
        If it has no reference, or there is no ladder on its wood.
    """
    with studio.reading() as book:
        return settings_of(book, find_commission(book, which), ladder=ladder, tip=tip)


def settings_of(
    book: Session, commission: Commission, *, ladder: str | None = None, tip: str | None = None
) -> LadderSettingsView:
    """Return the settings for an open book's commission; see :func:`settings_for`."""
    code = commission_code(commission.id)
    if not commission.references:
        raise NotFound(f"{code} has no reference yet", "Add one: ", Do("reference.add", job=code))
    wood = piece.wood_of(book, commission)
    row = ladders.find_ladder(book, ladder) if ladder else _newest_on(book, wood, tip)
    units = studio_settings.of_book(book).units
    fit = ladders.fitted(row, units)
    if fit is None:
        raise NotFound(f"{ladder_code(row.id)} has only one setting", "Burn another patch")
    bare = fit.bare if fit.bare is not None else wood.bare_lightness
    darkest = min(wood.darkest_burn, bare - 1)
    plan = WorkPlan.from_dict(commission.references[-1].plan)
    wanted = {zone.zone: bare - zone.darkness * (bare - darkest) for zone in plan.zones}
    found = fitting.settings_for(fit, wanted)
    vary = ladders.varied(row)
    return LadderSettingsView(
        code=code,
        title=commission.title,
        ladder=ladder_code(row.id),
        species_name=wood.name,
        tip=row.tip,
        varies=vary,
        scale=ladders.scale_of(row, vary, units),
        held=ladders.held_at(row, vary, units),
        bare=bare,
        darkest=fit.darkest,
        zones=[
            ZoneSettingView.of(
                one := found[zone.zone],
                zone=zone.zone,
                area_cm2=zone.area_cm2,
                expected=one.lightness,
                words=one.in_words(),
            )
            for zone in sorted(plan.zones, key=lambda zone: zone.zone)
        ],
        notes=_notes(book, row, wood, fit),
    )


def _newest_on(book: Session, wood: Species, tip: str | None) -> ToneLadder:
    found = ladders.of_species(book, wood.key)
    if tip is not None:
        whole, begun = by_name(((row.id, row.tip) for row in found), tip)
        found = [row for row in found if row.id in whole or row.id in begun]
    if not found:
        with_tip = f" with '{tip}'" if tip else ""
        raise NotFound(
            f"There is no tone ladder on {wood.name.lower()}{with_tip}",
            "Burn a strip on an offcut: ",
            Do("ladder.add"),
        )
    return found[0]


def _notes(book: Session, row: ToneLadder, wood: Species, fit: Ladder) -> list[str]:
    notes = []
    if row.species != wood.key:
        other = woods.on_record(book, row.species).name.lower()
        notes.append(f"The ladder is on {other}, not on this wood")
    if fit.bare is None:
        source = wood.source("bare") or "a middling pale wood"
        notes.append(
            f"The bare wood's lightness was not read: L* {wood.bare_lightness:.0f}, {source}"
        )
    if len(fit.settings) < 5:
        notes.append("Fewer than five settings: burn more patches to trust what lies between")
    return notes
