"""What a prediction and its start cost, by hand: ``python tests/bench_predict.py``.

Least of several runs, wall time beside the process's own time, since the machine may be shared.
Limits that the project set itself stand beside each line.
"""

from __future__ import annotations

import os
import random
import subprocess
import sys
import time
from collections.abc import Callable
from typing import Any

import numpy as np

JOB = '{"topcoat":{"colour":"lab(66 -24 55)"},"surface":[{"colour":"6b4a2a"}]}'


def least(call: Callable[[], Any], runs: int) -> tuple[float, float]:
    """Least wall and least own time of a call, ms."""
    wall, own = [], []
    for _ in range(runs):
        w, c = time.perf_counter(), time.process_time()
        call()
        wall.append(time.perf_counter() - w)
        own.append(time.process_time() - c)
    return 1e3 * min(wall), 1e3 * min(own)


def least_process(argv: list[str], runs: int) -> tuple[float, float]:
    """The same for a process of its own, with compiled modules kept as usual."""
    env = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    wall, own = [], []
    for _ in range(runs):
        before, w = os.times(), time.perf_counter()
        subprocess.run(argv, check=True, stdout=subprocess.DEVNULL, env=env)
        wall.append(time.perf_counter() - w)
        after = os.times()
        own.append(
            after.children_user
            - before.children_user
            + after.children_system
            - before.children_system
        )
    return 1e3 * min(wall), 1e3 * min(own)


def say(what: str, times: tuple[float, float], note: str = "") -> None:
    """One line of the report."""
    wall, own = times
    sys.stdout.write(f"{what:<46} {wall:8.2f} ms ({own:8.2f} of its own)  {note}\n")


def fresh_job(rng: random.Random) -> dict[str, Any]:
    """Three patches and a topcoat that no cache has seen."""

    def lab() -> list[float]:
        return [rng.uniform(25, 85), rng.uniform(-15, 15), rng.uniform(-15, 15)]

    return {
        "topcoat": {"colour": {"lab": lab()}, "volume_solids": 0.38},
        "surface": [{"name": f"patch {i}", "colour": {"lab": lab()}} for i in range(3)],
        "application": {"tool": "spray", "wet_film_um": 45},
    }


def main() -> None:
    """Print what starting and predicting cost."""
    python = sys.executable
    numpy_alone = least_process([python, "-c", "import numpy"], 9)
    say('python -c "import numpy"', numpy_alone)
    say("python -c pass", least_process([python, "-c", "pass"], 9))
    say(
        'python -c "import showthrough"',
        least_process([python, "-c", "import showthrough"], 9),
    )
    cold = least_process(
        [python, "-m", "showthrough.cli", "predict", "lab(66 -24 55)", "6b4a2a", "--json"], 9
    )
    say("command line cold, small job, JSON", cold, f"{cold[0] / numpy_alone[0]:.2f} x (at most 4)")

    from showthrough import predict
    from showthrough.film.thickness import full_colour_thickness
    from showthrough.jobs.case.prepared import prepare
    from showthrough.jobs.undercoats.reckon import reckon
    from showthrough.jobs.undercoats.ways import ways_of

    rng = random.Random(1)  # noqa: S311 - colours, no secrets
    for _ in range(5):
        predict(fresh_job(rng))
    say(
        "predict, 3 patches, fresh colours",
        least(lambda: predict(fresh_job(rng)), 60),
        "(at most 8 ms)",
    )
    known = fresh_job(rng)
    say("predict, the same job again", least(lambda: predict(known), 40))
    answer = predict(known)
    say("  its JSON", least(answer.model_dump_json, 40))

    job = prepare(fresh_job(rng))
    paint, chip = job.topcoat.paint, job.topcoat.chip_lab

    def search() -> int:
        found = reckon(job)
        ways_of(job, found)
        return len(found.candidates)

    say("undercoat search, 3 patches", least(search, 60), f"{search()} candidates (at most 10 ms)")
    each = [np.broadcast_to(v, (3, 31)) for v in (paint.absorption, paint.scattering)]
    plain = least(
        lambda: full_colour_thickness(*each, np.asarray(job.beneath), chip),
        60,
    )
    say("  hiding films over the plain patches", plain)


if __name__ == "__main__":
    main()
