"""What one finished job says of hiding: how likely its outcome was, whatever paint and tool do.

u is the natural logarithm of the film that hides over the film that one coat left. A count of
coats says between which bounds u lay, since n coats are enough when their thin spots hold the
film that hides: u <= ln c(n), with c(n) as ``film.coats.thin_spot_coats`` has it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.defaults import usual
from showthrough.film.coats import EVENNESS_CV, MOST_COATS, normal_cdf, thin_spot_coats

Outcome = Literal["enough", "gave up", "did not look"]
"""enough: so many were and one fewer was not; gave up: so many were not; did not look: so many
were, and nobody saw whether fewer would have been."""

JOB_SIGMA = math.log(usual("learning.spread between jobs"))
"""Standard deviation of u from job to job with one paint and one tool."""

WILD_SHARE = usual("learning.wild share")
"""Part of the entries whose count is none of this paint and tool: a slip, a half-done job."""

_WILD_COUNTS = MOST_COATS + 1
"""Counts that a wild entry has alike: 1 to 12, and more, so that giving up at 12 may be wild."""


@dataclass(frozen=True, slots=True)
class JobCount:
    """One finished job as far as it says something of hiding."""

    paint: str
    """What tells its paint from others."""
    tool: str
    """What tells the painter's hand with this tool from others."""
    log_need: float
    """u as the model had it before the job."""
    coats: int
    """Topcoats, 1 to 12."""
    outcome: Outcome
    paint_sigma: float
    """Standard deviation of ln hiding film by what was known of the paint."""
    tool_sigma: float
    """The same of the film of one coat."""
    lost: float = 0.0
    """Part of the first coat that the patch drank."""
    evenness_cv: float = EVENNESS_CV
    other_sigma: float = 0.0
    """Standard deviation of u by what was unsure in this job alone: undercoat, readings."""


def log_likelihood(count: JobCount, effect: FloatArray) -> FloatArray:
    """Logarithm of the chance of what a job came to, by effects of paint and tool together.

    Args:
        count: the job.
        effect: what paint and tool add to u, any shape.

    Returns:
        The same shape. With a chance of 1 in 20 the count is any of 1 to 12 or more alike, so
        that one wild entry among sound ones hardly counts.
    """
    n, sigma = count.coats, math.hypot(JOB_SIGMA, count.other_sigma)
    fewer, so_many = thin_spot_coats([n - 1, n], count.lost, count.evenness_cv)

    def held(coats: float) -> FloatArray:
        """Chance that the thin spots of so many coats hold the film."""
        if coats <= 0.0:
            return np.zeros_like(effect)
        return normal_cdf((math.log(coats) - count.log_need - effect) / sigma)

    if count.outcome == "enough":
        sound, wild = held(so_many) - held(fewer), 1.0 / _WILD_COUNTS
    elif count.outcome == "gave up":
        sound, wild = 1.0 - held(so_many), (_WILD_COUNTS - n) / _WILD_COUNTS
    else:
        sound, wild = held(so_many), n / _WILD_COUNTS
    mixed = (1.0 - WILD_SHARE) * sound + WILD_SHARE * wild
    return np.asarray(np.log(mixed))
