"""What a client is told of a piece beside its price: when it is due, terms, wood, finish, care.

Written once, for the quote and the proposal; ``say`` puts it into the reader's language.
"""

from burnplan.desk.jobs.commissions import CommissionView
from burnplan.desk.money.quotes import QuoteView
from burnplan.reckon.price import Milestone
from burnplan.sheets.reader import Reader
from burnplan.wording import N_

MILESTONES = {
    Milestone.PREPARED: N_("When the wood is prepared"),
    Milestone.TRANSFERRED: N_("When the picture is on the wood"),
    Milestone.BURNED: N_("When it is burned"),
}

_STANDS = (
    N_("How long this stands"),
    N_(
        "Until {day}. After that day please ask again:"
        " the price of wood and the waiting time change."
    ),
)
_STARTS = N_("When work starts")
_WITH_DEPOSIT = N_(
    "The wood is set aside, and a place in the queue is yours, once the deposit is in."
)
_ON_ACCEPTANCE = N_(
    "The wood is set aside, and a place in the queue is yours, once you have accepted."
)
_CHANGES = (
    N_("Changes"),
    N_(
        "Another picture, size or wood after you have accepted means a new quote,"
        " which you see before the work goes on."
    ),
)
# What wood, light and finish do: common practice, no source.
_WOOD = (
    (
        N_("Natural wood"),
        N_(
            "Grain, small knots and colour differ from board to board."
            " The piece will not look exactly like a photo, a sample or an earlier piece."
        ),
    ),
    (
        N_("Light"),
        N_(
            "Bare wood and burned tones change in light, and fade in direct sun."
            " Hang the piece out of the sun. A finish can slow the fading; none stops it."
        ),
    ),
)
_OF_USE = {
    "indoor": (
        N_("Drying"),
        N_(
            "The finish has to dry before the piece is packed."
            " Keep it dry, and away from heaters and open fire:"
            " wood that dries out fast can warp or crack."
        ),
    ),
    "outdoor": (
        N_("Outdoors"),
        N_(
            "The finish has to dry before the piece is packed."
            " Sun and rain wear every finish down."
            " Expect the piece to weather, and have the finish renewed as its label says."
        ),
    ),
    "food": (
        N_("Food"),
        N_(
            "The burned side is for looking at: keep food to the plain side."
            " Local rules on food contact come first."
        ),
    ),
}
_RIGHTS = (
    N_("Your rights"),
    N_("Nothing here takes away a right that the law where you live gives you."),
)

FINISHES = {
    "indoor": N_("A clear finish for wood indoors, as its label says"),
    "outdoor": N_("A finish for wood outdoors that slows fading by the sun, as its label says"),
    "food": N_("A finish whose label allows food contact, fully cured, or none"),
}


# How to look after it: common practice, no source, but for food (see wood.finishes).
_DUST = (N_("Dust"), N_("Wipe it with a soft dry cloth. No water, no polish, no cleaner."))
_SUN = (
    N_("Light"),
    N_("Keep it out of direct sun: wood and burn change in light, and no finish stops that."),
)
_AIR = (
    N_("Air"),
    N_("Keep it dry, and away from heaters and open fire: it can warp or crack."),
)
_AFTERCARE = {
    "indoor": (_DUST, _SUN, _AIR),
    "outdoor": (
        (
            N_("Weather"),
            N_("Sun and rain wear the finish down. A place under a roof keeps it longest."),
        ),
        (
            N_("Renewing"),
            N_(
                "Look it over each spring and autumn. Where water no longer beads, have the"
                " finish renewed as its label says."
            ),
        ),
        (N_("Cleaning"), N_("Brush off dirt dry or with a damp cloth. No pressure washer.")),
    ),
    "food": (
        (
            N_("Food"),
            N_(
                "Food only on the plain side, never on the burned one. Local rules on food"
                " contact come first."
            ),
        ),
        (
            N_("Washing"),
            N_("Wash by hand, do not soak, dry it standing. Never in the dishwasher."),
        ),
        (N_("Oil"), N_("When it looks dry, oil it with a finish whose label allows food contact.")),
        _AIR,
    ),
}


def aftercare(use: str, reader: Reader) -> list[tuple[str, str]]:
    """Return how whoever has a piece looks after it, by where it lives."""
    return [(reader.say(name), reader.say(words)) for name, words in _AFTERCARE[use]]


def care(commission: CommissionView, reader: Reader) -> list[tuple[str, str]]:
    """Return what the wood and its finish ask of whoever has the piece."""
    own = [_OF_USE[commission.use]]
    if commission.use == "food":  # it is still wood that hangs or lies indoors
        own.insert(0, _OF_USE["indoor"])
    return [(reader.say(name), reader.say(words)) for name, words in (*_WOOD, *own)]


def conditions(quote: QuoteView, reader: Reader) -> tuple[list[tuple[str, str]], tuple[str, str]]:
    """Return how long a quote stands, when work starts and what changes mean; and the rights."""
    say = reader.say
    starts = _WITH_DEPOSIT if quote.deposit else _ON_ACCEPTANCE
    first = [
        (say(_STANDS[0]), say(_STANDS[1]).format(day=reader.day(quote.valid_until))),
        (say(_STARTS), say(starts)),
        (say(_CHANGES[0]), say(_CHANGES[1])),
    ]
    return first, (say(_RIGHTS[0]), say(_RIGHTS[1]))
