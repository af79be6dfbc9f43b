"""Paint that a product needs: how much, and with what chance an amount suffices.

On the piece lies area x wet film; the rest of the paint used is overspray and what stays
in the tool. Film, hiding, transfer and area are drawn together: a thin film needs more
coats, but each of them takes less paint, so that their chances must not be multiplied.

The draws are fixed points of a low-discrepancy sequence: the same job gives the same
answer, and products drawn here may be added point by point.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property, lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from showthrough.colour.lights import FloatArray, frozen
from showthrough.defaults import Default, Used, defaults_of
from showthrough.errors import ProblemList
from showthrough.film.coats import (
    ADVISED_LEAST_COATS,
    EVENNESS_CV,
    MOST_COATS,
    coats_needed,
)
from showthrough.workshop.limits import chances, choice, number, numbers, whole
from showthrough.workshop.paint.transfer import (
    AEROSOL_SOLIDS,
    OPENNESS,
    SESSION_LOSS_ML,
    TOOLS,
    TRANSFER_DEFAULTS,
    usual_wet_film,
)
from showthrough.workshop.size.area import DEFAULTS as AREA_DEFAULTS
from showthrough.workshop.size.area import MOST_AREA_M2

DEFAULTS = defaults_of("film")
"""What is taken where neither the painter nor the label says; film build has the same."""

MOST_THINNING = 1.0
"""Parts of thinner to one of paint that some lacquers take; above it a percentage is meant."""

POINTS = 8192
"""Fixed points of the joint distribution."""

_FACTORS = ("hiding", "film", "transfer", "area", "solids", "reading")


@cache
def _points() -> dict[str, FloatArray]:
    """Standard normal points of each factor, and uniform ones for the reading.

    Multiples of the square roots of the first primes, modulo 1: they fill six dimensions
    more evenly than random points (Richtmyer 1951; from memory).
    """
    steps = np.sqrt([2.0, 3.0, 5.0, 7.0, 11.0, 13.0])
    uniform = (0.5 + np.outer(np.arange(1, POINTS + 1), steps)) % 1.0
    scale = np.linspace(-6.0, 6.0, 2401)
    normal = np.array([0.5 * math.erfc(-z / math.sqrt(2.0)) for z in scale])
    points = {name: np.interp(uniform[:, i], normal, scale) for i, name in enumerate(_FACTORS)}
    return {name: frozen(column) for name, column in (points | {"reading": uniform[:, -1]}).items()}


Among = NDArray[np.int64]
"""Places of the points that are left once something was seen; as many as all, some repeated."""


def _drawn(among: Among | None) -> dict[str, FloatArray]:
    """The points, or those that are left."""
    points = _points()
    return points if among is None else {name: column[among] for name, column in points.items()}


@lru_cache(maxsize=64)
def _every_factor(name: str, geometric_sd: float) -> FloatArray:
    """A log-normal factor at all points: the same few come again and again."""
    return frozen(np.exp(math.log(geometric_sd) * _points()[name]))


def _factor(name: str, geometric_sd: float, among: Among | None) -> FloatArray:
    """A factor with a geometric sd at the points that are left."""
    every = _every_factor(name, geometric_sd)
    return every if among is None else every[among]


@dataclass(frozen=True, slots=True)
class PatchHiding:
    """What one patch asks of the topcoat, apart from the film that is laid.

    Raises:
        InputError: a number is out of range.
    """

    hiding_um: float
    """Dry film that hides it, µm; 0 where it needs none, inf where no film does."""
    geometric_sd: float = 1.4
    """One standard deviation of it as a factor, >= 1, without that of the film laid."""
    lost: float = 0.0
    """Part of the first coat that it drinks, 0 to 0.9."""
    films_um: tuple[float, ...] = ()
    """Films that hide it by equally likely readings; where given, they stand for
    ``hiding_um``."""
    with_film: float = 0.0
    """Power of the film laid, over its mean, by which the film that hides goes with it: finished
    jobs know both together."""

    def __post_init__(self) -> None:
        """Tell all that cannot be, at once."""
        with ProblemList() as wrong:
            for name, film in (
                ("hiding_um", self.hiding_um),
                *(("films_um", f) for f in self.films_um),
            ):
                if film != math.inf:
                    number(wrong, name, film, 0.0, 1e6, "µm")
            number(wrong, "geometric_sd", self.geometric_sd, 1.0, 10.0)
            number(wrong, "lost", self.lost, 0.0, 0.9)
            number(wrong, "with_film", self.with_film, -20.0, 20.0)


_BOUNDS = (
    ("area_m2", 0.0, MOST_AREA_M2, "m2", True),
    ("thinning", 0.0, MOST_THINNING, "parts to one of paint", False),
    ("wet_film_um", 0.0, 1000.0, "", True),
    ("volume_solids", 0.0, 1.0, "", True),
    ("transfer", 0.0, 1.0, "", True),
    ("session_loss_ml", 0.0, 2000.0, "", False),
    ("area_spread", 1.0, 5.0, "", False),
    ("film_spread", 1.0, 5.0, "", False),
    ("transfer_spread", 1.0, 5.0, "", False),
    ("solids_spread", 1.0, 5.0, "", False),
)
"""Of a coating's numbers: name, least, greatest, unit, and whether the least does not work."""


