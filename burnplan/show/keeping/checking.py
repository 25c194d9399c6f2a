"""What a check found, on the terminal."""

from rich.console import Group, RenderableType
from rich.text import Text

from burnplan.desk.keeping.checking import Checked
from burnplan.show.commands import in_words
from burnplan.show.console import table


def findings(done: Checked) -> RenderableType:
    """Return what is wrong, or that nothing is."""
    if not done.findings:
        return Text("The book and its photos are sound", "good")
    rows = table("", "+where", "++what", "")
    for one in done.findings:
        mark = Text("✗", "bad") if one.wrong and not one.repaired else Text("·", "soft")
        outcome = "repaired" if one.repaired else "can be repaired" if one.repairable else ""
        rows.add_row(mark, Text(one.where), Text(one.problem), Text(outcome, "soft"))
    below = [in_words(one.remedy) for one in done.findings if one.remedy.parts and not one.repaired]
    if any(one.repairable and not one.repaired for one in done.findings):
        below.append("Repair what is safe with: burnplan check --repair")
    return Group(rows, *(_in_one_piece(f"\n{said}") for said in dict.fromkeys(below)))


def _in_one_piece(said: str) -> Text:
    """Return a line with a command to copy, which must not be broken."""
    return Text(said, "soft", no_wrap=True, overflow="ignore")
