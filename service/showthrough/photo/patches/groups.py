"""Parting pixels into a few colours: k-means in CIELAB, then merging what looks alike."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from showthrough.colour.difference import ciede2000
from showthrough.colour.lights import FloatArray
from showthrough.photo.picture.encoding import BoolArray
from showthrough.photo.robust import cauchy_squared, robust_fit

_START_GROUPS = 10
_ROUNDS = 25
_SAMPLE = 12_000
"""Pixels that the groups are found on; all are assigned at the end."""

_ALIKE = 6.0
"""Groups nearer than this CIEDE2000 are one: a painter would not part them (memory)."""

_CALM = 0.6
"""Share of the pixels, the calmest, that the groups are found on."""

_SHADE_ROUNDS = 6
_SLOPE_ROUNDS = 10

_APART = 3
"""Pixels between two whose light is compared: past the blur of one, short of the next grain."""

_CLOSE = 400
"""Pixels nearest to a reference at which its light is kept."""

_VOTES = np.array([[1, 1, 1], [1, 2, 1], [1, 1, 1]], dtype=np.int16)
"""A pixel's own group counts twice among those around it."""


@dataclass(frozen=True, slots=True)
class Groups:
    """Pixels in groups."""

    labels: NDArray[np.int8]
    """Group of each pixel by falling size, shape (h, w); -1 where there is no surface."""
    core: BoolArray
    """Pixels all of whose neighbours are of the same group, shape (h, w)."""
    even: FloatArray
    """Sensor numbers in even light, shape (h, w, 3)."""
    count: int
    notes: tuple[str, ...]


