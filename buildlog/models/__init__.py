"""The records. One noun a file; the words are those of the trade (DEVELOPERS.md lists them)."""

from .accounts import Account, OneTimeLink, SignedInPhone, Throttle, folded
from .builds import Build, Frame, Station
from .cards import CardPrint, PrinterCheck
from .clubs import Club, ClubMember, ClubYard
from .instruments import Epoch, Instrument, InstrumentEvent, ZeroCorrection
from .links import Question, ShareLink
from .openings import Opening, Strake
from .people import Membership, Person
from .photos import Photo, PhotoChange, PhotoMark, PhotoRendition, PhotoSeries
from .planks import EdgeDressed, Plank, PlankStep
from .plans import (
    PlanBelt,
    PlanGirth,
    PlanOpening,
    PlanPlank,
    PlanRevision,
    PlanStrake,
    PlanWidth,
    RuleSet,
)
from .readings import Amendment, Reading, Unchangeable
from .rows import NM_PER_MM, Side, Side3, Size
from .sessions import Mishap, Session, Tip, Worry
from .shop import CautionSeen, Lot, Purchase, Supply, TestJoint, TestStrip
from .tables import TableImport
from .work import Event, HiddenWarning, Job, Review, TakenItem

__all__ = [
    "Account", "Amendment", "Build", "CardPrint", "CautionSeen", "Club", "ClubMember", "ClubYard",
    "EdgeDressed", "Epoch", "Event", "Frame", "HiddenWarning", "Instrument", "InstrumentEvent", "Job", "Lot",
    "Membership", "Mishap", "NM_PER_MM", "OneTimeLink", "Opening", "Person", "Photo", "PhotoChange", "PhotoMark",
    "PhotoRendition", "PhotoSeries", "PlanBelt", "PlanGirth", "PlanOpening", "PlanPlank", "PlanRevision", "PlanStrake",
    "PlanWidth", "Plank", "PlankStep", "PrinterCheck", "Purchase", "Question", "Reading", "Review", "RuleSet",
    "Session", "ShareLink", "Side", "Side3", "SignedInPhone", "Size", "Station", "Strake", "Supply",
    "TableImport", "TakenItem", "TestJoint", "TestStrip", "Throttle", "Tip", "Unchangeable", "Worry", "ZeroCorrection",
    "folded",
]  # fmt: skip
