"""An invented studio with jobs at every stage, for the demo and to try things on.

Everybody and everything in it is made up; the photo is CC0 (see sample_data).
It is filled through the same desk functions as a real one, on a clock that is
moved from day to day.
"""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path

from burnplan.desk.derived import studio_settings
from burnplan.desk.jobs import (
    checklists,
    clients,
    commissions,
    consents,
    endings,
    finishing,
    holding,
    lettering,
    photos,
    references,
    sessions,
)
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.money import accepting, payments, proposals, quotes
from burnplan.desk.studio import days_off, settings
from burnplan.desk.studio.studio import Studio, open_studio
from burnplan.desk.time import past_import, planned_sessions
from burnplan.desk.wood import blanks, conditioning, hazards, ladders, own_species
from burnplan.reckon.checklist import Phase
from burnplan.shipped import shipped
from burnplan.units import UnitSystem

CLIENTS = {
    "Mara Lindqvist": "mara@example.org",
    "Tobias Anand": "tobias@example.org",
    "Ines Okafor": "ines@example.org",
    "Petra Wolff": "petra@example.org",
    "Callum Reyes": "",
}

BLANKS = (
    blanks.NewBlank(species="basswood", size="21x14cm", thickness="12mm", cost="6.50", grit=150),
    blanks.NewBlank(species="basswood", size="30x20cm", thickness="18mm", cost="12", grit=220),
    blanks.NewBlank(species="cherry", size="round 25cm", thickness="20mm", cost="19", grit=120),
    blanks.NewBlank(species="paper-birch", size="24x16cm", thickness="15mm", cost="9"),
    blanks.NewBlank(species="sugar-maple", size="oval 20x26cm", thickness="18mm", cost="17"),
    blanks.NewBlank(species="basswood", size="40x30cm", thickness="18mm", cost="18.50", grit=150),
)

# The same in an inch studio, in sizes that are sold there (invented).
IN_INCHES = {
    "40x12cm": "16x5in", "18x12cm": "7x5in", "24x16cm": "10x6in", "30x20cm": "12x8in",
    "21x14cm": "8x6in", "round 25cm": "round 10in", "oval 20x26cm": "oval 8x10in",
    "35x35cm": "14x14in", "40x30cm": "16x12in", "12mm": "1/2in", "15mm": "5/8in",
    "18mm": "3/4in", "20mm": "3/4in", "19C 48%": "66F 48%", "22C 38%": "72F 38%",
}  # fmt: skip

# Invented.
STRIPS = (
    ("basswood", "shader 4 mm", [79.0, 70, 60, 49, 39, 31, 25]),
    ("cherry", "shader 4 mm", [60.0, 54, 47, 39, 31, 25, 21]),
)

PHOTO, PAST_JOBS = "cat.png", "past_jobs.csv"


class DemoClock:
    """A clock that is set by hand."""

    def __init__(self, start: datetime) -> None:
        self.now = start

    def __call__(self) -> datetime:
        """Return the time it was set to."""
        return self.now


@dataclass(frozen=True, slots=True)
class Invented:
    """A job of the invented studio and how far it has come.

    Parameters
    ----------
    title, client, size, species : str
    days_ago : int
        When it was logged.
    due_in : int or None
        Days from today.
    reached : str
        The stage to bring it to.
    blank : str
        Held for it, by code.
    hours : float
        Logged on it, over several sessions.
    zones_burned : int
    instalments : tuple of str
        Parts of the price due along the way.
    """

    title: str
    client: str
    size: str
    species: str
    days_ago: int
    due_in: int | None
    reached: str
    blank: str = ""
    hours: float = 0.0
    zones_burned: int = 0
    instalments: tuple[str, ...] = ()


JOBS = (
    Invented("Name sign for a stable", "Callum Reyes", "40x12cm", "paper-birch", 95, -60,
             "delivered", hours=5.5, zones_burned=6),
    Invented("Kitten in a basket", "Petra Wolff", "18x12cm", "basswood", 70, -32,
             "delivered", hours=4.5, zones_burned=6),
    Invented("Tabby, head study", "Mara Lindqvist", "24x16cm", "basswood", 41, 6,
             "ready", hours=7.0, zones_burned=6),
    Invented("Two cats, wedding gift", "Tobias Anand", "30x20cm", "basswood", 30, 9,
             "finishing", "B-0002", 9.5, 6, ("30% transferred",)),
    Invented("Old tomcat", "Ines Okafor", "21x14cm", "basswood", 24, 12,
             "burning", "B-0001", 3.0, 2),
    Invented("Cat on a round", "Petra Wolff", "round 25cm", "cherry", 18, 5,
             "transferred", "B-0003", 3.5),
    Invented("Cat with a bell", "Tobias Anand", "24x16cm", "paper-birch", 16, 33,
             "prepared", "B-0004", 1.5),
    Invented("Cat in an oval", "Ines Okafor", "oval 20x26cm", "sugar-maple", 12, 40,
             "booked", "B-0005"),
    Invented("Cat at the window", "Callum Reyes", "30x20cm", "basswood", 6, 54, "priced"),
    Invented("Family crest", "Petra Wolff", "35x35cm", "cherry", 2, None, "enquiry"),
)  # fmt: skip

