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
from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike

from showthrough.colour.lights import WAVELENGTHS, FloatArray
from showthrough.colour.reading import MAX_REFLECTANCE, Reading
from showthrough.errors import (
    MOST_PROBLEMS,
    InputError,
    NotationError,
    OutOfRangeError,
    Problem,
    ProblemList,
)

E308_COARSEST_NM = 20.0
"""ASTM E308 has weights for data by 1, 5, 10 and 20 nm."""

COARSEST_NM = 50.0
"""Beyond this the six points that Sprague's formula needs do not span the range."""

SURELY_PERCENT = 2.0
"""A reflectance above this is a percentage; white is 1."""

MOST_BANDS = 10_000
"""No instrument gives more wavelengths."""

_SAME_NM = 1e-3
_LONGEST_NM = 1e5
_POINTS = 6
_MOST_VALUES = 5  # impossible values of one spectrum that are told one by one

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
        values: at least six evenly spaced points, shape (..., n).
        place: where to look, in steps from the first point, 0 to n - 1, shape (m,).

    Returns:
        Interpolated values, shape (..., m).

    Source:
        CIE 167:2005 (Sprague 1880).
    """
    before = values[..., :_POINTS] @ _BEFORE.T
    after = (values[..., ::-1][..., :_POINTS] @ _BEFORE.T)[..., ::-1]
    padded = np.concatenate([before, values, after], axis=-1)
    start = np.clip(np.floor(place).astype(int), 0, values.shape[-1] - 2)
    window = padded[..., start[:, None] + np.arange(_POINTS)]
    powers = (place - start)[:, None] ** np.arange(_POINTS)
    return np.asarray(np.einsum("mp,pq,...mq->...m", powers, _SPRAGUE, window))


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
    new = np.append(True, np.diff(wavelengths) >= _SAME_NM)
    nm, times = wavelengths[new], np.diff(np.append(np.flatnonzero(new), wavelengths.size))
    for i in np.flatnonzero(times > 1):
        often = "twice" if times[i] == 2 else f"{times[i]} times"
        problems.add(field, f"{nm[i]:g}", f"{nm[i]:g} nm is given {often}")
    if nm.size < 2:
        return None
    steps = np.diff(nm)
    usual = float(np.median(steps))
    # Printed wavelengths may be rounded to a few decimals.
    for i in np.flatnonzero(np.abs(steps - usual) > max(_SAME_NM, 0.02 * usual)):
        missing = steps[i] > 1.5 * usual and abs(steps[i] / usual % 1.0 - 0.5) > 0.45
        kind = "bands are missing" if missing else "the grid is not even"
        problems.add(
            field,
            f"{nm[i]:g}-{nm[i + 1]:g}",
            f"from {nm[i]:g} to {nm[i + 1]:g} nm {kind}: "
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
            is impossible; the first faults are listed, the rest counted.

    Source:
        ASTM E308; CIE 167 for interpolation.
    """
    problems = ProblemList(MOST_PROBLEMS)
    rows = np.asarray(values, dtype=float)[None]
    bands, notes, faults = _rows_to_bands(np.asarray(wavelengths, dtype=float), rows, problems)
    problems.extend(faults.get(0, ()))
    if problems.problems:
        raise InputError(replace(p, field=field) for p in problems.all())
    return bands[0], notes


