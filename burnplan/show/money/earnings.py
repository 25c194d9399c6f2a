"""What jobs earned, on the terminal."""

from decimal import Decimal

from rich.console import Group, RenderableType
from rich.text import Text

from burnplan.dates import format_day, format_month
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.money.earnings import EarnedView, EarningsView
from burnplan.money import format_money
from burnplan.show.console import table
from burnplan.units import format_hours


def earnings_report(view: EarningsView, settings: Settings) -> RenderableType:
    """Return what jobs, months and kinds of work earned an hour, and where hours went."""
    others = []
    if view.left_out:
        codes = ", ".join(view.left_out)
        others = [Text(f"Not counted, as their money is not in {view.currency}: {codes}", "warn")]
    if not view.jobs:
        kind = f"No job in {view.currency}" if others else "No job"
        none = f"{kind} was delivered since {format_day(view.since)}: earlier ones with --since"
        return Group(Text(none, "soft"), *others)

    def rows(title: str, found: list[EarnedView]) -> RenderableType:
        made = table(f"+{title}", ">jobs", ">earned", ">hours", ">an hour", "prepare … finish")
        for one in found:
            target = view.hourly_target or Decimal(0)
            low = one.an_hour is not None and one.an_hour < target
            hourly = "–"
            if one.an_hour is not None:
                hourly = format_money(one.an_hour, view.currency, settings.locale)
            made.add_row(
                Text(one.name),
                str(one.jobs),
                format_money(one.earned, view.currency, settings.locale),
                format_hours(one.hours),
                Text(hourly, "bad" if low else "good"),
                _stages_bar(one),
            )
        return made

    since, aim = format_day(view.since), "No target is set; "
    if view.hourly_target is not None:
        target = format_money(view.hourly_target, view.currency, settings.locale)
        aim = f"Target {target} an hour; "
    return Group(
        rows("job", view.jobs),
        Text(),
        rows("month", [_of_month(one) for one in view.months]),
        Text(),
        rows("kind of work, best paid first", view.kinds),
        Text(
            f"Delivered since {since}. {aim}earned is what came in less tax, wood and packing",
            "soft",
        ),
        *others,
    )


def _of_month(one: EarnedView) -> EarnedView:
    """Return a month's earnings under its name as people write it."""
    return one.model_copy(update={"name": format_month(one.name)})


_STAGE_CELLS = dict(zip(("prepare", "transfer", "burn", "finish"), "░▒█▓", strict=True))


def _stages_bar(one: EarnedView, width: int = 20) -> Text:
    """Draw where hours went; a cell is a twentieth of them."""
    if not one.hours:
        return Text("")
    cells = (_STAGE_CELLS[work] * round(h / one.hours * width) for work, h in one.by_work.items())
    return Text("".join(cells), "ember")
