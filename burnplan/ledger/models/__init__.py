"""The book's tables.

Facts: whatever can be derived (the stage of a commission, its balance, its hours
left) is not stored, but for what :mod:`burnplan.desk.derived.renewal` keeps. Rules
that hold for every row are constraints in the database; rules about what may follow
what live in :mod:`burnplan.desk`.
"""

from burnplan.ledger.models.jobs import (
    Client,
    Commission,
    Consent,
    FinishCoat,
    Lettering,
    ProgressPhoto,
    Reference,
    SpoiledPiece,
    Step,
)
from burnplan.ledger.models.keeping import History, Original
from burnplan.ledger.models.money import Payment, Quote, QuoteChoice, QuoteInstalment, QuoteLine
from burnplan.ledger.models.record import Record
from burnplan.ledger.models.studio import DayOff, Studio
from burnplan.ledger.models.time import BurnSession, Interval, PastJob, PlannedSession
from burnplan.ledger.models.wood import (
    Blank,
    BlankCondition,
    BlankPhoto,
    Climate,
    HazardOverride,
    LadderPatch,
    MoistureReading,
    OwnSpecies,
    Sanding,
    ToneLadder,
)

__all__ = [
    "Blank",
    "BlankCondition",
    "BlankPhoto",
    "BurnSession",
    "Client",
    "Climate",
    "Commission",
    "Consent",
    "DayOff",
    "FinishCoat",
    "HazardOverride",
    "History",
    "Interval",
    "LadderPatch",
    "Lettering",
    "MoistureReading",
    "Original",
    "OwnSpecies",
    "PastJob",
    "Payment",
    "PlannedSession",
    "ProgressPhoto",
    "Quote",
    "QuoteChoice",
    "QuoteInstalment",
    "QuoteLine",
    "Record",
    "Reference",
    "Sanding",
    "SpoiledPiece",
    "Step",
    "Studio",
    "ToneLadder",
]
