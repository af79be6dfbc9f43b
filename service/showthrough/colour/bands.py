"""Spectra on any regular grid, brought to the 31 bands that everything is reckoned on.

A grid that holds 400, 410 ... 700 nm is read at those wavelengths: the weights
of ASTM E308 for 10 nm foresee exactly such readings. Any other grid is
interpolated by Sprague's fifth-order formula, which CIE 167 recommends for
spectra at even steps.

Percent or fraction: what the source states counts. Without a statement, values that
stay at or below 1.2 are taken as fractions and values that rise above 2 as percents.
Between the two nobody can tell, and it is asked.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from showthrough.colour.checks import MAX_REFLECTANCE
from showthrough.colour.lights import WAVELENGTHS, FloatArray
from showthrough.colour.reading import Reading
from showthrough.errors import NotationError, OutOfRangeError, ProblemList

E308_COARSEST_NM = 20.0
"""ASTM E308 has weights for data by 1, 5, 10 and 20 nm."""

COARSEST_NM = 50.0
"""Beyond this the six points that Sprague's formula needs do not span the range."""

SURELY_PERCENT = 2.0
"""A reflectance above this is a percentage; white is 1."""

_SAME_NM = 1e-3
_POINTS = 6

# CIE 167: two points added before the first, from the first six; mirrored at the end.
_BEFORE = (
    np.array(
        [
            [884.0, -1960.0, 3033.0, -2648.0, 1080.0, -180.0],
            [508.0, -540.0, 488.0, -367.0, 144.0, -24.0],
        ]
    )
    / 209.0
)

# CIE 167: polynomial between the third and the fourth of six points, powers 0 to 5.
_SPRAGUE = (
    np.array(
        [
            [0.0, 0.0, 24.0, 0.0, 0.0, 0.0],
            [2.0, -16.0, 0.0, 16.0, -2.0, 0.0],
            [-1.0, 16.0, -30.0, 16.0, -1.0, 0.0],
            [-9.0, 39.0, -70.0, 66.0, -33.0, 7.0],
            [13.0, -64.0, 126.0, -124.0, 61.0, -12.0],
            [-5.0, 25.0, -50.0, 50.0, -25.0, 5.0],
        ]
    )
    / 24.0
)


def sprague(values: FloatArray, place: FloatArray) -> FloatArray:
    """Values between evenly spaced points.

    Args:
        values: at least six evenly spaced points, shape (n,).
        place: where to look, in steps from the first point, 0 to n - 1, any shape.

    Returns:
        Interpolated values, shape of ``place``.

    Source:
        CIE 167:2005 (Sprague 1880).
    """
    padded = np.concatenate(
        [_BEFORE @ values[:_POINTS], values, (_BEFORE @ values[::-1][:_POINTS])[::-1]]
    )
    start = np.clip(np.floor(place).astype(int), 0, values.size - 2)
    window = padded[start[..., None] + np.arange(_POINTS)]
    x = place - start
    powers = x[..., None] ** np.arange(_POINTS)
    return np.asarray(np.einsum("...p,pq,...q->...", powers, _SPRAGUE, window))


def grid_step(wavelengths: FloatArray, problems: ProblemList, field: str = "") -> float | None:
    """Step in nm of a sorted grid, or None with every fault of the grid noted.

    Args:
        wavelengths: nm, ascending, shape (n,).
        problems: where faults are noted.
        field: what the faults are noted under.
    """
    before = len(problems.problems)
    if wavelengths.size < 2:
        problems.add(
            field, wavelengths.tolist(), f"a spectrum needs bands, {wavelengths.size} given"
        )
        return None
    first, last = float(wavelengths[0]), float(wavelengths[-1])
    given = f"{first:g} to {last:g} nm"
    if first > WAVELENGTHS[0] + _SAME_NM or last < WAVELENGTHS[-1] - _SAME_NM:
        problems.add(
            field, given, f"the spectrum covers {given}; 400 to 700 nm are needed", "out_of_range"
        )
    steps = np.diff(wavelengths)
    usual = float(np.median(steps))
    for i in np.flatnonzero(steps < _SAME_NM):
        problems.add(field, f"{wavelengths[i]:g}", f"{wavelengths[i]:g} nm is given twice")
    # Printed wavelengths may be rounded to a few decimals.
    odd = np.abs(steps - usual) > max(_SAME_NM, 0.02 * usual)
    odd &= steps >= _SAME_NM
    for i in np.flatnonzero(odd):
        missing = steps[i] > 1.5 * usual and abs(steps[i] / usual % 1.0 - 0.5) > 0.45
        kind = "bands are missing" if missing else "the grid is not even"
        problems.add(
            field,
            f"{wavelengths[i]:g}-{wavelengths[i + 1]:g}",
            f"from {wavelengths[i]:g} to {wavelengths[i + 1]:g} nm {kind}: "
            f"the step there is {steps[i]:g} nm, elsewhere {usual:g} nm",
        )
    if usual > COARSEST_NM:
        problems.add(
            field, f"{usual:g} nm", f"a step of {usual:g} nm is too coarse; use at most 20 nm"
        )
    if len(problems.problems) > before:
        return None
    return float((last - first) / (wavelengths.size - 1))


