"""The workbench by lamp and by daylight."""

from textual.theme import Theme

# The same by lamp and by daylight: every widget has these, shown or not, and a colour that
# changes on all of them would hold up the change of light.
_BOTH = {
    "scrollbar": "#8a7867",
    "scrollbar-hover": "#bd6a35",
    "scrollbar-active": "#bd6a35",
    "scrollbar-background": "transparent",
    "link-color": "initial",
    "link-color-hover": "initial",
    "link-background-hover": "initial",
}


def _theme(name: str, *, dark: bool, **colours: str) -> Theme:
    """Return a theme of roles; each is told from the others in every depth of colour."""
    primary, foreground = colours["primary"], colours["foreground"]
    return Theme(
        name=name,
        primary=primary,
        secondary=colours["secondary"],
        accent=primary,
        foreground=foreground,
        background=colours["background"],
        surface=colours["surface"],
        panel=colours["panel"],
        success=colours["success"],
        warning=colours["warning"],
        error=colours["error"],
        dark=dark,
        variables={
            **_BOTH,
            "foreground-muted": colours["muted"],
            "primary-ink": colours["ink"],
            "line": colours["line"],
            # Wood beside a zone that is burned, and what of it was burned before.
            "wood": colours.get("wood", colours["panel"]),
            "wood-burned": colours.get("burned", colours["line"]),
            "cursor": colours["cursor"],
            "border": primary,
            "footer-background": colours["panel"],
            "block-cursor-background": colours["cursor"],
            "block-cursor-foreground": foreground,
            "input-selection-background": f"{primary} {'35%' if dark else '25%'}",
        },
    )


# Contrasts by WCAG 2.2 on every ground: text at least 7:1, quiet and coloured text 4.5:1, as well
# in 256 colours and as greys. Grounds are so near to grey that 256 colours keep them apart.
LAMP = _theme(
    "lamplight", dark=True,
    background="#14110f", surface="#1d1a17", panel="#2b2722", cursor="#45280f", line="#4a443e",
    foreground="#eae1d5", muted="#b5a99e", primary="#e9864d", secondary="#c9a27e", ink="#14110f",
    success="#a2c874", warning="#ffca5b", error="#ff897d",
)  # fmt: skip
DAY = _theme(
    "daylight", dark=False,
    background="#fff8e4", surface="#fffdf9", panel="#e9e0d2", cursor="#f6d3b3", line="#c6bfb5",
    foreground="#2a1b0f", muted="#61564b", primary="#8b2c00", secondary="#7a5a3a", ink="#fffdf9",
    success="#2d5609", warning="#6f4f00", error="#a80c17",
)  # fmt: skip
# Of the sixteen colours themselves. How they look is the terminal's own affair; parts are told
# by their frames there, and the cursor by its line.
LAMP_16 = _theme(
    "lamplight-16", dark=True,
    background="#000000", surface="#000000", panel="#000000", cursor="#000000", line="#555555",
    foreground="#ffffff", muted="#aaaaaa", primary="#55ffff", secondary="#aaaaaa", ink="#000000",
    success="#55ff55", warning="#ffff55", error="#ff5555", wood="#555555", burned="#aaaaaa",
)  # fmt: skip
DAY_16 = _theme(
    "daylight-16", dark=False,
    background="#ffffff", surface="#ffffff", panel="#ffffff", cursor="#ffffff", line="#aaaaaa",
    foreground="#000000", muted="#555555", primary="#0000aa", secondary="#555555", ink="#ffffff",
    success="#00aa00", warning="#aa5500", error="#aa0000", wood="#aaaaaa", burned="#555555",
)  # fmt: skip


def lights(colour_system: str | None) -> tuple[Theme, Theme]:
    """Return the theme by lamp and by daylight for what a terminal shows, as rich names it."""
    return (LAMP_16, DAY_16) if colour_system in ("standard", "windows") else (LAMP, DAY)
