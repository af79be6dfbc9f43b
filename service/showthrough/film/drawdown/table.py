"""A measured paint as a plain table, to be kept in a file and used as a topcoat later.

The table holds numbers, texts and lists only, so any TOML or JSON writer can write it.
``format`` tells which version of this layout it is.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, cast, get_args

import numpy as np

from showthrough.colour.lights import WAVELENGTHS, FloatArray
from showthrough.errors import ProblemList, shown
from showthrough.film.drawdown.measure import Drawdown
from showthrough.film.hiding import Evidence, Paint
from showthrough.film.optics import K1, K2

FORMAT = 1
"""Version of the layout."""

MOST_PER_UM = 100.0
"""K or S above this, in 1/µm, is a mistake of units; whites and blacks stay below about 3."""

WIDEST_GEOMETRIC_SD = 10.0

_BANDS = {"from_nm": 400, "to_nm": 700, "step_nm": 10}
_NEEDED = ("format", "evidence", "spread", "bands", "surface", "absorption", "scattering")
_MEASURED = ("measured", "notes", "name")  # told to the reader, not reckoned with


def paint_to_table(paint: Paint | Drawdown, name: str = "") -> dict[str, Any]:
    """A paint as a plain table.

    Args:
        paint: a paint, or a drawdown that can stand for one; its figures go along.
        name: what the painter calls it.

    Returns:
        Keys ``format``, ``name``, ``evidence``, ``spread``, ``bands``, ``surface``,
        ``absorption`` and ``scattering`` (1/µm dry, 31 each); for a drawdown ``measured``
        and ``notes`` too. Six significant digits are kept.

    Raises:
        IllConditionedError: the drawdown cannot stand for a paint.
        InputError: it was measured with other surface constants than ours.
    """
    drawdown = paint if isinstance(paint, Drawdown) else None
    plain = paint.paint() if isinstance(paint, Drawdown) else paint
    table: dict[str, Any] = {
        "format": FORMAT,
        "name": name,
        "evidence": plain.evidence,
        "spread": _rounded(plain.geometric_sd),
        "bands": dict(_BANDS),
        "surface": {"k1": K1, "k2": K2},
        "absorption": [_rounded(v) for v in plain.absorption],
        "scattering": [_rounded(v) for v in plain.scattering],
    }
    if drawdown is not None:
        readings = drawdown.readings
        table["measured"] = {
            "wet_film_um": _rounded(readings.wet_film_um),
            "volume_solids": _rounded(readings.volume_solids),
            "contrast_ratio": _rounded(drawdown.contrast_ratio),
            "difference": _rounded(drawdown.delta_e),
            "hiding_um": _rounded(drawdown.hiding_um),
            "scattering_per_um": _rounded(drawdown.scattering_per_um),
            "scattering_per_um_spread": _rounded(drawdown.scattering_per_um_geometric_sd),
            "reading_spread": _rounded(drawdown.reading_geometric_sd),
            "film_spread": _rounded(drawdown.film_geometric_sd),
            "opaque_lab": [_rounded(v) for v in drawdown.r_infinity_lab],
            "opaque_radius": _rounded(drawdown.r_infinity_radius),
            "absorption_spread": [_rounded(v) for v in drawdown.absorption_geometric_sd],
            "scattering_spread": [_rounded(v) for v in drawdown.scattering_geometric_sd],
        }
        table["notes"] = list(drawdown.notes)
    return table


def paint_from_table(table: Mapping[str, Any]) -> Paint:
    """The paint that a table holds.

    Args:
        table: as ``paint_to_table`` makes it; ``name``, ``measured`` and ``notes`` are
            not reckoned with and may be missing.

    Raises:
        InputError: everything that is missing, unknown or out of range, by field.
    """
    wrong = ProblemList()
    if not isinstance(table, Mapping):
        wrong.add("", shown(table), "a paint is a table of named values")
        wrong.raise_if_any()
    if "format" in table and (table["format"] != FORMAT or isinstance(table["format"], bool)):
        wrong.add(
            "format",
            table["format"],
            f"format {shown(table['format'])} is not known here; this version reads {FORMAT}",
        )
        wrong.raise_if_any()
    for key in _NEEDED:
        if key not in table:
            wrong.add(key, "", f"is missing; a paint needs {', '.join(_NEEDED)}")
    for key in table:
        if key not in _NEEDED and key not in _MEASURED:
            wrong.add(
                str(key),
                table[key],
                f"is not part of a paint; known are {', '.join((*_NEEDED, *_MEASURED))}",
            )
    _check_fixed(wrong, table, "bands", _BANDS, "only 400 to 700 nm by 10 nm can be read")
    _check_fixed(
        wrong,
        table,
        "surface",
        {"k1": K1, "k2": K2},
        f"K and S mean something only with k1 {K1:g} and k2 {K2:g}; measure the draw again",
    )
    evidence = table.get("evidence")
    if "evidence" in table and evidence not in get_args(Evidence):
        wrong.add("evidence", evidence, f"must be one of {', '.join(get_args(Evidence))}")
    geometric_sd = _number(wrong, table, "spread", 1.0, WIDEST_GEOMETRIC_SD)
    absorption = _band_list(wrong, table, "absorption", 0.0)
    scattering = _band_list(wrong, table, "scattering", 1e-9)
    wrong.raise_if_any()
    return Paint(absorption, scattering, geometric_sd, cast("Evidence", evidence))


def _rounded(value: float) -> float:
    """Six significant digits: far finer than any draw, short enough to read."""
    return float(f"{float(value):.6g}")


def _is_number(value: Any) -> bool:
    """Whether a value is a finite number (a truth value is none)."""
    if not isinstance(value, int | float | np.floating) or isinstance(value, bool):
        return False
    # Unlike isfinite this takes whole numbers of any length.
    return bool(-math.inf < value < math.inf)


def _number(
    wrong: ProblemList, table: Mapping[str, Any], key: str, low: float, high: float
) -> float:
    """One number within its range, or a problem."""
    if key not in table:
        return low
    value = table[key]
    if not (_is_number(value) and low <= value <= high):
        wrong.add(key, value, f"{shown(value)} must be a number from {low:g} to {high:g}")
        return low
    return float(value)


def _band_list(wrong: ProblemList, table: Mapping[str, Any], key: str, low: float) -> FloatArray:
    """31 numbers within their range, or problems that name the bands."""
    nothing = np.full(WAVELENGTHS.size, low)
    if key not in table:
        return nothing
    values = table[key]
    if not isinstance(values, list | tuple | np.ndarray) or len(values) != WAVELENGTHS.size:
        count = f"{len(values)} given" if isinstance(values, list | tuple) else "no list given"
        wrong.add(key, values, f"needs {WAVELENGTHS.size} numbers, 400 to 700 nm by 10 nm; {count}")
        return nothing
    bad = [
        (nm, value)
        for nm, value in zip(WAVELENGTHS, values, strict=True)
        if not (_is_number(value) and low <= value <= MOST_PER_UM)
    ]
    for nm, value in bad:
        wrong.add(
            key,
            value,
            f"{shown(value)} at {nm:g} nm must be a number from {low:g} to {MOST_PER_UM:g} (1/µm)",
        )
    return nothing if bad else np.array([float(v) for v in values])


def _check_fixed(
    wrong: ProblemList, table: Mapping[str, Any], key: str, expected: Mapping[str, float], why: str
) -> None:
    """A table that must read exactly so."""
    if key not in table:
        return
    given = table[key]
    if not isinstance(given, Mapping):
        wrong.add(key, given, f"must be a table of {', '.join(expected)}")
        return
    for part, value in expected.items():
        if part not in given:
            wrong.add(f"{key}.{part}", "", f"is missing; {why}")
        elif not (_is_number(given[part]) and abs(given[part] - value) <= 1e-9):
            wrong.add(f"{key}.{part}", given[part], f"is {shown(given[part])}; {why}")
    for part in given:
        if part not in expected:
            wrong.add(f"{key}.{part}", given[part], f"is not known; {why}")
