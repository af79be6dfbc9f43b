"""What a 24-patch chart teaches: the camera's colours and how the light lies, together."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from showthrough.colour.difference import ciede2000
from showthrough.colour.lights import FloatArray
from showthrough.colour.space import (
    lab_to_xyz,
    linear_rgb_to_xyz,
    xyz_to_lab,
    xyz_to_linear_rgb,
)
from showthrough.errors import ImageError
from showthrough.photo.calibrate.chart import (
    COLUMNS,
    MOST_LOST,
    ROWS,
    Chart,
    Patches,
    chart_patches,
)
from showthrough.photo.calibrate.shade import LEVELS, SHAPE, TINTS, LightField
from showthrough.photo.calibrate.tone import PLAIN, Tone
from showthrough.photo.calibrate.tone_fit import CURVE_NOISE, bends_of
from showthrough.photo.picture.load import Picture
from showthrough.photo.sensor import beyond_file, to_daylight, to_sensor

_PATCH_NOISE = 0.004
"""Least spread of a patch about its fit, in units of light over its root."""

_GOOD_FIT = 3.0
"""Median CIEDE2000 up to which a first fit needs no search for spoilt patches."""

_SURELY_CHART = 6.0
"""The same up to which the corners were surely marked in the right order."""

_COLOUR_ALONE = 6.0
"""How much less a miss in colour alone speaks for a spoilt patch than one in light."""

_ORDERS = [
    order.ravel()
    for grid in [np.arange(24, dtype=np.intp).reshape(ROWS, COLUMNS)]
    for order in (grid, grid[::-1, ::-1], grid[:, ::-1], grid[::-1])
]
"""The chart as marked, turned, and mirrored either way."""

_STANDS_OUT = 5.0
"""Times the usual miss from which a patch tells little of the curve."""

_GREYS_MISSED = 5.0
"""CIEDE2000 of the worse fitted greys from which no curve explains their row (simulated photos,
local brightening and all, stay below it in 98 of 100)."""

_NO_CHART = 12.0
"""Median CIEDE2000 from which what was marked is no chart (a chart under any light: below 6)."""


@dataclass(frozen=True, slots=True)
class ChartFit:
    """What a chart taught."""

    matrix: FloatArray
    """Root-polynomial terms of balanced sensor numbers to daylight's linear sRGB, (3, 6)."""
    field: LightField
    """How the light lies; its level is that of white at the chart."""
    residual: float
    """Median CIEDE2000 of patches predicted from the others."""
    tone: Tone
    """How the phone bent the picture."""
    like: dict[str, float]
    """How badly a typical camera under each kind of light fits, median CIEDE2000."""
    notes: tuple[str, ...]


def root_terms(numbers: FloatArray) -> FloatArray:
    """Terms of a second-degree root polynomial, shape (..., 3) -> (..., 6).

    They scale with the light, so that an under-exposed photo bends no hue. Of the
    sensor's numbers, not of sRGB: there a vivid colour has a channel at nothing, where a
    root is all noise.

    Source: Finlayson, Mackiewicz, Hurlbert 2015, IEEE Trans. Image Process. 24(5) 1460-1470.
    """
    red, green, blue = np.moveaxis(np.maximum(numbers, 1e-6), -1, 0)
    roots = [np.sqrt(red * green), np.sqrt(green * blue), np.sqrt(red * blue)]
    return np.stack([red, green, blue, *roots], axis=-1)


@dataclass(frozen=True, slots=True)
class _Solution:
    """Colour and shade of a chart, solved together."""

    matrix: FloatArray
    """Shape (3, 6)."""
    shade: FloatArray
    """Shape of ln(light), (9,)."""
    covariance: FloatArray
    """Of the shade, shape (9, 9)."""
    fitted: FloatArray
    """CIELAB of the patches as fitted, shape (24, 3)."""
    others: FloatArray
    """The same, each patch told from all the others."""
    even: FloatArray
    """Sensor numbers of the patches in even light, white at 1, shape (24, 3)."""
    cast: FloatArray
    """Sensor numbers of white where the shade is 1, shape (3,)."""
    tone: Tone = PLAIN
    """The curve that was taken off the patches."""


@dataclass(frozen=True, slots=True)
class _System:
    """The linear equations of a chart's colours and, to first order, of its shade."""

    design: FloatArray
    """Shape (24, 3, 27)."""
    target: FloatArray
    """Shape (72,)."""
    root: FloatArray
    """Weight of each patch, shape (24, 1)."""
    hold: float
    """What keeps the root polynomial's terms small."""