@dataclass(frozen=True, slots=True)
class Coating:
    """One product laid over an area with one tool.

    Raises:
        InputError: every unknown word and every number out of range, by field.
    """

    area_m2: float
    tool: str = "brush"
    openness: str = "flat panel"
    wet_film_um: float | None = None
    """Wet film of one coat as it lies, thinner included, µm; None takes the tool's usual."""
    volume_solids: float | None = None
    """Of the paint as it stands in the can; None takes the usual."""
    thinning: float = 0.0
    """Parts of thinner to one part of paint by volume: 0.1 is 10 %."""
    transfer: float | None = None
    """Part of the paint used that stays on the piece; None takes the default of tool and
    openness."""
    session_loss_ml: float | None = None
    """Left in the tool each session, ml of mixed paint; None takes the tool's default."""
    coats_each_session: int = 1
    area_spread: float | None = None
    film_spread: float | None = None
    transfer_spread: float | None = None
    solids_spread: float | None = None
    """Spreads are one standard deviation as a factor, >= 1; None takes the default, and 1
    where the quantity itself is stated and measured."""
    learned: tuple[Used, ...] = ()
    """What of these finished jobs have taught."""

    def __post_init__(self) -> None:
        """Tell all that cannot be, at once."""
        with ProblemList() as wrong:
            choice(wrong, "tool", self.tool, TOOLS)
            choice(wrong, "openness", self.openness, OPENNESS)
            whole(wrong, "coats_each_session", self.coats_each_session, 1, MOST_COATS)
            numbers(wrong, self, _BOUNDS)

    def default_of(self, name: str) -> Default:
        """The default of a quantity that may be left out, by the name of its field."""
        row = TRANSFER_DEFAULTS[self.tool, self.openness]
        return {
            "wet_film_um": usual_wet_film(self.tool),
            "volume_solids": AEROSOL_SOLIDS
            if self.tool == "aerosol"
            else DEFAULTS["volume solids"],
            "transfer": row.part,
            "session_loss_ml": SESSION_LOSS_ML[self.tool],
            "area_spread": AREA_DEFAULTS["area spread"],
            "film_spread": DEFAULTS[
                "spread of wet film" if self.wet_film_um is None else "spread of a stated wet film"
            ],
            "transfer_spread": row.geometric_sd,
            "solids_spread": DEFAULTS["spread of volume solids"],
        }[name]

    def value(self, name: str) -> float:
        """A quantity as stated, or its default."""
        stated: float | None = getattr(self, name)
        if stated is not None:
            return stated
        if name == "solids_spread" and self.volume_solids is not None:
            return 1.0
        return self.default_of(name).value

    @property
    def dry_film_thickness_um(self) -> float:
        """Dry film of one coat, µm: thinning by r parts divides volume solids by 1 + r."""
        return self.value("wet_film_um") * self.value("volume_solids") / (1.0 + self.thinning)

    @property
    def used(self) -> tuple[Used, ...]:
        """Defaults that its amounts rest on."""
        names = ["wet_film_um", "volume_solids", "transfer", "session_loss_ml"]
        names += ["area_spread", "film_spread", "transfer_spread"]
        if self.volume_solids is None:
            names.append("solids_spread")
        return self.learned + tuple(
            Used(
                f"{self.tool}: {name.removesuffix('_um').removesuffix('_ml').replace('_', ' ')}",
                self.default_of(name),
            )
            for name in names
            if getattr(self, name) is None
        )


