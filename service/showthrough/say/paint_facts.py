"""What the topcoat's chemistry and sheen change in the advice, and where they change nothing.

All of it is common practice without a source; the data sheet knows better.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from showthrough.say.learned import from_jobs
from showthrough.workshop.days.drying import CHEMISTRY
from showthrough.workshop.grounds.kinds import bleeds

if TYPE_CHECKING:
    from showthrough.jobs.case.prepared import PreparedJob
    from showthrough.workshop.grounds import Chemistry

RECOAT: dict[Chemistry, str] = {
    "water-borne": "4 hours",
    "alkyd": "16 to 24 hours",
    "shellac": "45 minutes",
    "lacquer": "1 hour",
    "mineral": "2 to 4 hours",
    "two-pack": "the time that its data sheet gives",
}
"""Least waiting before the next coat."""

_NAMES: dict[Chemistry, str] = {
    "water-borne": "Water-borne paint",
    "alkyd": "Alkyd paint",
    "shellac": "Shellac",
    "lacquer": "Lacquer",
    "mineral": "Mineral paint",
    "two-pack": "Two-pack paint",
}


def recoat_words(chemistry: Chemistry | None) -> str:
    """How long to wait before the next coat; of paint that nobody named, what the label says."""
    return "as its label says" if chemistry is None else RECOAT[chemistry]


def paint_facts(job: PreparedJob) -> list[str]:
    """What chemistry and sheen of the topcoat come to in this job, a sentence each."""
    topcoat = job.topcoat
    out = []
    if topcoat.chemistry is not None:
        out.append(_chemistry(job, topcoat.chemistry))
    if topcoat.sheen is not None:
        out.append(_sheen(topcoat.sheen, dark=bool(topcoat.chip_lab[0] < _DARK_L)))
    return out


_DARK_L = 45.0
"""L* below which a matt surface is seen to grey a colour, and a coat over it to deepen it."""


def _chemistry(job: PreparedJob, chemistry: Chemistry) -> str:
    grounds = [substrate.ground for substrate in job.substrates]
    usual = [bleeds(ground) for ground in grounds]
    now = [bleeds(ground, chemistry) for ground in grounds]
    stated = None if job.part is None else job.part.stock.recoat_h
    told = RECOAT[chemistry] if stated is None else f"{stated:g} h, as its label says,"
    default = " (default)" if stated is None and chemistry != "two-pack" else ""
    own = None if job.learned is None else job.learned.drying
    if own is not None and default:
        hours = math.exp(own.log_factor) * CHEMISTRY[chemistry].recoat_h.value
        told, default = f"{hours:.2g} hours", f" ({from_jobs(own.jobs)})"
    text = f"{_NAMES[chemistry]}: wait {told} between coats{default}"
    if usual != now and chemistry == "shellac":
        return f"{text}. It blocks what bleeds by itself. It changes no count of coats."
    if usual != now:
        return (
            f"{text}. It draws up little of what dissolves in water, so a test tells whether "
            "anything bleeds. It changes no count of coats."
        )
    return f"{text}. It changes no count of coats, and nothing about bleeding here."


def _sheen(sheen: str, *, dark: bool) -> str:
    if sheen == "matt":
        greys = (
            "Matt: its surface scatters light, so this dark colour dries lighter and greyer than a "
            "satin chip"
            if dark
            else "Matt: so light a colour dries much like a satin chip"
        )
        return (
            f"{greys}. Wax or a clear coat over it darkens it, and it then hides less than it did "
            "dry: judge a test piece with the wax or clear coat on. The count is for matt paint "
            "left as it dries."
        )
    if sheen == "gloss":
        return (
            "Gloss: it shows every bump and brush mark, so sand flat before the last coat. It "
            "looks deeper than a matt chip of the same paint; the count of coats stays the same."
        )
    return f"{sheen.capitalize()}: it changes nothing here, neither count nor preparation."