def group_colours(
    even: FloatArray,
    usable: BoolArray,
    to_lab: Callable[[FloatArray], FloatArray],
    most: int,
    least_share: float,
    *,
    shaded: bool,
    near: tuple[float, float] | None = None,
) -> Groups:
    """Part the usable pixels into at most ``most`` groups.

    Args:
        even: sensor numbers, shape (h, w, 3).
        usable: which pixels are surface, shape (h, w).
        to_lab: CIELAB of sensor numbers.
        most: most groups.
        least_share: smaller groups join the nearest one.
        shaded: whether uneven light is still in the numbers; it is then guessed from
            how each group varies across the picture.
        near: place of a reference, in fractions of width and height: the light is kept as it is
            where the surface lies nearest to it; kept at the surface's middle where None.
    """
    rows, columns = np.nonzero(usable)
    smooth = _median_3x3(even)
    # Borders show mixtures, which would pass for colours of their own.
    calm_rows, calm_columns = np.nonzero(_calm(smooth, usable))
    step = max(1, calm_rows.size // _SAMPLE)
    if shaded:
        few = slice(None, None, 2 * step)
        where = calm_rows[few], calm_columns[few]
        even, smooth = _without_shade(even, smooth, usable, where, to_lab, near)
    lab = to_lab(smooth)
    sample = lab[calm_rows[::step], calm_columns[::step]]
    centres = _merged(sample, _k_means(sample, _START_GROUPS), most, least_share)
    labels = np.full(usable.shape, -1, dtype=np.int8)
    labels[rows, columns] = _nearest(lab[rows, columns], centres)
    labels = _voted(labels, usable, centres.shape[0])
    sizes = np.array([(labels == i).sum() for i in range(centres.shape[0])])
    order = [i for i in np.argsort(-sizes, kind="stable") if sizes[i] > 0]
    ranked = np.full(centres.shape[0] + 1, -1, dtype=np.int8)
    for rank, old in enumerate(order):
        ranked[old] = rank
    labels = ranked[labels]
    notes = ("The surface looks even: one patch.",) if len(order) == 1 else ()
    return Groups(labels, _core(labels), even, len(order), notes)


def _median_3x3(image: FloatArray) -> FloatArray:
    """Median of each pixel's neighbourhood: noise goes, edges stay."""
    from scipy import ndimage  # noqa: PLC0415 - slow to import

    return np.asarray(ndimage.median_filter(image, size=(3, 3, 1), mode="nearest"))


def _calm(image: FloatArray, usable: BoolArray) -> BoolArray:
    """Usable pixels that differ least from their neighbours."""
    light = np.log(np.maximum(image.mean(axis=2), 1e-5))
    slope = np.zeros(light.shape)
    for axis in (0, 1):
        across = np.abs(np.roll(light, 1, axis) - np.roll(light, -1, axis))
        slope = np.maximum(slope, across)
    return usable & (slope <= np.quantile(slope[usable], _CALM))


def _nearest(lab: FloatArray, centres: FloatArray) -> NDArray[np.int8]:
    """Index of the nearest centre by plain distance in CIELAB."""
    from scipy.cluster.vq import vq  # noqa: PLC0415 - slow to import

    return np.asarray(vq(lab, centres)[0], dtype=np.int8)


def _means(values: FloatArray, label: NDArray[np.integer], old: FloatArray) -> FloatArray:
    """Mean of each group's values (k, 3); the old one where a group is empty."""
    count = old.shape[0]
    size = np.bincount(label, minlength=count)[:count]
    total = np.stack([np.bincount(label, v, minlength=count)[:count] for v in values.T], axis=1)
    return np.where(size[:, None] > 0, total / np.maximum(size, 1)[:, None], old)


def _k_means(lab: FloatArray, count: int) -> FloatArray:
    """Centres (k, 3); begins with the mean and then the farthest of a thinned set."""
    # Single pixels may be specks: start from means of similar pixels.
    lightness, a, b = np.rint(lab / 6.0).astype(int).T
    # One number for each kind: rows take fifty times as long to sort.
    kind = (lightness * 4096 + a) * 4096 + b
    _, member, size = np.unique(kind, return_inverse=True, return_counts=True)
    big = np.flatnonzero(size >= max(5, lab.shape[0] // 500))
    means = _means(lab, member, np.zeros((size.size, 3)))[big] if big.size else lab[:1]
    centres = [means[np.argmax(size[big])] if big.size else lab.mean(axis=0)]
    while len(centres) < min(count, means.shape[0]):
        gap = np.min([((means - c) ** 2).sum(axis=1) for c in centres], axis=0)
        if gap.max() < 1.0:
            break
        centres.append(means[int(np.argmax(gap))])
    found = np.array(centres)
    for _ in range(_ROUNDS):
        new = _means(lab, _nearest(lab, found), found)
        if np.abs(new - found).max() < 0.05:
            break
        found = new
    return found


def _merged(lab: FloatArray, centres: FloatArray, most: int, least_share: float) -> FloatArray:
    """Join alike and small groups until few enough are left."""
    label = _nearest(lab, centres)
    weight = np.bincount(label, minlength=centres.shape[0]).astype(float)
    centres, weight = centres[weight > 0], weight[weight > 0]
    while centres.shape[0] > 1:
        gap = ciede2000(centres[:, None], centres[None])
        np.fill_diagonal(gap, np.inf)
        small = int(np.argmin(weight))
        one, two = (int(i) for i in np.unravel_index(int(np.argmin(gap)), gap.shape))
        if gap[one, two] >= _ALIKE and centres.shape[0] <= most:
            if weight[small] >= least_share * lab.shape[0]:
                break
            one, two = small, int(np.argmin(gap[small]))
        share = weight[one] / (weight[one] + weight[two])
        centres[two] = share * centres[one] + (1.0 - share) * centres[two]
        weight[two] += weight[one]
        centres = np.delete(centres, one, axis=0)
        weight = np.delete(weight, one)
    # Medians of what is nearest are the groups' true middles.
    for _ in range(5):
        label = _nearest(lab, centres)
        centres = np.array(
            [
                np.median(lab[label == i], axis=0) if (label == i).any() else c
                for i, c in enumerate(centres)
            ]
        )
    return centres


def _without_shade(
    even: FloatArray,
    smooth: FloatArray,
    usable: BoolArray,
    where: tuple[NDArray[np.intp], NDArray[np.intp]],
    to_lab: Callable[[FloatArray], FloatArray],
    near: tuple[float, float] | None,
) -> tuple[FloatArray, FloatArray]:
    """Divide out a smooth fall-off that all groups share.

    Within a group of one colour, what still varies smoothly over the picture is light: first
    as it shows from each pixel to the next, then over the groups.
    """
    height, width = even.shape[:2]
    y, x = np.mgrid[0:height, 0:width]
    scale = max(height, width)
    x, y = (x - where[1].mean()) / scale, (y - where[0].mean()) / scale
    cubes = x**3, x * x * y, x * y * y, y**3
    terms = np.stack([x, y, x * x, x * y, y * y, *cubes], axis=-1)
    all_light = np.log(np.maximum(smooth.mean(axis=2), 1e-5))
    total = _from_slopes(all_light, terms, usable)
    here, light = terms[where], all_light[where]
    for _ in range(_SHADE_ROUNDS):
        flat = smooth[where] / np.exp(here @ total)[:, None]
        lab = to_lab(flat)
        label = _nearest(lab, _k_means(lab, _START_GROUPS))
        rows, values = [], []
        for group in range(int(label.max()) + 1):
            inside = label == group
            if inside.sum() < 30:
                continue
            rows.append(here[inside] - here[inside].mean(axis=0))
            own = light[inside] - here[inside] @ total
            values.append(own - np.median(own))
        design, left = np.concatenate(rows), np.concatenate(values)
        trust = 1.0 / (1.0 + (left / (2.0 * np.median(np.abs(left)) + 1e-6)) ** 2)
        # A weak pull towards even light.
        hold = 1e-3 * left.size * np.diag([1.0, 1.0, *[3.0] * 3, *[9.0] * 4]) * 0.01
        step = np.linalg.solve(
            design.T @ (design * trust[:, None]) + hold, design.T @ (trust * left)
        )
        total += step
        if np.abs(step).max() < 0.005:
            break
    shade = terms @ total
    if near is not None:
        down, across = np.nonzero(usable)
        away = np.hypot(across - near[0] * width, down - near[1] * height)
        # About as many pixels as a small card holds.
        close = np.argsort(away, kind="stable")[:_CLOSE]
        shade = shade - np.median(shade[down[close], across[close]])
    gain = np.exp(shade)[..., None]
    return even / gain, smooth / gain


def _from_slopes(light: FloatArray, terms: FloatArray, usable: BoolArray) -> FloatArray:
    """Fall-off of the light as each pixel shows it against one a few pixels on, shape (9,).

    Within one colour only the light changes; borders between colours are steep and few, and
    are soon no longer heard.

    Args:
        light: its logarithm, shape (h, w).
        terms: of the fall-off at each pixel, shape (h, w, 9).
        usable: which pixels are surface, shape (h, w).
    """
    every, on, back = slice(None), slice(_APART, None), slice(None, -_APART)
    rows, values = [], []
    for there, here in (((every, on), (every, back)), ((on, every), (back, every))):
        both = usable[there] & usable[here]
        down, across = np.nonzero(both)
        step = max(1, down.size // _SAMPLE)
        some = down[::step], across[::step]
        rows.append(terms[there][some] - terms[here][some])
        values.append(light[there][some] - light[here][some])
    return robust_fit(
        np.concatenate(rows),
        np.concatenate(values),
        np.full(terms.shape[-1], 1e3),
        cauchy_squared,
        _SLOPE_ROUNDS,
        least=1e-6,
    ).answer


def _voted(labels: NDArray[np.int8], usable: BoolArray, count: int) -> NDArray[np.int8]:
    """Give each pixel the commonest group around it: single specks go."""
    from scipy import ndimage  # noqa: PLC0415 - slow to import

    votes = [
        ndimage.convolve((labels == group).astype(np.int16), _VOTES, mode="constant")
        for group in range(count)
    ]
    return np.where(usable, np.argmax(votes, axis=0), -1).astype(np.int8)


def _core(labels: NDArray[np.int8]) -> BoolArray:
    """Pixels whose neighbours are all of their own group."""
    from scipy import ndimage  # noqa: PLC0415 - slow to import

    least = ndimage.minimum_filter(labels, 3, mode="constant", cval=-2)
    most = ndimage.maximum_filter(labels, 3, mode="constant", cval=-2)
    return np.asarray((least == most) & (labels >= 0), dtype=bool)
