"""The usual cautions of burning wood, with where they were published, and their moments.

They are reminders, not advice for a case: local codes, the makers' labels and
licensed practice come first.
"""

from enum import StrEnum

DEFER = "Local codes, makers' labels and professional advice come first"

SMOKE = (
    "Draw the smoke away at its source; a dust mask does not stop gases"
    " (masks: US OSHA, 29 CFR 1910.134, Appendix D; drawing off: common practice, no source)"
)
DUST = (
    "Wood dust is a carcinogen (IARC Group 1, vol. 100 C): collect it at the sander and wear a"
    " fitted dust mask (NIOSH limit 1 mg/m³)"
)
NEVER_BURN = (
    "Never burn treated, painted, stained, sealed or varnished wood, MDF, particle board, plastics"
    " or unknown reclaimed wood; absence from a list does not mean safe (HSE WIS30)"
)
HOT_TIP = (
    "Keep the hot tip on its stand, away from hands, cloth and paper, also after it is off"
    " (common practice, no source)"
)
EYES = (
    "Keep your eyes protected: resin, knots and damp spots spit; burn them with low heat and"
    " clean the tip often (common practice, no source)"
)
BURNS = (
    "Keep water at hand. Cool a burn at once under cool running water (10 to 30 minutes, sources"
    " differ), no ice or creams, cover it loosely with something clean and seek medical care"
    " (NHS, North Bristol, first aid for burns)"
)
ELECTRICITY = (
    "The pen off and cold before its tip is changed, cord and plug sound and dry, never left alone"
    " while it is on; its maker's label comes first (common practice, no source)"
)
BREAKS = "Rest eyes, hands and lungs: ten minutes in each hour (common practice, no source)"
FIRE = (
    "Wood chars fast and smokes from 280 °C, and above 500 °C its char smoulders (Fire Science"
    " Reviews 2:4, Table 1): watch the piece and the bench afterwards (common practice, no source)"
)
PEN_OFF = (
    "Switch the pen off, pull its plug and let it cool on its stand (common practice, no source)"
)
GRAPHITE = "Graphite paper, never carbon paper: it does not come off (common practice, no source)"
DUST_AWAY = (
    "Carry the dust out, away from heat and sparks: fine dust burns (common practice, no source)"
)
AIR = "Air the room, no flame near: a finish gives off vapours, as its label says"
FINISH_RAGS = (
    "Oily rags can ignite by themselves: dry them flat outdoors or keep them under water"
    " (NFPA on oily rags, second-hand)"
)
FOOD = "Keep burning off surfaces that touch food, and use a finish whose label allows food contact"

SESSION = (SMOKE, HOT_TIP, EYES, ELECTRICITY, BURNS, BREAKS, FIRE, PEN_OFF, DEFER)
"""What to mind at every burn session."""


class Moment(StrEnum):
    """When in a session a caution is said."""

    START = "start"
    PAUSE = "pause"
    STOP = "stop"


# What is said at each moment of each work: in short, and in full the first time.
_SAID: dict[tuple[str, Moment], tuple[tuple[str, str], ...]] = {
    ("burn", Moment.START): (
        ("smoke drawn off at its source", SMOKE),
        ("tip on its stand", HOT_TIP),
        ("eyes protected, resin spits", EYES),
        ("water at hand", BURNS),
        ("cord and plug sound, pen never alone", ELECTRICITY),
        ("", BREAKS),  # in short its time is said
    ),
    ("burn", Moment.PAUSE): (("pen off while you are away, tip on its stand", ELECTRICITY),),
    ("burn", Moment.STOP): (
        ("pen off and unplugged", PEN_OFF),
        ("watch the piece and the bench for smouldering", FIRE),
    ),
    ("prepare", Moment.START): (("dust collected at the sander, a fitted mask on", DUST),),
    ("prepare", Moment.STOP): (("dust out of the room, away from heat", DUST_AWAY),),
    ("transfer", Moment.START): (("graphite paper, never carbon", GRAPHITE),),
    ("finish", Moment.START): (("room aired, no flame near", AIR),),
    ("finish", Moment.STOP): (("oily rags flat outdoors or under water", FINISH_RAGS),),
}


def at(work: str, moment: Moment, *, in_full: bool = False) -> tuple[str, ...]:
    """Return what to mind at a moment of some work: one short line, or each in full.

    Parameters
    ----------
    work : str
        prepare, transfer, burn or finish.
    moment : Moment
    in_full : bool
        As the first time: each by itself with its source, and whose word comes first.

    Examples
    --------
    >>> at("burn", Moment.STOP)
    ('Pen off and unplugged; watch the piece and the bench for smouldering',)
    >>> at("transfer", Moment.STOP)
    ()
    """
    said = _SAID.get((work, moment), ())
    if not said:
        return ()
    if in_full:
        return (*(full for _, full in said), DEFER)
    line = "; ".join(short for short, _ in said if short)
    return (f"{line[0].upper()}{line[1:]}",)
