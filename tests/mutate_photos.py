"""Photos with changed bits, cuts, swapped parts and edited headers, read as a painter would.

Run by hand:

    PYTHONPATH=service:tests python tests/mutate_photos.py [COUNT] [SEED]

Each must be refused in words, or answered within the stated radius, within 2 s and 1 GB.
A small share runs in the suite, without the clock.
"""

# ruff: noqa: T201 - prints its account

from __future__ import annotations

import io
import json
import resource
import sys
import time
from collections import Counter
from functools import cache
from pathlib import Path

import numpy as np
from PIL import Image

from showthrough.colour.difference import ciede2000
from showthrough.errors import InputError
from showthrough.jobs.photos.photos import read_chip, read_drawdown, read_surface

FOLDER = Path(__file__).parents[1] / "examples" / "photos"
PHOTOS = json.loads((FOLDER / "truth.json").read_text("utf-8"))["photos"]
WAYS = ("bit", "cut", "cut and closed", "swap", "header")


@cache
def sources():
    """Whole files: the example photos and one of them in the other formats, with their truth."""
    import pillow_heif

    pillow_heif.register_heif_opener()
    found = [(name, name, (FOLDER / name).read_bytes()) for name in PHOTOS]
    with Image.open(FOLDER / "chip-daylight.jpg") as image:
        small = image.convert("RGB").resize((400, 300))
    for kind, options in (
        ("JPEG", {"quality": 85, "progressive": True}),
        ("JPEG", {"quality": 85, "restart_marker_rows": 2}),
        ("PNG", {}),
        ("WEBP", {"quality": 85}),
        ("HEIF", {"quality": 85}),
    ):
        out = io.BytesIO()
        small.save(out, kind, **options)
        name = " ".join(["small", kind, *(key for key in options if key != "quality")])
        found.append((name, "chip-daylight.jpg", out.getvalue()))
    return found


def mutated(rng, data, way):
    """The file damaged in one way."""
    changed = bytearray(data)
    length = len(data)
    if way in ("bit", "header"):
        bit = int(rng.integers(8 * (min(700, length) if way == "header" else length)))
        changed[bit // 8] ^= 1 << bit % 8
    elif way == "swap":
        size = int(rng.integers(8, max(9, length // 6)))
        one, two = sorted(rng.integers(0, length - size, 2).tolist())
        changed[one : one + size], changed[two : two + size] = (
            data[two : two + size],
            data[one : one + size],
        )
    else:
        del changed[int(rng.integers(length)) :]
        if way == "cut and closed":
            changed += b"\xff\xd9"
    return bytes(changed)


def beyond(truth_name, data):
    """By how many radii the answer misses the truth.

    Raises:
        InputError: The file is refused.
    """
    truth = PHOTOS[truth_name]
    if "scattering_per_um" in truth:
        paint = read_drawdown(truth["request"], data)
        off = abs(np.log(paint.scattering_per_um / truth["scattering_per_um"]))
        return float(off / (2.0 * np.log(paint.spread)))
    if "patches" in truth:
        found = read_surface(data, truth["request"]).patches
        # A patch of little area may be a mixture at an edge.
        return max(
            min(float(ciede2000(p.lab, t["lab"])) for t in truth["patches"]) / p.radius
            for p in found
            if p.share > 0.05
        )
    colour = read_chip(data, truth["request"]).colour
    return float(ciede2000(colour.lab, truth["lab"])) / colour.radius


def run(count, seed, most_s=None):
    """What came of so many damaged photos: a count of ends, and those that break the promise."""
    rng = np.random.default_rng(seed)
    ends, broken = Counter(), []
    chosen = sources()
    for number in range(count):
        name, truth_name, data = chosen[rng.integers(len(chosen))]
        way = WAYS[rng.integers(len(WAYS))]
        bad = mutated(rng, data, way)
        start = time.process_time()
        try:
            off = beyond(truth_name, bad)
            end = "answered" if off <= 1.0 else "beyond"
        except InputError as error:
            end = (
                "refused"
                if "Error" not in str(error) and "object at" not in str(error)
                else "words"
            )
        except Exception as error:  # noqa: BLE001 - any other error is what is looked for
            end = f"{type(error).__name__}: {error}"[:80]
        if most_s is not None and time.process_time() - start > most_s:
            broken.append((number, name, way, "slow"))
        ends[name, end] += 1
        if end not in ("answered", "refused"):
            broken.append((number, name, way, end))
    return ends, broken


def main():
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    ends, broken = run(count, seed, most_s=2.0)
    for (name, end), number in sorted(ends.items()):
        print(f"{name:30s} {end:12s} {number}")
    for one in broken:
        print(*one)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    print(f"{len(broken)} of {count} break the promise; most memory {peak:.2f} GB")


if __name__ == "__main__":
    main()
