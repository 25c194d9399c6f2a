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
# Contrasts by WCAG 2.2 on every ground: text at least 7:1, quiet and coloured text 4.5:1.
LAMP = Theme(
    name="lamplight",
    primary="#f08c4a",
    secondary="#c9a27e",
    accent="#f08c4a",
    foreground="#f1e7db",
    background="#17120e",
    surface="#221b15",
    panel="#2a211a",
    success="#a5c26a",
    warning="#f0bf5a",
    error="#ff8474",
    dark=True,
    variables={
        **_BOTH,
        "foreground-muted": "#a99c8e",
        "primary-ink": "#17120e",
        "line": "#4a3c30",
        "cursor": "#4c2c12",
        "border": "#f08c4a",
        "footer-background": "#2a211a",
        "block-cursor-background": "#4c2c12",
        "block-cursor-foreground": "#f1e7db",
        "input-selection-background": "#f08c4a 35%",
    },
)
DAY = Theme(
    name="daylight",
    primary="#9a3d0c",
    secondary="#7a5a3a",
    accent="#9a3d0c",
    foreground="#2a1d12",
    background="#fbf6ee",
    surface="#fffdf9",
    panel="#efe4d4",
    success="#3f6212",
    warning="#7d5200",
    error="#b3261e",
    dark=False,
    variables={
        **_BOTH,
        "foreground-muted": "#6b5b4b",
        "primary-ink": "#fffdf9",
        "line": "#cdbba4",
        "cursor": "#f6d3b3",
        "border": "#9a3d0c",
        "footer-background": "#efe4d4",
        "block-cursor-background": "#f6d3b3",
        "block-cursor-foreground": "#2a1d12",
        "input-selection-background": "#9a3d0c 25%",
    },
)
