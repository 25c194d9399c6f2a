"""Tone ladders on the terminal: the curve drawn, the patches as tones, the settings for a job."""

from rich.color import Color
from rich.console import Group, RenderableType
from rich.style import Style
from rich.text import Text

from burnplan.dates import format_day
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.wood.ladders import LadderView, PatchView
from burnplan.desk.wood.zone_settings import LadderSettingsView
from burnplan.reckon.ladder import Reach
from burnplan.show.console import facts, table
from burnplan.tone.strip import tone_of
from burnplan.units import format_area, format_setting, format_speed
from burnplan.zone_names import zone_name

_ROWS, _COLUMNS = 13, 60
_TOP, _BOTTOM = 100.0, 0.0


def _swatch(lightness: float, width: int) -> Text:
    paint = Style(bgcolor=Color.from_rgb(*tone_of(lightness)))
    return Text(" " * width, paint)


def _row_of(lightness: float) -> int:
    share = (_TOP - lightness) / (_TOP - _BOTTOM)
    return min(max(round(share * (_ROWS - 1)), 0), _ROWS - 1)


def curve_picture(view: LadderView) -> RenderableType:
    """Return the fitted curve in letters: L* upwards, the setting to the right.

    ``·`` is the fit, ``o`` a patch, ``-`` the bare wood.
    """
    if not view.curve:
        return Text("Two settings at least make a curve", "soft")
    low, high = view.curve[0][0], view.curve[-1][0]
    letters = [[" "] * _COLUMNS for _ in range(_ROWS)]
    if view.bare is not None:
        letters[_row_of(view.bare)] = ["-"] * _COLUMNS

    def column(setting: float) -> int:
        return round((setting - low) / (high - low) * (_COLUMNS - 1))

    for setting, lightness in view.curve:
        letters[_row_of(lightness)][column(setting)] = "·"
    for patch in view.patches:
        letters[_row_of(patch.lightness)][column(patch.setting)] = "o"
    styles = {"o": "ember", "-": "soft", "·": ""}
    lines = []
    for number, row in enumerate(letters):
        lightness = _TOP - (_TOP - _BOTTOM) * number / (_ROWS - 1)
        label = f"{lightness:>3.0f} ┤" if number % 3 == 0 else "    │"
        line = Text(label, "soft")
        for letter in row:
            line.append(letter, styles.get(letter, ""))
        lines.append(line)
    axis = Text(f"    └{'─' * _COLUMNS}", "soft")
    ends = f"{low:g}".ljust(_COLUMNS // 2) + f"{high:g}".rjust(_COLUMNS - _COLUMNS // 2)
    strip = Text("     ")
    for place in range(0, _COLUMNS, 2):
        near = round(place / (_COLUMNS - 1) * (len(view.curve) - 1))
        strip.append_text(_swatch(view.curve[near][1], 2))
    return Group(
        Text("L*", "soft"), *lines, axis, Text(f"     {ends}", "soft"), strip,
        Text(f"     {view.scale}, more burns darker", "soft"),
    )  # fmt: skip


def _burned(patch: PatchView, view: LadderView, settings: Settings) -> list[str]:
    unit = "" if view.heat_unit == "dial" else f" {view.heat_unit}"
    speed = format_speed(patch.speed, settings.units) if patch.speed else ""
    return [f"{patch.heat:g}{unit}", f"{patch.strokes:g}", speed]


def ladder_card(view: LadderView, settings: Settings) -> RenderableType:
    """Return a tone ladder: what it is, its curve and its patches."""
    rows = table(">heat", ">strokes", ">speed", ">L*", ">fit", "tone", "read by")
    for patch in view.patches:
        rows.add_row(
            *_burned(patch, view, settings),
            f"{patch.lightness:.0f}",
            f"{patch.fitted:.0f}" if patch.fitted is not None else "",
            _swatch(patch.lightness, 6),
            patch.read,
        )
    return Group(
        facts(
            (view.code, Text(view.species_name, "title")),
            ("tip", Text(view.tip)),
            ("varies", f"{view.scale}; {view.held}" if view.held else view.scale),
            ("bare wood", f"L* {view.bare:.0f}" if view.bare is not None else None),
            ("photo", Text(view.photo or "")),
            ("note", Text(view.note)),
        ),
        Text(""),
        curve_picture(view),
        Text(""),
        rows,
        *(Text(note, "soft") for note in view.notes),
    )


def ladder_table(ladders: list[LadderView]) -> RenderableType:
    """Return the tone ladders, or what to do when there are none."""
    if not ladders:
        return Text("No tone ladders yet. Burn a strip and: burnplan ladder add basswood", "soft")
    rows = table("ladder", "wood", "+tip", "varies", ">patches", ">lightest", ">darkest", "burned")
    for one in ladders:
        lightness = [patch.fitted for patch in one.patches if patch.fitted is not None]
        rows.add_row(
            Text(one.code, "code"),
            Text(one.species_name),
            Text(one.tip),
            one.scale,
            str(len(one.patches)),
            f"L* {max(lightness):.0f}" if lightness else "",
            f"L* {min(lightness):.0f}" if lightness else "",
            format_day(one.burned_on),
        )
    return rows


def settings_card(view: LadderSettingsView, settings: Settings) -> RenderableType:
    """Return the setting for each zone, and what this wood cannot reach."""
    rows = table("zone", ">area", ">wanted L*", ">setting", ">expected L*", "tone", "+")
    for zone in view.zones:
        reached = zone.reach is Reach.REACHED
        rows.add_row(
            zone_name(zone.zone),
            format_area(zone.area_cm2, settings.units),
            f"{zone.wanted:.0f}",
            Text(format_setting(zone.setting), "ember" if reached else "soft"),
            f"{zone.expected:.0f}",
            _swatch(zone.expected, 6),
            Text("" if reached else zone.words, "warn"),
        )
    return Group(
        facts(
            (view.code, Text(view.title, "title")),
            ("ladder", Text(f"{view.ladder} on {view.species_name.lower()}, {view.tip}")),
            ("setting", f"{view.scale}; {view.held}" if view.held else view.scale),
            ("this wood", f"L* {view.bare:.0f} bare to {view.darkest:.0f} on this ladder"),
        ),
        Text(""),
        rows,
        *(Text(note, "soft") for note in view.notes),
    )
