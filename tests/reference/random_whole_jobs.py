"""Seeded random jobs that say something of the whole work: areas, cans, room, days, money.

All colours, names, cans and prices are invented.
"""

from __future__ import annotations

import random
from typing import Any

from reference.random_jobs import random_job

_SHAPES: tuple[dict[str, Any], ...] = (
    {"shape": "panel", "width": "80,5 cm", "height": "2 ft 3 1/2 in", "faces": 2},
    {"shape": "carcass", "width": 900, "depth": "40 cm", "height": "1.6 m"},
    {"shape": "tapered_round_leg", "diameter_top": "6 cm", "diameter_foot": "3 cm",
     "length": "70 cm", "count": 4},
    {"shape": "framed_door", "width": "44 cm", "height": "150 cm", "count": 2, "faces": 2},
)  # fmt: skip
_STEPS = ("prime", "bind", "block", "bond", "seal", "spot seal", "undercoat")


def _cans(rng: random.Random) -> list[dict[str, Any]]:
    rows = [
        {"ml": 250, "price": "9.50"},
        {"size": "0.75 l", "price": "21,90 EUR"},
        {"size": "1 qt", "price": 24},
        {"size": "2.5 l", "price": "58.00"},
    ]
    return rng.sample(rows, rng.randint(1, 3))


def _supply(rng: random.Random) -> dict[str, Any]:
    out: dict[str, Any] = {}
    if rng.random() < 0.6:
        out["cans"] = _cans(rng)
    if rng.random() < 0.3:
        out["shelf_ml"] = [rng.randint(0, 400) for _ in range(rng.randint(1, 3))]
    for key, low, high in (
        ("recoat_h", 1, 24), ("handle_h", 4, 72), ("cure_d", 3, 40), ("label_film_um", 60, 120)
    ):  # fmt: skip
        if rng.random() < 0.2:
            out[key] = rng.randint(low, high)
    return out


def _area(rng: random.Random) -> dict[str, Any]:
    how = rng.random()
    if how < 0.4:
        return {"area_m2": round(rng.uniform(0.05, 6.0), 2)}
    if how < 0.5:
        return {"area_ft2": rng.randint(2, 60)}
    return {"shape": rng.sample(_SHAPES, rng.randint(1, 2))}


def _finish(rng: random.Random) -> dict[str, Any]:
    if rng.random() < 0.4:
        return {"kind": "wax"}
    return {"kind": "clear", "coats": rng.randint(1, 3), **_supply(rng)}


def _bench(rng: random.Random, application: dict[str, Any]) -> None:
    if rng.random() < 0.5:
        application["openness"] = rng.choice(("flat panel", "carcass", "chair or spindles"))
    if application["tool"] == "spray" and rng.random() < 0.5:
        application["gun"] = rng.choice(("hvlp", "conventional"))
    if rng.random() < 0.3:
        application["thinning"] = round(rng.uniform(0.0, 0.3), 2)
    if rng.random() < 0.2 and application["tool"] != "aerosol":
        application["transfer_efficiency"] = round(rng.uniform(0.2, 0.95), 2)
    if rng.random() < 0.2:
        application["session_loss_ml"] = rng.randint(0, 80)
    if rng.random() < 0.2:
        application["flips"] = True


def _group(rng: random.Random, name: str) -> dict[str, Any]:
    area = _area(rng)
    out: dict[str, Any] = {"name": name, **area}
    own = random_job(rng)
    if rng.random() < 0.4:
        out["topcoat"] = own["topcoat"] | _supply(rng)
    if rng.random() < 0.4:
        out["surface"] = own["surface"]
    if rng.random() < 0.4:
        out["application"] = own["application"]
        _bench(rng, out["application"])
    if rng.random() < 0.3:
        out["finish"] = _finish(rng)
    return out


def random_whole_job(rng: random.Random, most_groups: int = 3) -> dict[str, Any]:
    """One job of up to so many groups that every schema accepts."""
    job = random_job(rng)
    job.pop("finishes", None)
    job["topcoat"] |= _supply(rng)
    _bench(rng, job["application"])
    groups = rng.choice((0, 0, *range(1, most_groups + 1)))
    if groups:
        job["group"] = [_group(rng, f"group {i + 1}") for i in range(groups)]
    elif rng.random() < 0.9:
        area = _area(rng)
        job |= {"group": [{"name": "all of it", **area}]} if "shape" in area else area
    for row in job.get("undercoat", ()):
        if rng.random() < 0.5:
            row["shelf_ml"] = rng.randint(0, 900)
    job |= {"unit": "mm", "units": rng.choice(("metric", "metric", "us"))}
    job["pieces"] = rng.choice((1, 1, 1, 2, 5))
    for key, often, made in (
        ("finish", 0.3, _finish),
        ("product", 0.5, _products),
        ("room", 0.5, _room),
        ("days", 0.5, _days),
        ("money", 0.9, _money),
        ("buying", 0.3, lambda rng: {"wished": rng.choice((0.5, 0.8, 0.95)), "keep_ml": 50}),
        ("rank_by", 0.3, lambda rng: rng.choice(("money", "days"))),
        ("test_piece", 0.2, lambda rng: {"coats": rng.randint(1, 4), "enough": rng.random() < 0.5}),
    ):
        if rng.random() < often:
            job[key] = made(rng)
    return job


def _products(rng: random.Random) -> list[dict[str, Any]]:
    return [{"step": step, **_supply(rng)} for step in rng.sample(_STEPS, rng.randint(1, 3))]


def _room(rng: random.Random) -> dict[str, Any]:
    warm = rng.randint(5, 30)
    out = {"temperature_c": warm, "humidity_percent": rng.randint(20, 95)}
    return out | ({"night_c": warm - rng.randint(0, 9)} if rng.random() < 0.5 else {})


def _days(rng: random.Random) -> dict[str, Any]:
    out: dict[str, Any] = {"zone": rng.choice(("Europe/Berlin", "America/New_York", "UTC"))}
    if rng.random() < 0.5:
        out["week"] = {"mon": "08:00-12:00", "wed": "13:00-18:30", "sat": "09:00-16:00"}
    if rng.random() < 0.5:
        out["start"] = "2027-03-26"
    return out


def _money(rng: random.Random) -> dict[str, Any]:
    said = (
        ("labour_per_hour", "24.00"), ("purchase", 60), ("hardware", "38,50"), ("sheet", "0.80"),
        ("fees", "3.33"), ("tax_rate", "19 %"), ("charge", "paint used"),
    )  # fmt: skip
    out: dict[str, Any] = {"currency": "EUR"} | {k: v for k, v in said if rng.random() < 0.5}
    if rng.random() < 0.6:
        out[rng.choice(("margin", "markup"))] = "0.4"
    return out


def random_whole_jobs(count: int, seed: int, most_groups: int = 3) -> list[dict[str, Any]]:
    """``count`` jobs, the same for the same seed."""
    rng = random.Random(seed)  # noqa: S311 - no secret, a repeatable sequence
    return [random_whole_job(rng, most_groups) for _ in range(count)]