@dataclass(frozen=True, eq=False)
class Amounts:
    """Paint and thinner over the joint distribution, point by point.

    Amounts of groups that share a product may be added: their draws are the same points,
    so that one painter's thick or thin hand rules all of them.
    """

    paint_ml: FloatArray
    """Unthinned paint, ml, one value for each point; inf where 12 coats are not enough."""
    thinner_ml: FloatArray
    """Thinner mixed in, ml, for each point."""
    counts: FloatArray
    """Coats, for each point; the greater count where groups were added."""

    @cached_property
    def _sorted(self) -> FloatArray:
        """Paint in order: every question below reads it."""
        return np.sort(self.paint_ml)

    def __add__(self, other: Amounts) -> Amounts:
        """Both amounts together, by the same hand."""
        return Amounts(
            self.paint_ml + other.paint_ml,
            self.thinner_ml + other.thinner_ml,
            np.maximum(self.counts, other.counts),
        )

    def part(self, share: float) -> Amounts:
        """A part of the paint, for products that are mixed; 0 to 1."""
        return Amounts(share * self.paint_ml, share * self.thinner_ml, self.counts)

    def coat_ml_at(self, chances: Sequence[float]) -> tuple[float, ...] | None:
        """Paint of one coat that suffices with each chance, ml; None where no count does."""
        finite = np.isfinite(self.paint_ml)
        each = self.paint_ml[finite] / self.counts[finite]
        if not each.size:
            return None
        places = [min(int(chance * each.size), each.size - 1) for chance in chances]
        return tuple(float(np.partition(each, place)[place]) for place in places)

    def chance(self, paint_ml: float) -> float:
        """Chance that an amount of paint suffices, 0 to 1."""
        return float(np.searchsorted(self._sorted, paint_ml, "right")) / self._sorted.size

    def ml_at(self, chance: float) -> float | None:
        """Least amount that suffices with a chance, ml; None where no amount does."""
        place = math.ceil(chance * self._sorted.size - 1e-9) - 1
        found = float(self._sorted[min(max(place, 0), self._sorted.size - 1)])
        return found if math.isfinite(found) else None

    def thinner_at(self, chance: float) -> float | None:
        """Thinner to have for a chance, ml; None where no amount does."""
        if not self.thinner_ml.any():
            return 0.0
        found = float(np.quantile(self.thinner_ml, chance, method="inverted_cdf"))
        return found if math.isfinite(found) else None

    @cached_property
    def _each_count(self) -> tuple[FloatArray, FloatArray]:
        """Points and paint of each count from 0 to 12; what takes more is left out."""
        within = self.counts <= MOST_COATS
        counts = self.counts[within].astype(np.int64)
        paint = np.bincount(counts, self.paint_ml[within], MOST_COATS + 1).astype(float)
        return np.bincount(counts, minlength=MOST_COATS + 1).astype(float), paint

    def mean_ml(self, count: int) -> float | None:
        """Mean paint where so many coats are laid, ml; None where that never happens."""
        points, paint = self._each_count
        if not 0 <= count <= MOST_COATS or not points[count]:
            return None
        return float(paint[count] / points[count])


def amounts_to_hide(
    coating: Coating,
    patches: tuple[PatchHiding, ...],
    *,
    least_coats: int = ADVISED_LEAST_COATS,
    evenness_cv: float = EVENNESS_CV,
    among: Among | None = None,
    laid: int = 0,
) -> Amounts:
    """Paint for as many coats as hide all patches, film and count drawn together.

    Args:
        coating: the topcoat on its area.
        patches: what each patch asks; the one that needs most decides at each point.
        least_coats: coats that are laid in any case; 2 for a sound film.
        evenness_cv: coefficient of variation of local film within one coat.
        among: the points that are left once coats were tried; see ``points_left``.
        laid: coats of it that are on the piece already: paint and counts are of the rest.

    Raises:
        InputError: no patch, or a number out of range.
    """
    with ProblemList() as wrong:
        if not patches:
            wrong.add("patches", "none", "at least one patch must be given", "missing")
        whole(wrong, "least_coats", least_coats, 1, MOST_COATS)
        number(wrong, "evenness_cv", evenness_cv, 0.0, 1.0)
        whole(wrong, "laid", laid, 0, MOST_COATS)
    counts = np.maximum(_counts(coating, patches, evenness_cv, among), float(least_coats))
    counts = np.where(counts > MOST_COATS, np.inf, np.maximum(counts - laid, 0.0))
    return _amounts(coating, counts, among)


