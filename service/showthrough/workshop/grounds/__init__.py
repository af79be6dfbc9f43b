"""What lies under the paint: its kinds, what it needs whatever the optics say, its preparation."""

from showthrough.workshop.grounds.kinds import (
    GROUND_KINDS,
    Bleeds,
    Chemistry,
    Condition,
    Ground,
    GroundKind,
    LeadTest,
    Stain,
)
from showthrough.workshop.grounds.needs import Need, NeedKind, Primer, needs_of
from showthrough.workshop.grounds.preparation import (
    Question,
    Unsound,
    Work,
    preparation_of,
    questions_of,
    unsound,
)

__all__ = [
    "GROUND_KINDS",
    "Bleeds",
    "Chemistry",
    "Condition",
    "Ground",
    "GroundKind",
    "LeadTest",
    "Need",
    "NeedKind",
    "Primer",
    "Question",
    "Stain",
    "Unsound",
    "Work",
    "needs_of",
    "preparation_of",
    "questions_of",
    "unsound",
]
