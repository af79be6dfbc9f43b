"""Seeded random jobs that use every part of a job: for laws and for comparing two versions.

All colours, names and cans are invented.
"""

from __future__ import annotations

import math
import random
from typing import Any

_GROUNDS = ("wood", "varnish", "paint", "gloss", "laminate", "melamine", "metal", "waxed", "filler")
_FINISHES = ("606", "613", "619", "626", "satin nickel")


def _lab(rng: random.Random, most_chroma: float) -> list[float]:
    chroma, hue = rng.uniform(0.0, most_chroma), rng.uniform(0.0, 2.0 * math.pi)
    return [
        round(v, 1)
        for v in (rng.uniform(22.0, 92.0), chroma * math.cos(hue), chroma * math.sin(hue))
    ]


def _colour(rng: random.Random, most_chroma: float) -> dict[str, Any]:
    out: dict[str, Any] = {"lab": _lab(rng, most_chroma)}
    if rng.random() < 0.25:
        out["radius"] = round(rng.uniform(0.5, 6.0), 1)
    return out


def _patch(rng: random.Random, name: str) -> dict[str, Any]:
    out: dict[str, Any] = {"name": name, "colour": _colour(rng, 25.0)}
    if rng.random() < 0.7:
        out["ground"] = rng.choice(_GROUNDS)
    if rng.random() < 0.3:
        out["skin"] = rng.choice(("coated", "bare"))
    for key, often in (("porous", 0.3), ("bleeds", 0.12), ("sanded_through", 0.12)):
        if rng.random() < often:
            out[key] = rng.random() < 0.8
    return out


def _application(rng: random.Random) -> dict[str, Any]:
    out: dict[str, Any] = {"tool": rng.choice(("brush", "roller", "spray", "aerosol"))}
    how = rng.random()
    if how < 0.3:
        out["wet_film_um"] = rng.randint(20, 120)
    elif how < 0.4:
        out["paint_used"] = {"ml": rng.randint(120, 300), "area_m2": 1.9, "coats": 2}
    elif how < 0.6:
        out["coat"] = rng.choice(("light", "full"))
    if rng.random() < 0.1:
        out["evenness_cv"] = round(rng.uniform(0.1, 0.4), 2)
    return out


def random_job(rng: random.Random) -> dict[str, Any]:
    """One job of one to four patches that every schema accepts."""
    topcoat: dict[str, Any] = {"colour": _colour(rng, 45.0)}
    if rng.random() < 0.7:
        topcoat["volume_solids"] = round(rng.uniform(0.3, 0.5), 2)
    if rng.random() < 0.2:
        topcoat["label"] = {
            "contrast_ratio": round(rng.uniform(0.9, 0.99), 3),
            "spreading_rate_m2_l": rng.randint(6, 12),
        }
    if rng.random() < 0.3:
        topcoat["sheen"] = rng.choice(("matt", "eggshell", "satin", "gloss"))
    if rng.random() < 0.15:
        topcoat["bonds"] = True
    count = rng.choice((1, 1, 2, 2, 3, 4))
    job: dict[str, Any] = {
        "title": f"invented piece {rng.randint(1, 999)}",
        "topcoat": topcoat,
        "surface": [_patch(rng, f"patch {i + 1}") for i in range(count)],
        "application": _application(rng),
    }
    if rng.random() < 0.3:
        job["undercoat"] = [
            {
                "name": f"can {i + 1}",
                "colour": {"lab": _lab(rng, 15.0)},
                "bonds": rng.random() < 0.5,
                "blocks": rng.random() < 0.5,
            }
            for i in range(rng.randint(1, 2))
        ]
    if rng.random() < 0.2:
        job["finishes"] = rng.sample(_FINISHES, rng.randint(1, 3))
    return job


def random_jobs(count: int, seed: int) -> list[dict[str, Any]]:
    """``count`` jobs, the same for the same seed."""
    rng = random.Random(seed)  # noqa: S311 - no secret, a repeatable sequence
    return [random_job(rng) for _ in range(count)]
