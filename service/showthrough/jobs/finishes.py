"""Hardware finishes beside a topcoat."""

from __future__ import annotations

from showthrough.colour.lights import FloatArray
from showthrough.jobs.result import FinishShown


def finishes_beside(topcoat_lab: FloatArray, shortlist: list[str] | None) -> list[FinishShown]:
    return []