def _system(
    numbers: FloatArray, lab: FloatArray, weight: FloatArray, bends: FloatArray, shade: FloatArray
) -> _System:
    """The equations for some numbers of the sensor, white at 1; as ``_solve`` takes them."""
    xyz = lab_to_xyz(lab)
    wanted = xyz_to_linear_rgb(xyz)
    # Errors of dark colours look larger: weigh by one over the root of the light.
    root = (weight * np.maximum(xyz[:, 1] / 100.0, 0.03) ** -0.5)[:, None]
    terms = root_terms(numbers * np.exp(-bends @ shade)[:, None]) * root
    design = np.zeros((24, 3, 18 + bends.shape[1]))
    for channel in range(3):
        design[:, channel, 6 * channel : 6 * channel + 6] = terms
        design[:, channel, 18:] = -(root * wanted[:, channel : channel + 1]) * bends
    hold = 1e-5 * float((terms**2).sum()) / 6.0
    return _System(design, (root * wanted).ravel(), root, hold)


def _solve(
    numbers: FloatArray,
    lab: FloatArray,
    weight: FloatArray,
    bends: FloatArray,
    shade: FloatArray,
    known: tuple[FloatArray, FloatArray],
) -> _Solution:
    """Least squares for the root polynomial and, to first order, for the shade.

    Args:
        numbers: of the sensor, with white at 1, 1, 1; shape (24, 3).
        lab: what the patches are, shape (24, 3).
        weight: trust in each patch, shape (24,).
        bends: terms of the shade at the patches, shape (24, 9).
        shade: a guess of the shade, shape (9,).
        known: what is known of the shade beforehand: mean (9,), covariance (9, 9).
    """
    wanted = xyz_to_linear_rgb(lab_to_xyz(lab))
    system = _system(numbers, lab, weight, bends, shade)
    design, target, root = system.design, system.target, system.root
    flat = design.reshape(72, -1)
    precision = np.linalg.inv(known[1])
    noise = _PATCH_NOISE
    for _ in range(3):
        hold = np.diag(np.full(flat.shape[1], system.hold))
        hold[18:, 18:] = noise**2 * precision
        inverse = np.linalg.inv(flat.T @ flat + hold)
        aim = flat.T @ target
        aim[18:] += hold[18:, 18:] @ (known[0] - shade)
        answer = inverse @ aim
        left = target - flat @ answer
        noise = max(_PATCH_NOISE, 1.4826 * float(np.median(np.abs(left))))
    matrix = answer[:18].reshape(3, 6)
    total = shade + answer[18:]
    flattened = numbers * np.exp(-bends @ total)[:, None]
    even = root_terms(flattened) @ matrix.T
    # A patch left out: its residual over what it does not pull towards itself.
    others = even.copy()
    for i in np.flatnonzero(weight > 1e-6):
        pull = design[i] @ inverse @ design[i].T
        miss = np.linalg.solve(1.0001 * np.eye(3) - pull, left[3 * i : 3 * i + 3])
        others[i] = wanted[i] - miss / root[i, 0]
    return _Solution(
        matrix,
        total,
        np.asarray(noise**2 * inverse[18:, 18:], dtype=float),
        lab_of_linear(even),
        lab_of_linear(others),
        flattened,
        np.ones(3),
    )


def lab_of_linear(linear: FloatArray) -> FloatArray:
    """CIELAB D65 of linear sRGB; light below nothing counts as nothing."""
    return xyz_to_lab(np.maximum(linear_rgb_to_xyz(linear), 0.0))