def _rows_to_bands(
    wavelengths: FloatArray, values: FloatArray, problems: ProblemList
) -> tuple[FloatArray, tuple[str, ...], dict[int, tuple[Problem, ...]]]:
    """Bands (m, 31) of m spectra on one grid (m, n), sentences, and the faults of single rows.

    Faults of the grid are noted in ``problems``; with any, the bands are void.
    """
    void = np.full((len(values), WAVELENGTHS.size), np.nan)
    if wavelengths.size > MOST_BANDS:
        message = f"{wavelengths.size} wavelengths are given; at most {MOST_BANDS} are read"
        problems.add("", wavelengths.size, message)
        return void, (), {}
    wrong = ~((wavelengths > 0.0) & (wavelengths < _LONGEST_NM))
    if wrong.any():
        odd = float(wavelengths[wrong][0])
        message = (
            f"{odd:g} nm is no wavelength of light; they must be finite numbers, 400 to 700 nm "
            "among them"
        )
        problems.add("", f"{odd:g}", message, OutOfRangeError.code)
        return void, (), {}
    order = np.argsort(wavelengths, kind="stable")
    nm, read = wavelengths[order], values[:, order]
    step = grid_step(nm, problems)
    # Beyond the range and its margin for interpolation nothing is read.
    near = np.abs(nm - 550.0) <= 150.0 + 3.0 * (step or 10.0)
    impossible = near & ~((read >= 0.0) & (read <= MAX_REFLECTANCE))
    faults = {
        int(row): _value_faults(nm[impossible[row]], read[row, impossible[row]])
        for row in np.flatnonzero(impossible.any(axis=1))
    }
    if step is None:
        return void, (), faults
    place = (WAVELENGTHS - nm[0]) / step
    whole = np.rint(place)
    if np.abs(place - whole).max() * step < 0.02:
        return read[:, whole.astype(int)], (), faults
    note = (
        f"A step of {step:g} nm is coarser than the {E308_COARSEST_NM:g} nm that ASTM E308 "
        "foresees; the bands between are interpolated, so narrow features are lost."
    )
    notes = (note,) if step > E308_COARSEST_NM + _SAME_NM else ()
    inside = np.where(impossible, 0.0, read)[:, near]
    between = sprague(inside, (WAVELENGTHS - nm[near][0]) / step)
    # A fifth-order curve can swing a little past a sharp corner.
    return np.clip(between, 0.0, MAX_REFLECTANCE), notes, faults


def _value_faults(nm: FloatArray, values: FloatArray) -> tuple[Problem, ...]:
    """The first impossible values of one spectrum, the rest counted."""
    found = ProblemList(_MOST_VALUES)
    found.left = max(0, nm.size - _MOST_VALUES)
    for at, value in zip(nm[:_MOST_VALUES].tolist(), values[:_MOST_VALUES].tolist(), strict=True):
        found.add(
            "",
            f"{value:g}",
            f"reflectance {value:g} at {at:g} nm is outside 0 to {MAX_REFLECTANCE:g}",
            OutOfRangeError.code,
        )
    return found.all()


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


def are_percents(values: ArrayLike, field: str = "") -> bool:
    """Whether spectra of one source are percents: one statement for all of them.

    The greatest value tells; among more than ten spectra a tenth may be faulty without
    turning the others dark.

    Args:
        values: shape (m, n); what is not finite is passed over.
        field: what the problem is noted under.

    Raises:
        NotationError: it cannot be told.
    """
    read = np.asarray(values, dtype=float)
    most = np.where(np.isfinite(read), read, -np.inf).max(axis=1, initial=-np.inf)
    most = most[np.isfinite(most)]
    if not most.size:
        return False
    return is_percent(float(np.quantile(most, 0.9, method="higher")), field)


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
    if percent is None:
        percent = are_percents(read[None], field)
    bands, notes = to_bands(wavelengths, read / 100.0 if percent else read, field)
    return Reading(
        reflectance=tuple(bands.tolist()),
        specular_included=specular_included,
        text=text,
        notes=notes,
    )


def readings_from_rows(
    wavelengths: Sequence[float],
    values: ArrayLike,
    names: Sequence[str],
    *,
    percent: bool,
    specular_included: bool = False,
) -> list[Reading | tuple[Problem, ...]]:
    """Readings of many spectra on one grid, at once.

    Args:
        wavelengths: nm, n of them.
        values: reflectances, shape (m, n).
        names: what to call them, m of them.
        percent: whether the values are percents.
        specular_included: the values hold the surface's mirror reflection.

    Returns:
        For each spectrum its reading, or what is wrong with it.

    Raises:
        InputError: the grid itself cannot be used.
    """
    read = np.asarray(values, dtype=float)
    with ProblemList(MOST_PROBLEMS) as problems:
        bands, notes, faults = _rows_to_bands(
            np.asarray(wavelengths, dtype=float), read / 100.0 if percent else read, problems
        )
        if problems.problems and len(names) == 1:
            problems.extend(faults.get(0, ()))
    return [
        faults.get(i)
        or Reading(
            reflectance=tuple(row),
            specular_included=specular_included,
            text=name,
            notes=notes,
        )
        for i, (name, row) in enumerate(zip(names, bands.tolist(), strict=True))
    ]
