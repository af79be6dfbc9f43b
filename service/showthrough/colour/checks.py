"""Checks of the numbers in a reading; every problem is noted, none is raised early."""

from __future__ import annotations

import math
from collections.abc import Sequence

from showthrough.colour.lights import WAVELENGTHS
from showthrough.errors import InputError, OutOfRangeError, Problem, ProblemList

MAX_REFLECTANCE = 1.2
"""A band above this is a mistake (percent taken for a fraction, a fluorescent sample)."""

MAX_AB = 300.0
"""No a* or b* is larger; the most vivid object colours stay below about 190."""

_L_SLACK = 1e-6  # rounding of L* at white; #ffffff must not fail


def checked_lab(lab: Sequence[float], problems: ProblemList) -> tuple[float, ...] | None:
    """Plain floats, with every problem noted."""
    try:
        values = tuple(float(v) for v in lab)
    except (TypeError, ValueError):
        problems.add("lab", lab, "lab needs three numbers: L*, a*, b*")
        return None
    if len(values) != 3:
        problems.add("lab", lab, f"lab needs three numbers: L*, a*, b*; {len(values)} given")
    elif not all(math.isfinite(v) for v in values):
        problems.add("lab", lab, "lab must be finite numbers: L*, a*, b*", "out_of_range")
    else:
        lightness = values[0]
        if not -_L_SLACK <= lightness <= 100.0 + _L_SLACK:
            problems.add(
                "lab",
                lab,
                f"L* {lightness:g} is outside 0 to 100, from black to white",
                "out_of_range",
            )
        for axis, value in zip("ab", values[1:], strict=True):
            if abs(value) > MAX_AB:
                problems.add(
                    "lab",
                    lab,
                    f"{axis}* {value:g} is outside -{MAX_AB:g} to {MAX_AB:g}, "
                    "more than any colour can have",
                    "out_of_range",
                )
        values = (min(max(lightness, 0.0), 100.0), *values[1:])
    return values


def checked_bands(bands: Sequence[float], problems: ProblemList) -> tuple[float, ...] | None:
    """Plain floats, with every problem noted."""
    try:
        values = tuple(float(v) for v in bands)
    except (TypeError, ValueError):
        problems.add("reflectance", bands, "a spectrum must be numbers, one for each band")
        return None
    if len(values) != WAVELENGTHS.size:
        problems.add(
            "reflectance",
            bands,
            f"a spectrum needs {WAVELENGTHS.size} bands, 400 to 700 nm by 10 nm; "
            f"{len(values)} given",
        )
        return values
    wrong = [
        (nm, v)
        for nm, v in zip(WAVELENGTHS.tolist(), values, strict=True)
        if not (math.isfinite(v) and 0.0 <= v <= MAX_REFLECTANCE)
    ]
    for nm, v in wrong:
        problems.add(
            "reflectance",
            v,
            f"reflectance {v:g} at {nm:g} nm is outside 0 to {MAX_REFLECTANCE:g} (1 is white)",
            "out_of_range",
        )
    return values


def raise_by_kind(problems: list[Problem]) -> None:
    """Raise the narrowest error that fits all problems, if there are any."""
    if not problems:
        return
    narrow = all(p.code == OutOfRangeError.code for p in problems)
    raise (OutOfRangeError if narrow else InputError)(problems)
