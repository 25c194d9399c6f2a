"""The usual cautions of burning wood, with where they were published.

They are reminders, not advice for a case: local codes, the makers' labels and
licensed practice come first.
"""

DEFER = "Local codes, makers' labels and professional advice come first"

SMOKE = (
    "Draw the smoke away at its source; a dust mask does not stop gases"
    " (wood smoke from charring: Fire Science Reviews 2:4, Table 1)"
)
DUST = (
    "Wood dust is a carcinogen (IARC Group 1, vol. 100C): collect it at the sander and wear a"
    " fitted dust mask (NIOSH limit 1 mg/m³)"
)
NEVER_BURN = (
    "Never burn treated, painted, stained, sealed or varnished wood, MDF, particle board, plastics"
    " or unknown reclaimed wood; absence from a list does not mean safe (HSE WIS30)"
)
HOT_TIP = (
    "Keep the hot tip on its stand, eyes protected, water at hand; cool a burn under running"
    " water, no ice or creams, and seek care"
)
BURNS = (
    "Cool a burn at once under cool running water (10 to 30 minutes, sources differ), no ice or"
    " creams, cover it loosely with something clean and seek medical care (NHS first aid for burns)"
)
FIRE = "Wood chars from about 225 °C and can smoulder on; watch the piece and the bench afterwards"
FINISH_RAGS = "Oily rags can ignite by themselves: dry them flat outdoors or keep them under water"
FOOD = "Keep burning off surfaces that touch food, and use a finish whose label allows food contact"

SESSION = (SMOKE, HOT_TIP, BURNS, FIRE, DEFER)
"""What to mind at every burn session."""
