"""Simulated painters whose truth is known: how often what was learned from their jobs holds it.

Each painter has one to five paints (x/÷ 1.4), one to three tools (x/÷ 1.25) and 1 to 30 finished
jobs, all drawn from the very law that the learning assumes (jobs x/÷ 1.15 apart); of the entries
a share may be wild, any count of 1 to 12 alike. Asked is u of one more job.

    python tests/reference/simulate_painters.py [painters]
"""

from __future__ import annotations

import math
import sys

import numpy as np

from showthrough.records.learning.likelihood import JobCount
from showthrough.records.learning.posterior import learn

PAINT, TOOL, JOB = math.log(1.4), math.log(1.25), math.log(1.15)
CV, Z = 0.25, 1.2816
EIGHTY = 1.2816
"""Standard deviations to either side that hold 80 % of a normal distribution."""


def count_of(u):
    """Coats whose thin spots hold exp(u) coats of film: counted up, 13 where 12 do not."""
    return next((n for n in range(1, 13) if n - Z * CV * math.sqrt(n) >= math.exp(u)), 13)


def finished(rng, paints, tools, wild):
    """One entry of a painter with these effects."""
    k, q = rng.integers(len(paints)), rng.integers(len(tools))
    need = rng.uniform(math.log(0.7), math.log(7.0))
    coats = count_of(need + paints[k] + tools[q] + JOB * rng.standard_normal())
    if rng.random() < wild:
        coats = int(rng.integers(1, 13))
    outcome = "enough"
    if coats > 12:
        coats, outcome = 12, "gave up"
    elif rng.random() < 0.1:
        outcome = "did not look"
        coats = min(12, coats + int(rng.integers(3)))
    return JobCount(f"paint {k}", f"tool {q}", need, coats, outcome, PAINT, TOOL)


def painter(rng, wild, most_jobs=30):
    """Finished jobs, the effects asked for, and u of one more job less what the model says."""
    paints = PAINT * rng.standard_normal(rng.integers(1, 6))
    tools = TOOL * rng.standard_normal(rng.integers(1, 4))
    jobs = [finished(rng, paints, tools, wild) for _ in range(rng.integers(1, most_jobs + 1))]
    return jobs, paints[0] + tools[0] + JOB * rng.standard_normal()


def coverage(painters, wild, seed):
    """Share of painters whose truth lies in the 80 % range, and the range's mean factors."""
    rng = np.random.default_rng(seed)
    held, before, after = 0, 0.0, 0.0
    plain = math.sqrt(PAINT**2 + TOOL**2 + JOB**2)
    for _ in range(painters):
        jobs, truth = painter(rng, wild)
        found = learn(jobs, "paint 0", "tool 0", PAINT, TOOL)
        mean, sigma = 0.0, plain
        if found is not None:
            mean = found.paint + found.tool
            sigma = math.sqrt(found.paint_var + found.tool_var + 2.0 * found.covariance + JOB**2)
        held += abs(truth - mean) <= EIGHTY * sigma
        before, after = before + plain, after + sigma
    return held / painters, math.exp(before / painters), math.exp(after / painters)


def main():
    """Print the coverages."""
    painters = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    for wild in (0.0, 0.05):
        held, before, after = coverage(painters, wild, seed=1)
        sys.stdout.write(
            f"{painters} painters, {wild:.0%} wild jobs: the 80 % range of u holds {held:.1%}; "
            f"its factor of one standard deviation goes from {before:.2f} to {after:.2f}\n"
        )


if __name__ == "__main__":
    main()