SHOWN = "Kitten in a basket"  # its client likes others to see it

OTHER_SIZE = "24x16cm"  # put to the client beside that of a job that is priced

REACHED = (
    "enquiry", "priced", "booked", "prepared", "transferred",
    "burning", "finishing", "ready", "delivered",
)  # fmt: skip


def sample(name: str) -> Path:
    """Return a file of the sample data."""
    return shipped(f"sample_data/{name}")


def open_demo(home: Path, now: datetime | None = None) -> tuple[Studio, DemoClock]:
    """Return a studio in a folder of its own, on a clock of its own, in UTC."""
    # Of yesterday until 11: nothing it has on record is still to come on the computer's clock.
    day = now or datetime.now(UTC) - timedelta(hours=11)
    clock = DemoClock(day.replace(hour=9, minute=0, second=0, microsecond=0))
    return open_studio(home, clock=clock, zone=UTC), clock


def settings_in(units: UnitSystem) -> studio_settings.Settings:
    """Return the invented studio's settings, in one system of units or the other."""
    metric = studio_settings.Settings(
        name="Thistle Yard Pictures",
        hourly_target=Decimal(28),
        hours=dict(zip(studio_settings.DAYS, (3.0, 3.0, 0.0, 3.0, 3.0, 4.0, 0.0), strict=True)),
    )
    if units is UnitSystem.METRIC:
        return metric
    american = {"locale": "en_US", "currency": "USD", "paper": studio_settings.Paper.LETTER}
    return metric.model_copy(update={"units": units, **american})


def fill(studio: Studio, clock: DemoClock, units: UnitSystem = UnitSystem.METRIC) -> None:
    """Fill an empty studio with clients, blanks and jobs at every stage."""
    today = clock.now
    clock.now = today - timedelta(days=100)
    settings.save(studio, settings_in(units))
    for name, email in CLIENTS.items():
        clients.add(studio, name, clients.ClientDetails(email=email or None))
    for blank in BLANKS:
        blanks.add(studio, _made_for(studio, blank))
    past_import.bring_in(studio, sample(PAST_JOBS))
    for job in JOBS:
        _make(studio, clock, job, today)
    clock.now = today
    photos.add(studio, "Old tomcat", sample(PHOTO), note="Eyes done")
    photos.add(studio, SHOWN, sample(PHOTO), note="On the bench, finished")
    said = consents.ConsentGiven(answer="yes", how="in a mail", with_name=True)
    consents.note(studio, SHOWN, said)
    fair = today.date() + timedelta(days=20)
    days_off.add(studio, fair, fair + timedelta(days=2), "Craft fair")
    planned_sessions.lay_out(studio)
    _wood(studio, clock)


def _size(studio: Studio, metric: str) -> str:
    """Return a size as this studio would type it."""
    if settings.current(studio).units is UnitSystem.METRIC:
        return metric
    return IN_INCHES.get(metric, metric)


def _made_for(studio: Studio, blank: blanks.NewBlank) -> blanks.NewBlank:
    """Return a blank in this studio's units."""
    size, thickness = (_size(studio, text or "") for text in (blank.size, blank.thickness))
    return blank.model_copy(update={"size": size, "thickness": thickness or None})