def fit_chart(
    picture: Picture,
    chart: Chart,
    field: LightField,
    tone: Tone | None = None,
    seen: Patches | None = None,
) -> ChartFit:
    """Learn the colour of the light and the camera from a chart.

    Args:
        picture: the photo.
        chart: where the chart lies, and what its patches are.
        field: what else in the picture tells of the light, counted from the chart's
            middle; the chart's own patches add to it.
        tone: how the phone bent the picture's numbers; None where the chart is to tell.
        seen: the chart's patches as photographed, where they were looked at before.

    Raises:
        ImageError: Too few usable patches, or what was marked is no chart.
    """
    lab = chart.lab
    patches = chart_patches(picture, chart) if seen is None else seen
    bends = field.bends(patches.places[:, 0], patches.places[:, 1])
    known = field.beta[SHAPE], field.covariance[SHAPE, SHAPE]
    # The colours' fit knows one shade for all channels; tints are taken off before it.
    even = np.exp(bends @ known[0])[:, None] / field.shape(*patches.places.T)
    solution, residual, order = _best_order(patches, even, lab, bends, known, tone)
    if residual > _NO_CHART:
        raise ImageError.at(
            "chart",
            f"{residual:.0f} CIEDE2000 off",
            "what was marked does not look like a 24-patch chart: mark the outer corners of its "
            "corner patches, beginning at the brown one and going towards the bluish green one",
        )
    notes = []
    if order:
        notes.append("The chart lies turned in the picture; it was read the other way round.")
    greys = np.flatnonzero(patches.trust[_ORDERS[order]][-COLUMNS:] > 0.0) + 24 - COLUMNS
    missed = ciede2000(solution.fitted[greys], lab[greys])
    if missed.size and float(np.quantile(missed, 0.75)) > _GREYS_MISSED:
        notes.append(
            f"The chart's grey row fits no tone curve (it is missed by {missed.max():.0f}, colour "
            "difference): light, a shadow or the phone treats its patches unlike; take the photo "
            "in even light with such modes off, or trust the colour less."
        )
    lost = 24 - int((patches.trust > 0.0).sum())
    if lost:
        notes.append(f"{lost} of the chart's patches are burnt out and were left out.")
    like = _light_like(solution, lab, patches.trust[_ORDERS[order]])
    beta = field.beta.copy()
    beta[SHAPE] = solution.shade
    beta[LEVELS] = np.log(solution.cast)
    # The level is the chart's own, and is counted in its colours' errors.
    covariance = np.zeros_like(field.covariance)
    covariance[SHAPE, SHAPE] = solution.covariance
    covariance[TINTS, TINTS] = field.covariance[TINTS, TINTS]
    field = replace(field, beta=beta, covariance=covariance)
    return ChartFit(solution.matrix, field, residual, solution.tone, like, tuple(notes))


def _robust_solve(
    numbers: FloatArray,
    lab: FloatArray,
    trust: FloatArray,
    bends: FloatArray,
    known: tuple[FloatArray, FloatArray],
) -> _Solution:
    """Solve so that patches under glare do not bend the rest."""
    trusted, shade = trust.copy(), known[0]

    def typical(index: int) -> float:
        """Median miss of the patches that are left without one of them."""
        rest = trusted.copy()
        rest[index] = 0.0
        guess = _solve(numbers, lab, rest, bends, known[0], known)
        return float(np.median(ciede2000(guess.fitted, lab)[rest > 0.0]))

    # One burnt or mirrored patch of 24 can spoil a plain least-squares start.
    for _ in range(MOST_LOST):
        start = _solve(numbers, lab, trusted, bends, known[0], known)
        now = float(np.median(ciede2000(start.fitted, lab)[trusted > 0.0]))
        if now < _GOOD_FIT:
            break
        without = {int(i): typical(int(i)) for i in np.flatnonzero(trusted)}
        worst = min(without, key=lambda i: without[i])
        if without[worst] > 0.7 * now:
            break
        trusted[worst] = 0.0
    weight = trusted
    for _ in range(6):
        solution = _solve(numbers, lab, weight, bends, shade, known)
        shade = solution.shade
        miss = _spoilt(solution, lab)
        bound = 3.5 * max(0.5, float(np.median(miss[trusted > 0.0])))
        weight = trust * np.minimum(1.0, bound / np.maximum(miss, 1e-9))
        weight = np.where(miss > 2.5 * bound, 0.05 * weight, weight)
    return solution


def _spoilt(solution: _Solution, lab: FloatArray) -> FloatArray:
    """How much the patches look spoilt by glare, shadow or dirt, in CIEDE2000, shape (24,).

    Glare and shadow move all channels one way. A patch at the rim of the chart's colours
    misses in one channel alone because no other patch tells of it: it is not spoilt, and
    the colours beyond it are worst read without it.
    """
    wanted = xyz_to_linear_rgb(lab_to_xyz(lab))
    moved = xyz_to_linear_rgb(lab_to_xyz(solution.others)) - wanted
    common = np.maximum(moved.min(axis=1), 0.0) + np.minimum(moved.max(axis=1), 0.0)
    evenly = ciede2000(lab_of_linear(wanted + common[:, None]), lab)
    return np.maximum(evenly, ciede2000(solution.others, lab) / _COLOUR_ALONE)


