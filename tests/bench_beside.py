"""What each use case costs beside another checkout, by hand.

``python tests/bench_beside.py OTHER/service [rounds]`` runs the package in use and the other one
in two processes, batch about batch, so that a busy machine slows both alike, and prints the
median over the rounds of the ratio of their own processor time (this one over the other), and
the ratio of the least times, which a busy machine moves least.
Colours are fresh in every job, and the same on both sides.
"""

from __future__ import annotations

import os
import random
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from bench_predict import fresh_job

BATCH = {
    "predict": 24,
    "predict, radius": 4,
    "soften": 4,
    "soften, radius": 1,
    "sweep": 4,
    "sweep, radius": 1,
    "palette": 24,
}
_SWATCHES = 6
"""Shipped swatches that a sweep with a radius takes."""


def calls() -> dict[str, Callable[[dict[str, Any]], object]]:
    """Each use case as a call of a job; names are the same in every version."""
    from showthrough import palette_for, predict, soften, sweep

    try:
        from showthrough.colour.files.swatches import shipped_swatches
    except ModuleNotFoundError:  # where they were before
        from showthrough.colour.swatches import shipped_swatches
    few = shipped_swatches("topcoats")[:_SWATCHES]
    return {
        "predict": predict,
        "predict, radius": predict,
        "soften": soften,
        "soften, radius": soften,
        "sweep": sweep,
        "sweep, radius": lambda job: sweep(job, few),
        "palette": palette_for,
    }


def jobs_of(name: str, seed: int, count: int) -> list[dict[str, Any]]:
    """Jobs of three patches; with a radius on every colour where the name says so."""
    rng = random.Random(seed)  # noqa: S311 - colours, no secrets
    jobs = [fresh_job(rng) for _ in range(count)]
    for one in (c for job in jobs for c in (job["topcoat"], *job["surface"])):
        if "radius" in name:
            one["colour"]["radius"] = 4.0
    return jobs


def work() -> None:
    """Answer "name,seed" lines with the processor time of that batch, s."""
    use_cases = calls()
    for line in sys.stdin:
        name, seed = line.rsplit(",", 1)
        jobs, call = jobs_of(name, int(seed), BATCH[name]), use_cases[name]
        before = time.process_time()
        for job in jobs:
            call(job)
        sys.stdout.write(f"{time.process_time() - before}\n")
        sys.stdout.flush()


class Worker:
    """A process that runs batches with one checkout."""

    def __init__(self, service: Path) -> None:
        env = {**os.environ, "PYTHONPATH": str(service), "OPENBLAS_NUM_THREADS": "1"}
        self.process = subprocess.Popen(
            [sys.executable, __file__, "work"],
            env=env,
            text=True,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
        )

    def batch(self, name: str, seed: int) -> float:
        """Processor time of one batch, s."""
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        self.process.stdin.write(f"{name},{seed}\n")
        self.process.stdin.flush()
        return float(self.process.stdout.readline())


def main() -> None:
    """Print the ratios."""
    here = Path(__file__).parents[1] / "service"
    this, other = Worker(here), Worker(Path(sys.argv[1]))
    rounds = int((*sys.argv, 15)[2])
    only = sys.argv[3:] or list(BATCH)
    for name in only:
        for worker in (this, other):
            worker.batch(name, 0)  # modules and tables are loaded
        took = [(this.batch(name, i), other.batch(name, i)) for i in range(1, rounds + 1)]
        ratios = sorted(a / b for a, b in took)
        low, high = ratios[len(ratios) // 10], ratios[-1 - len(ratios) // 10]
        mine, its = (1e3 * min(t) / BATCH[name] for t in zip(*took, strict=True))
        sys.stdout.write(
            f"{name:<16} {statistics.median(ratios):5.2f}  (middle 80 %: {low:.2f} to {high:.2f})"
            f"  least {mine / its:.2f}: {mine:.2f} ms beside {its:.2f}\n"
        )
        sys.stdout.flush()
    for worker in (this, other):
        worker.process.communicate()


if __name__ == "__main__":
    work() if sys.argv[1:] == ["work"] else main()