def _wood(studio: Studio, clock: DemoClock) -> None:
    """Put on record what the invented studio knows of its wood, and its tone ladders."""
    today = clock.now
    conditioning.note_air(studio, _size(studio, "19C 48%"))
    conditioning.note_air(studio, _size(studio, "22C 38%"), "Callum Reyes")
    for days, reading in ((9, "11.8"), (6, "10.6"), (3, "10.1"), (0, "9.9")):
        conditioning.log_moisture(studio, "B-0006", reading, at=today - timedelta(days=days))
    conditioning.set_grain(studio, "B-0006", "along-width")
    conditioning.set_grain(studio, "B-0003", "end-grain")
    conditioning.add_photo(studio, "B-0006", sample(PHOTO))
    for species, tip, lightness in STRIPS:
        strip = ladders.NewLadder(
            species=species, tip=tip, heat=[2, 3, 4, 5, 6, 7, 8], lightness=lightness
        )
        ladders.add(studio, strip)
    own_species.add(
        studio, own_species.NewSpecies(name="Plum", bare=66, burnt=19, source="own test strip")
    )
    plum = blanks.NewBlank(species="plum", size="18x12cm", thickness="15mm", note="from a shelf")
    shelf = blanks.add(studio, _made_for(studio, plum)).code
    hazards.note(studio, shelf, ["reclaimed"], "an old shelf board")
    job = commissions.add(studio, Wishes(title="Plum blossom", client="Mara Lindqvist")).code
    holding.hold(studio, shelf, job, override="planed on all sides, its history is known")
    words = lettering.LetteringWishes(["Spring at last"], font="script", height="11mm", at="top")
    lettering.put(studio, job, words)
    maple = blanks.NewBlank(species="sugar-maple", size="oval 20x26cm", thickness="18mm", cost="17")
    other = blanks.add(studio, _made_for(studio, maple)).code
    holding.restart(studio, "Cat in an oval", other, "split at the rim while it dried")
    hours = timedelta(hours=1)
    gift = "Two cats, wedding gift"
    finishing.plan(studio, gift, "hard wax oil", coats=2, dry=8 * hours, next_coat=12 * hours)


def _make(studio: Studio, clock: DemoClock, job: Invented, today: datetime) -> None:
    clock.now = start = today - timedelta(days=job.days_ago)
    due = None if job.due_in is None else today.date() + timedelta(days=job.due_in)
    size = _size(studio, job.size)
    wishes = Wishes(title=job.title, client=job.client, size=size, species=job.species, due=due)
    code = commissions.add(studio, wishes).code
    reached = REACHED.index(job.reached)
    if reached >= REACHED.index("priced"):
        references.add(studio, code, sample(PHOTO))
        wanted = quotes.QuoteRequest(round_to="5", instalments=list(job.instalments))
        if job.reached == "priced":
            proposals.issue(studio, code, wanted, sizes=[OTHER_SIZE])
        else:
            quotes.issue(studio, code, wanted)
    if reached >= REACHED.index("booked"):
        clock.now = start + timedelta(days=1)
        deposit = accepting.accept(studio, code).deposit
        payments.take(studio, code, str(deposit), "deposit", method="transfer")
        if job.blank:
            holding.hold(studio, job.blank, code)
    for stage, phase in (
        ("prepared", Phase.PREPARE),
        ("transferred", Phase.TRANSFER),
        ("finishing", Phase.BURN),
        ("ready", Phase.FINISH),
        ("delivered", Phase.HANDOVER),
    ):
        if reached >= REACHED.index(stage):
            clock.now += timedelta(days=1)
            _tick_all(studio, code, phase)
    if reached >= REACHED.index("burning"):
        zones = [f"Z{zone}" for zone in range(1, job.zones_burned + 1)]
        checklists.tick(studio, code, zones)
    _log_hours(studio, clock, code, job)
    if job.reached == "delivered":
        clock.now = today + timedelta(days=(job.due_in or 0) - 2)
        owed = commissions.show(studio, code).balance
        payments.take(studio, code, str(owed), "payment", method="cash")
        endings.deliver(studio, code)


def _tick_all(studio: Studio, code: str, phase: Phase) -> None:
    steps = [s for s in checklists.of(studio, code).steps if s.phase is phase and s.state == "open"]
    checklists.tick(studio, code, [step.key for step in steps])


def _log_hours(studio: Studio, clock: DemoClock, code: str, job: Invented) -> None:
    """Log a job's hours: wood and transfer first, then burning in sittings of two hours."""
    parts = [("prepare", min(job.hours, 1.0)), ("transfer", min(max(job.hours - 1, 0), 1.5))]
    left, zone = job.hours - sum(hours for _, hours in parts), 1
    burning: list[tuple[str, float]] = []
    while left > 0:
        burning.append(("burn", min(left, 2.0)))
        left -= 2.0
    if job.reached in ("booked", "prepared", "transferred"):
        burning = []
    for work, hours in (*parts, *burning):
        if not hours:
            continue
        doing = sessions.Doing(work="burn", zone=min(zone, 6), tip="shader 4 mm", heat="6")
        if work != "burn":
            doing = sessions.Doing(work="prepare" if work == "prepare" else "transfer")
        zone += work == "burn"
        clock.now += timedelta(hours=4)
        sessions.log(studio, code, timedelta(hours=hours), doing)