def to_bands(
    wavelengths: ArrayLike, values: ArrayLike, field: str = ""
) -> tuple[FloatArray, tuple[str, ...]]:
    """Reflectances of the 31 bands from any regular grid that covers them.

    Args:
        wavelengths: nm, any order, n of them.
        values: reflectances 0 to 1, n of them.
        field: what problems are noted under.

    Returns:
        Reflectances, shape (31,), and sentences on what was done that matters.

    Raises:
        InputError: the grid is uneven, has gaps or does not cover 400 to 700 nm, or a value
            is impossible; all faults are listed.

    Source:
        ASTM E308; CIE 167 for interpolation.
    """
    problems = ProblemList()
    order = np.argsort(np.asarray(wavelengths, dtype=float), kind="stable")
    nm = np.asarray(wavelengths, dtype=float)[order]
    read = np.asarray(values, dtype=float)[order]
    if not np.isfinite(nm).all():
        problems.add(field, nm.tolist(), "wavelengths must be finite numbers", "out_of_range")
        problems.raise_if_any()
    step = grid_step(nm, problems, field)
    for i in np.flatnonzero(~((read >= 0.0) & (read <= MAX_REFLECTANCE))):
        # Beyond the range and its margin for interpolation nothing is read.
        if abs(nm[i] - 550.0) > 150.0 + 3.0 * (step or 10.0):
            continue
        problems.add(
            field,
            f"{read[i]:g}",
            f"reflectance {read[i]:g} at {nm[i]:g} nm is outside 0 to {MAX_REFLECTANCE:g}",
            OutOfRangeError.code,
        )
    problems.raise_if_any()
    if step is None:
        msg = "a faulty grid without a problem"
        raise AssertionError(msg)
    place = (WAVELENGTHS - nm[0]) / step
    whole = np.rint(place)
    if np.abs(place - whole).max() * step < 0.02:
        return read[whole.astype(int)], ()
    note = (
        f"A step of {step:g} nm is coarser than the {E308_COARSEST_NM:g} nm that ASTM E308 "
        "foresees; the bands between are interpolated, so narrow features are lost."
    )
    notes = (note,) if step > E308_COARSEST_NM + _SAME_NM else ()
    keep = np.abs(nm - 550.0) <= 150.0 + 3.0 * step
    inside = read[keep] if keep.sum() >= _POINTS else read
    offset = nm[keep][0] if keep.sum() >= _POINTS else nm[0]
    between = sprague(inside, (WAVELENGTHS - offset) / step)
    # A fifth-order curve can swing a little past a sharp corner.
    return np.clip(between, 0.0, MAX_REFLECTANCE), notes


def is_percent(greatest: float, field: str = "") -> bool:
    """Whether values are percents, judged by the greatest of all that belong together.

    Raises:
        NotationError: it cannot be told.
    """
    if MAX_REFLECTANCE < greatest <= SURELY_PERCENT:
        raise NotationError.at(
            field,
            f"{greatest:g}",
            f"the greatest value, {greatest:g}, may be a fraction or a percentage; "
            "write % or fraction in the header, or state which it is",
        )
    return greatest > SURELY_PERCENT


def reading_from_spectrum(
    wavelengths: Sequence[float],
    values: Sequence[float],
    *,
    percent: bool | None = None,
    specular_included: bool = False,
    text: str = "",
    field: str = "",
) -> Reading:
    """Reading of a reflectance spectrum on any regular grid that covers 400 to 700 nm.

    Args:
        wavelengths: nm, n of them.
        values: reflectances, n of them.
        percent: whether the values are percents; judged by the values where not given.
        specular_included: the values hold the surface's mirror reflection.
        text: what to call the spectrum.
        field: what problems are noted under.

    Raises:
        InputError: the spectrum cannot be used; all faults are listed.
    """
    if len(wavelengths) != len(values):
        raise NotationError.at(
            field,
            f"{len(wavelengths)}, {len(values)}",
            f"{len(wavelengths)} wavelengths and {len(values)} values are given; "
            "each wavelength needs one value",
        )
    read = np.asarray(values, dtype=float)
    finite = read[np.isfinite(read)]
    if percent is None:
        percent = bool(finite.size) and is_percent(float(finite.max()), field)
    bands, notes = to_bands(wavelengths, read / 100.0 if percent else read, field)
    return Reading(
        reflectance=tuple(bands.tolist()),
        specular_included=specular_included,
        text=text,
        notes=notes,
    )
