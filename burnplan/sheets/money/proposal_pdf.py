"""The proposal on paper, laid out as other letters are."""

import os
from collections.abc import Callable

from burnplan.desk.derived.studio_settings import Settings
from burnplan.sheets.money.letter import (
    Grid,
    Letter,
    Pictured,
    Pictures,
    Prose,
    Section,
    Signature,
    SmallPrint,
)
from burnplan.sheets.money.letter_pdf import letter_paper, print_spelling, write_letter
from burnplan.sheets.money.proposal import Proposal
from burnplan.sheets.money.wood_pictures import Pictures as Seen
from burnplan.sheets.reader import Spelled
from burnplan.sheets.writing import Written
from burnplan.wording import N_


def write_proposal(
    said: Callable[[Spelled], Proposal],
    seen: Seen,
    settings: Settings,
    path: str | os.PathLike[str],
) -> Written:
    """Write a proposal as a PDF."""
    return write_letter(proposal_letter(said(print_spelling), seen), path, letter_paper(settings))


def proposal_letter(said: Proposal, seen: Seen) -> Letter:
    """Return a proposal as a letter."""
    say, several = said.say, len(said.choices) > 1
    beside = tuple(
        Pictured(image, one.mm, f"{one.letter}  {one.size}" if several else one.size)
        for one, image in zip(said.choices, seen.sizes, strict=True)
    )
    scale = Pictured(None, said.scale.mm, said.scale.name)
    sizes = say(N_("Sizes in true relation") if several else N_("How large it is"))
    sections: list[Section] = [Prose("", said.remark)] if said.remark else []
    sections += [
        Pictures("", (_large(said, seen),)),
        Pictures(sizes, (*beside, scale)),
        _prices(said),
    ]
    if said.dates:
        sections.append(Prose("", said.dates))
    sections += [
        Prose(say(N_("What is included")), "\n".join(said.included)),
        Prose(say(N_("How to say yes")), "\n".join(said.yes)),
        SmallPrint(say(N_("Wood, finish and care")), said.care),
        SmallPrint(say(N_("Terms")), said.terms),
    ]
    if not said.state:
        sentence = (
            N_("I accept proposal {number} in the size marked here:   {letters}")
            if several
            else N_("I accept proposal {number} for {price}, on the terms above.")
        )
        letters = "   ".join(f"☐ {one.letter}" for one in said.choices)
        signed = say(sentence).format(number=said.number, letters=letters, price=said.own.price)
        sections.append(Signature(signed))
    return Letter(
        kind=said.kind,
        studio=said.studio,
        sender="\n".join(said.sender),
        facts=(
            (say(N_("Date")), said.issued),
            (say(N_("Valid until")), said.valid_until),
        ),
        title=said.title,
        detail=f"{said.own.size} · {said.detail}",
        sections=tuple(sections),
        number=said.number,
        recipient=(said.recipient,) if said.recipient else (),
        mark=said.state,
        language=said.reader.language,
        say=say,
        image=seen.mark,
    )


def _large(said: Proposal, seen: Seen) -> Pictured:
    """Return its own size, large; while there is no picture the board itself, if it was taken."""
    if said.has_picture or seen.on_own_wood or seen.board is None:
        return Pictured(seen.large, said.own.mm, said.caption)
    width, height = seen.board.size
    return Pictured(seen.board, (float(width), float(height)), said.caption)


def _prices(said: Proposal) -> Grid:
    """Return the sizes as columns: what each is made of, its price, its date, when it is due."""
    say, several = said.say, len(said.choices) > 1
    heads = tuple(f"{one.letter}  {one.size}" if several else one.size for one in said.choices)
    rows: list[tuple[str, tuple[str, ...]]] = [
        (say(N_("Price")), tuple(one.price for one in said.choices))
    ]
    for part in ("lines", "due"):
        labels = dict.fromkeys(label for one in said.choices for label, _ in getattr(one, part))
        for label in labels:
            amounts = tuple(dict(getattr(one, part)).get(label, "–") for one in said.choices)
            rows.append((label, amounts))
    if any(one.ready for one in said.choices):
        rows.append((say(N_("Ready by")), tuple(one.ready or "–" for one in said.choices)))
    return Grid(say(N_("Prices and dates")), heads, tuple(rows))