def _counts(
    coating: Coating, patches: tuple[PatchHiding, ...], evenness_cv: float, among: Among | None
) -> FloatArray:
    """Coats that hide all patches, at each point."""
    laid = coating.dry_film_thickness_um * _factor("film", coating.value("film_spread"), among)
    laid = laid * _factor("solids", coating.value("solids_spread"), among)
    counts = np.ones(POINTS)
    for patch in patches:
        film: FloatArray | float = patch.hiding_um
        if patch.films_um:
            readings = np.asarray(patch.films_um)
            film = readings[(_drawn(among)["reading"] * readings.size).astype(int)]
        need = film * _factor("hiding", patch.geometric_sd, among) / laid
        if patch.with_film:
            need = need * (laid / coating.dry_film_thickness_um) ** patch.with_film
        counts = np.maximum(counts, coats_needed(need, patch.lost, evenness_cv))
    return counts


class Tried(NamedTuple):
    """Coats that were laid over some patches and looked at."""

    patches: tuple[PatchHiding, ...]
    coats: int
    enough: bool


def points_left(
    coating: Coating, tried: Sequence[Tried], *, evenness_cv: float = EVENNESS_CV
) -> Among | None:
    """The points that agree with all that was seen of the paint.

    Args:
        coating: the topcoat as it was tried.
        tried: on a test piece, or on the piece itself.
        evenness_cv: coefficient of variation of local film within one coat.

    Returns:
        Places of points, as many as there are points so that amounts may still be added;
        None where no point agrees and what was seen tells nothing.
    """
    fits = np.ones(POINTS, dtype=bool)
    for patches, coats, enough in tried:
        fits &= (_counts(coating, patches, evenness_cv, None) <= coats) == enough
    left = np.flatnonzero(fits)
    return left[np.arange(POINTS) * left.size // POINTS] if left.size else None


def amounts_for_counts(
    coating: Coating, counts: Mapping[int, float], among: Among | None = None
) -> Amounts:
    """Paint for counts that do not hang on the film laid, such as sealers and undercoats.

    Args:
        coating: the product on its area.
        counts: chance of each count, adding up to 1; ``{2: 1.0}`` for two coats.
        among: the points that are left once coats were tried; see ``points_left``.

    Raises:
        InputError: the chances do not add up, or a count is not from 1 to 12.
    """
    with ProblemList() as wrong:
        chances(wrong, "coats", counts, MOST_COATS)
    order = sorted(counts)
    edges = np.cumsum([counts[n] for n in order])[:-1]
    # The points of hiding: they are free here, and where many coats are likely on one
    # group they are likely on the next.
    if len(order) == 1:
        return _amounts(coating, np.full(POINTS, float(order[0])), among)
    share = (np.argsort(np.argsort(_drawn(among)["hiding"])) + 0.5) / POINTS
    return _amounts(coating, np.asarray(order, dtype=float)[np.searchsorted(edges, share)], among)


def _amounts(coating: Coating, counts: FloatArray, among: Among | None) -> Amounts:
    transfer = coating.value("transfer") * _factor(
        "transfer", coating.value("transfer_spread"), among
    )
    area = coating.area_m2 * _factor("area", coating.value("area_spread"), among)
    wet = coating.value("wet_film_um") * _factor("film", coating.value("film_spread"), among)
    beyond = counts > MOST_COATS
    laid = np.minimum(counts, MOST_COATS)  # finite, so that a loss of nothing stays nothing
    # A litre over a square metre is 1000 µm.
    mixed = area * wet * laid / np.minimum(transfer, 1.0)
    mixed = mixed + coating.value("session_loss_ml") * np.ceil(laid / coating.coats_each_session)
    mixed = np.where(beyond, np.inf, mixed)
    paint = mixed / (1.0 + coating.thinning)
    # A part of inf is inf too, but none of it is 0.
    thinner = paint * coating.thinning if coating.thinning > 0.0 else np.zeros(POINTS)
    return Amounts(paint, thinner, np.where(beyond, np.inf, counts))