def _balanced(
    patches: Patches, order: NDArray[np.intp], lab: FloatArray, bends: FloatArray, shade: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Numbers of the patches with white at 1, 1, 1, shape (24, 3), and the white's own, (3,).

    The greys tell the cast; what the file cut off is put back by it.
    """
    values, trust = patches.values[order], patches.trust[order]
    wanted = xyz_to_linear_rgb(lab_to_xyz(lab)) @ to_sensor().T
    over = (
        np.log(np.maximum(values, 1e-6) / np.maximum(wanted, 1e-4))
        - (bends[order] @ shade)[:, None]
    )
    greys = np.arange(24) >= 24 - COLUMNS
    used = trust > 0.0
    cast = np.exp(np.median(over[used & greys if (used & greys).sum() > 2 else used], axis=0))
    balanced = values / cast
    for i in np.flatnonzero(patches.floored[order].any(axis=1)):
        balanced[i] = beyond_file(balanced[i], cast, patches.floored[order][i])
    return balanced, cast


def _best_order(
    patches: Patches,
    tints: FloatArray,
    lab: FloatArray,
    bends: FloatArray,
    known: tuple[FloatArray, FloatArray],
    tone: Tone | None,
) -> tuple[_Solution, float, int]:
    """Solve, and where that fits badly try the chart turned and mirrored.

    Args:
        patches: as the file shows them.
        tints: what takes the light's tint off each patch, shape (24, 3).
        lab: what they are, shape (24, 3).
        bends: terms of the shade, shape (24, 9).
        known: what is known of the shade beforehand.
        tone: how the phone bent the numbers; None where the chart is to tell.

    Returns:
        The solution, the median CIEDE2000 of patches told from the others, and which
        turn it was; 0 is as marked.
    """
    found: list[tuple[float, int, _Solution]] = []
    for turn, order in enumerate(_ORDERS):
        curve = _tone_of(patches, order, lab, bends, known, tints) if tone is None else tone
        straight = replace(patches, values=curve.of_sensor(patches.values) * tints)
        numbers, cast = _balanced(straight, order, lab, bends, known[0])
        trust = patches.trust[order]
        solved = _robust_solve(numbers, lab, trust, bends[order], known)
        solution = replace(solved, cast=cast, tone=curve)
        residual = float(np.median(ciede2000(solution.others, lab)[trust > 0.0]))
        found.append((residual, turn, solution))
        if residual < _SURELY_CHART:
            break
    residual, turn, solution = min(found, key=lambda one: one[:2])
    return solution, residual, turn


def _tone_of(
    patches: Patches,
    order: NDArray[np.intp],
    lab: FloatArray,
    bends: FloatArray,
    known: tuple[FloatArray, FloatArray],
    tints: FloatArray,
) -> Tone:
    """The tone curve under which the whole chart is fitted best, its colours and its shade too.

    The greys alone would take light that falls off along their row for a curve.

    Args:
        patches: as the file shows them.
        order: in which they are read.
        lab: what they are, shape (24, 3).
        bends: terms of the shade, shape (24, 9).
        known: what is known of the shade beforehand.
        tints: what takes the light's tint off each patch, shape (24, 3).
    """
    trust = patches.trust[order]
    roots = CURVE_NOISE * np.linalg.cholesky(np.linalg.inv(known[1])).T
    shade = roots.T @ roots

    def answered(tone: Tone, trust: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Misses of the patches' three channels, shape (72,), and what held the fit back."""
        straight = replace(patches, values=tone.of_sensor(patches.values) * tints)
        numbers, _ = _balanced(straight, order, lab, bends, known[0])
        system = _system(numbers, lab, trust, bends[order], known[0])
        flat, hold = system.design.reshape(72, -1), np.zeros((27, 27))
        hold[:18, :18] = system.hold * np.eye(18)
        hold[18:, 18:] = shade
        answer = np.linalg.solve(flat.T @ flat + hold, flat.T @ system.target)
        held = np.concatenate([np.sqrt(system.hold) * answer[:18], roots @ answer[18:]])
        return flat @ answer - system.target, held

    # A patch under glare stands out from the others whatever the curve.
    for _ in range(4):
        miss = np.abs(answered(PLAIN, trust)[0]).reshape(24, 3).max(axis=1)
        miss /= np.maximum(trust, 1e-3)
        usual = max(CURVE_NOISE, float(np.median(miss[patches.trust[order] > 0.0])))
        trust = patches.trust[order] / (1.0 + (miss / (_STANDS_OUT * usual)) ** 2) ** 2
    return bends_of(lambda tone: np.concatenate(answered(tone, trust)))


def _light_like(solution: _Solution, lab: FloatArray, trust: FloatArray) -> dict[str, float]:
    """Median CIEDE2000 of the patches where a typical camera reads them for each kind of light."""
    linear = solution.even @ np.linalg.inv(to_sensor()).T
    return {
        kind: float(
            np.median(ciede2000(lab_of_linear(linear @ to_daylight(kind).T), lab)[trust > 0.0])
        )
        for kind in ("sun", "cloud", "shade", "led", "bulb")
    }
