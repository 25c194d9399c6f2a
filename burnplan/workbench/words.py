"""What the desk says can be done, as it is done here: a key, a page, or the command line."""

from typing import Final, NamedTuple

from burnplan.sentences import Action, Do, Sentence
from burnplan.show import commands
from burnplan.workbench.top import TABS


class Key(NamedTuple):
    """Done by an action of the workbench, of that name."""

    name: str


HERE: Final[dict[Action, Key | str]] = {
    "blank.climate": Key("shop_air"),
    "blank.list": TABS["blanks"],
    "blank.moisture": Key("moisture"),
    "blank.override": Key("override"),
    "blank.release": Key("release"),
    "book.backup": Key("backup"),
    "book.history": Key("history"),
    "client.add": Key("new"),  # clients are added with what they order
    "commission.list": TABS["jobs"],
    "commission.size": Key("edit"),
    "consent.how": "how it was said",
    "consent.note": Key("consent"),
    "consent.shown_as": Key("consent"),
    "days_off.list": Key("day_on"),
    "drop.owed": Key("drop"),
    "finish.coats": Key("coats"),
    "finish.plan": Key("coats"),
    "hold.override": Key("hold_for"),
    "hold.reason": "the reason",
    "ladder.add": Key("new_ladder"),
    "ladder.list": Key("ladders"),
    "letter.because": "your own words",
    "letter.until": "the new date",
    "lettering.list": Key("letterings"),
    "photo.add": Key("progress_photo"),
    "photo.compare": Key("compare_photo"),
    "photo.list": Key("progress_photos"),
    "promise.hours": "the hours",
    "quote.because": "the reason",
    "quote.hours": "the hours",
    "quote.issue": Key("quote"),
    "reference.add": Key("photo"),
    "session.correct": Key("correct_session"),
    "session.length": "how long it was",
    "session.log": Key("log"),
    "session.planned": Key("unplan"),
    "session.start": Key("start"),
    "session.start_on": Key("start"),
    "session.stop": Key("stop"),
    "session.unplan": Key("unplan"),
    "settings.target": Key("settings"),
    "step.list": "its page",
    "step.tick": Key("tick"),
    "step.untick": Key("tick"),
    "whatif.size": "the sizes",
}
"""What can be done here; all else is left to the command line."""


def in_words(said: Sentence) -> str:
    """Return a sentence for who sits at the workbench.

    Examples
    --------
    >>> in_words(Sentence("Add one: ", Do("reference.add", job="C-0007")))
    'Add one: key r on its page'
    >>> in_words(Sentence("See ", Do("days_off.list")))
    'See ctrl+p, Work on days that were off'
    """
    return said.worded(lambda do, _before: _done(do))


def _done(do: Do) -> str:
    here = HERE.get(do.action)
    if isinstance(here, Key):
        return _pressed(here)
    if here is not None:
        return here
    if do.action in commands.OPTIONS:
        return f"{commands.typed(do)} on the command line"
    return f"'{commands.typed(do)}' on the command line"


def _pressed(key: Key) -> str:
    """Return where an action is: its key, with the page it works on, or the palette."""
    from burnplan.workbench.actions import ALL  # whose forms word errors, too

    action = ALL[key.name]
    if not action.key:
        return f"ctrl+p, {action.words}"
    if not action.page:
        return f"key {action.key}"
    return f"key {action.key} on {'its page' if action.page == 'job' else TABS[action.page]}"
