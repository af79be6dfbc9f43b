"""Chances of unsure colours beside plain sampling, by hand: ``python tests/bench_radius.py``.

Prints the largest miss of 12 chances a job, over seeded random jobs of 4,000 draws each, and what
a radius costs as a ratio to the same prediction without one.
"""

from __future__ import annotations

import random
import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from bench_predict import fresh_job, least
from jobs.test_uncertainty import few_chances
from reference.unsure_jobs import random_job, sampled_chances
from showthrough import predict


def misses(radii: tuple[float, ...], seed: int, jobs: int) -> np.ndarray:
    """Largest miss of each job's chances."""
    rng = np.random.default_rng(seed)
    drawn = [random_job(rng, radii) for _ in range(jobs)]
    return np.array([np.abs(few_chances(j) - sampled_chances(j, rng)).max() for j in drawn])


def main() -> None:
    """Print how near the few readings come, and what they cost."""
    for radii in ((1.0, 2.0, 4.0, 8.0), (16.0,)):
        miss = misses(radii, 41, 40)
        sys.stdout.write(
            f"radii {radii}: median {np.median(miss):.3f}, 90 % {np.quantile(miss, 0.9):.3f}, "
            f"largest {miss.max():.3f}, within 0.05 {(miss <= 0.05).sum()} of {miss.size}\n"
        )
    rng = random.Random(3)  # noqa: S311 - colours, no secrets

    def unsure(*, everything: bool) -> object:
        job = fresh_job(rng)
        job["topcoat"]["colour"]["radius"] = 4.0
        for one in job["surface"] if everything else []:
            one["colour"]["radius"] = 4.0
        return predict(job)

    sure = least(lambda: predict(fresh_job(rng)), 40)[1]
    for what, everything in (("topcoat alone", False), ("all four colours", True)):
        took = least(lambda all_=everything: unsure(everything=all_), 40)[1]
        sys.stdout.write(f"a radius on {what}: {took / sure:.2f} x a sure job\n")


if __name__ == "__main__":
    main()
