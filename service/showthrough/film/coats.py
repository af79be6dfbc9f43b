"""From film to coats: what a tool lays down, thin spots, and the chance of each count.

A coat is a dry film x = wet film x volume solids. Local films vary; n coats are
enough when the thin spots (10th percentile) of n coats hold the hiding film:

    n - lost - z CV sqrt(n) >= N,    N = hiding film / x

with z = 1.2816, CV the variation of one coat (coats vary independently, so theirs
falls with the root of n) and ``lost`` the part of a first coat that a porous patch
drinks. Scuff sanding takes the tops of a film, not its thin spots: it lowers the
mean film alone.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from showthrough.colour.lights import FloatArray
from showthrough.defaults import defaults_of, usual
from showthrough.errors import ProblemList

Tool = Literal["brush", "roller", "spray", "aerosol"]
Coat = Literal["light", "full"]

WET_FILM_THICKNESS_UM: dict[tuple[str, str], float] = {
    (tool, coat): default.value
    for name, default in defaults_of("wet film").items()
    for tool, coat in [name.split(" ")]
}
"""Usual wet film of one coat, µm (from memory); of an aerosol the can's content on the piece
(common practice, no source: 100 µm of it in a light coat)."""

AEROSOL_SOLIDS = usual("film.aerosol solids")
"""Volume solids of an aerosol can's content, propellant included (common practice, no source)."""

MOST_AEROSOL_SOLIDS = 0.25
"""More than this is the paint before it was filled into the can."""

USUAL_COAT: dict[str, Coat] = {
    "brush": "full",
    "roller": "full",
    "spray": "light",
    "aerosol": "light",
}

USUAL_FILM_GEOMETRIC_SD = usual("film.spread of wet film")
"""Geometric sd of the wet film where only the tool is known (from memory)."""

STATED_FILM_GEOMETRIC_SD = usual("film.spread of a stated wet film")
"""Geometric sd of a wet film that the painter states or works out from paint used (from memory)."""

USUAL_VOLUME_SOLIDS = usual("film.volume solids")
USUAL_SOLIDS_GEOMETRIC_SD = usual("film.spread of volume solids")
"""Water-borne furniture paint; architectural paints lie between 0.35 and 0.55."""

USUAL_DENSITY_G_ML = usual("film.density")
"""Wet density, where paint used is given in grams (from memory)."""

EVENNESS_CV = usual("film.evenness")
"""Coefficient of variation of local film within one coat (from memory)."""

THIN_SPOT_Z = 1.2816
"""Normal quantile of the 10th percentile: thin spots."""

POROUS_LOSS = usual("film.porous loss")
"""Part of the first coat that a bare porous patch drinks (from memory)."""

SANDING_LOSS = usual("film.sanding loss")
"""Part of each coat that scuff sanding takes, on average (from memory)."""

MOST_COATS = 12
"""Counts are reckoned up to here; beyond it another method is the answer."""

_CERTAIN = 1.0 - 1e-7
"""A chance from which more coats need not be reckoned."""

ADVISED_LEAST_COATS = int(usual("film.least topcoats"))
"""For a sound film, whatever the optics say (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class FilmBuild:
    """Dry film of one coat and what it varies by."""

    wet_film_thickness_um: float
    volume_solids: float
    geometric_sd: float
    """Factor of one standard deviation about the mean dry film, >= 1."""
    sanding_loss: float = SANDING_LOSS
    evenness_cv: float = EVENNESS_CV

    @property
    def dry_film_thickness_um(self) -> float:
        """Dry film of one coat before sanding, µm."""
        return self.wet_film_thickness_um * self.volume_solids


def wet_film_from_use(
    volume_ml: float, area_m2: float, coats: int, transfer_efficiency: float
) -> float:
    """Wet film of one coat from paint used over an area.

    Args:
        volume_ml: paint used for all coats, ml.
        area_m2: painted area, m2.
        coats: coats that it went into.
        transfer_efficiency: part that stayed on the piece, 0 to 1.

    Returns:
        Wet film, µm: 1 litre over 10 m2 is 100 µm.
    """
    with ProblemList() as wrong:
        for name, value, top in (
            ("volume_ml", volume_ml, 1e6),
            ("area_m2", area_m2, 1e4),
            ("coats", coats, 1e3),
            ("transfer_efficiency", transfer_efficiency, 1.0),
        ):
            if not 0.0 < value <= top:
                wrong.add(name, value, f"{value:g} must be above 0 and at most {top:g}")
    return volume_ml * transfer_efficiency / (area_m2 * coats)


def joint_geometric_sd(*geometric_sds: float) -> float:
    """Geometric sd of a product of independent log-normal factors."""
    return math.exp(math.sqrt(math.fsum(math.log(s) ** 2 for s in geometric_sds)))


def thin_spot_coats(
    coats: ArrayLike, lost: ArrayLike = 0.0, evenness_cv: float = EVENNESS_CV
) -> FloatArray:
    """Film at the thin spots of n coats, in mean coats; 0 at the least.

    Args:
        coats: number of coats, >= 0, any shape.
        lost: part of the first coat drunk, broadcast.
        evenness_cv: coefficient of variation of one coat.
    """
    n = np.asarray(coats, dtype=float)
    return np.maximum(
        n - np.asarray(lost, dtype=float) - THIN_SPOT_Z * evenness_cv * np.sqrt(n), 0.0
    )


def mean_coats(coats: ArrayLike, lost: ArrayLike, sanding_loss: float) -> FloatArray:
    """Mean film of n coats, in coats: the last one is not sanded."""
    n = np.asarray(coats, dtype=float)
    return np.maximum(
        n - np.asarray(lost, dtype=float) - sanding_loss * np.maximum(n - 1.0, 0.0), 0.0
    )


def coats_needed(
    need: ArrayLike, lost: ArrayLike = 0.0, evenness_cv: float = EVENNESS_CV
) -> FloatArray:
    """Smallest whole count whose thin spots hold the hiding film.

    Args:
        need: N, hiding film over dry film of one coat, >= 0, any shape; inf allowed.
        lost: part of the first coat drunk, broadcast.
        evenness_cv: coefficient of variation of one coat.

    Returns:
        Counts as floats (inf where never), at least 1.

    Source:
        Closed solution of the quadratic in sqrt(n) in the module's heading.
    """
    spread = THIN_SPOT_Z * evenness_cv
    total = np.asarray(need, dtype=float) + np.asarray(lost, dtype=float)
    root = 0.5 * (spread + np.sqrt(spread * spread + 4.0 * total))
    # The tolerance keeps a count that is met exactly from rounding up.
    return np.maximum(np.ceil(root * root - 1e-9), 1.0)


_erfc = np.frompyfunc(math.erfc, 1, 1)


def normal_cdf(x: ArrayLike) -> FloatArray:
    """Standard normal distribution function, any shape."""
    return 0.5 * np.asarray(_erfc(-np.asarray(x, dtype=float) / math.sqrt(2.0)), dtype=float)


@dataclass(frozen=True, slots=True)
class PatchNeed:
    """What one patch asks of the topcoat."""

    hiding_film_um: float
    """Dry film that hides it, µm; inf if none does."""
    sigma_ln: float
    """Standard deviation of its natural logarithm, hiding and film build together."""
    lost: float = 0.0
    """Part of the first coat that it drinks."""
    films_um: Sequence[float] | FloatArray = ()
    """Films that hide it by equally likely readings of the colours; empty where they are sure."""


def chances_enough(
    needs: Sequence[PatchNeed], dry_film_thickness_um: float, counts: ArrayLike, cv: float
) -> FloatArray:
    """Probability that n coats are enough on the patch that needs most, for each of some counts.

    The factors that the patches share (the paint, the painter) rule, so the patches
    are taken to succeed or fail together and the least chance counts. Where colours are
    unsure that holds for each reading of them, and the mean over the readings counts.

    Args:
        needs: what each patch asks.
        dry_film_thickness_um: film of one coat, µm.
        counts: numbers of coats, shape (c,).
        cv: coefficient of variation of one coat.

    Returns:
        Shape (c,).

    Raises:
        ValueError: patches have different numbers of readings.
    """
    readings = max(len(need.films_um) for need in needs) or 1
    films = [n.films_um if len(n.films_um) else [n.hiding_film_um] * readings for n in needs]
    sigma_ln, lost = np.array([(need.sigma_ln, need.lost) for need in needs]).T
    hiding_film_um = np.array(films, dtype=float).T
    return chances_over(hiding_film_um, sigma_ln, lost, dry_film_thickness_um, counts, cv)


def chances_over(
    hiding_film_um: FloatArray,
    sigma_ln: FloatArray,
    lost: FloatArray,
    dry_film_thickness_um: float,
    counts: ArrayLike,
    cv: float,
) -> FloatArray:
    """The rule of ``chances_enough`` on arrays, for many surfaces at once.

    Args:
        hiding_film_um: films by m readings over p patches, µm, shape (..., m, p).
        sigma_ln: standard deviation of their logarithm, shape (..., p).
        lost: part of a first coat that each patch drinks, shape (p,).
        dry_film_thickness_um: film of one coat, µm.
        counts: numbers of coats, shape (c,).
        cv: coefficient of variation of one coat.

    Returns:
        Probability that so many coats are enough, shape (..., c).
    """
    have = thin_spot_coats(np.asarray(counts)[:, None], lost, cv) * dry_film_thickness_um
    film, sigma_ln = hiding_film_um[..., None, :, :], sigma_ln[..., None, None, :]
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        margin = np.where(film == 0.0, np.inf, np.log(have[:, None] / film))
        known = np.where(margin >= -1e-12, np.inf, -np.inf)
        margin = np.where(sigma_ln > 0.0, margin / sigma_ln, known)
    return np.asarray(normal_cdf(margin.min(axis=-1)).mean(axis=-1))


def chance_enough(
    needs: Sequence[PatchNeed], dry_film_thickness_um: float, n: int, cv: float
) -> float:
    """The chance of one count, see ``chances_enough``."""
    return float(chances_enough(needs, dry_film_thickness_um, [n], cv)[0])


def likely_coats(needs: tuple[PatchNeed, ...], build: FilmBuild) -> int | None:
    """Smallest count that is enough with probability 1/2 or more, None if over 12.

    Where all colours are sure the geometric sd does not enter: the median decides, on the patch
    that needs most.
    """
    if any(len(need.films_um) for need in needs):
        counts = np.arange(1, MOST_COATS + 1)
        chances = chances_enough(needs, build.dry_film_thickness_um, counts, build.evenness_cv)
        enough = counts[chances >= 0.5 - 1e-12]
        return int(enough[0]) if enough.size else None
    hiding_film_um, lost = np.array([(need.hiding_film_um, need.lost) for need in needs]).T
    each = coats_needed(hiding_film_um / build.dry_film_thickness_um, lost, build.evenness_cv)
    most = float(np.where(hiding_film_um > 0.0, each, 1.0).max())
    return int(most) if most <= MOST_COATS else None


EvenOrder = Literal["alone", "before", "together", "after", "never"]


def even_order(likely: int | None, even_after: int | None, patches: int) -> EvenOrder:
    """When patches stop showing against each other, beside when they have the full colour.

    "after" is no contradiction: patches pass for the chip within CIEDE2000 1 each, and two
    of them on either side of it, a lighter and a darker one, may be nearly 2 apart.

    Args:
        likely: coats to the full colour, None where over 12.
        even_after: coats until no two patches differ, None where over 12.
        patches: how many there are.
    """
    if patches < 2:
        return "alone"
    if even_after is None:
        return "never"
    if likely is None or even_after < likely:
        return "before"
    return "together" if even_after == likely else "after"


class Outlook(NamedTuple):
    """How many topcoats are enough, and how sure that is."""

    enough: tuple[float, ...]
    """Chance that 1, 2 ... 12 are enough; none is less than the one before it."""

    @classmethod
    def of(cls, enough: Sequence[float]) -> Outlook:
        """From the chances of 1, 2 ... 12; what is as good as certain grows no more."""
        last = min(bisect_right(enough, _CERTAIN), MOST_COATS - 1)
        return cls((*enough[:last], *(enough[last],) * (MOST_COATS - last)))

    def first(self, level: float) -> int | None:
        """Smallest count enough with this chance, None where over 12."""
        before = bisect_left(self.enough, level - 1e-12)
        return None if before == MOST_COATS else before + 1

    def chance(self, count: int) -> float:
        """Chance that a count is enough; from 12 on that of 12."""
        return self.enough[min(count, MOST_COATS) - 1]

    def expected(self, least: int) -> float:
        """Mean of the topcoats put on: at least ``least``, 13 where 12 are not enough."""
        return MOST_COATS + 1 - sum(self.enough[least - 1 :])

    def after(self, base: float, *, enough: bool) -> Outlook:
        """What is left once some coats were tried and were enough, or were not.

        Args:
            base: the chance, before that, of the coats that were tried.
            enough: how it came out.
        """
        if enough and base > 0.0:
            return Outlook(tuple(min(1.0, p / base) for p in self.enough))
        if not enough and base < 1.0:
            return Outlook(tuple(max(0.0, (p - base) / (1.0 - base)) for p in self.enough))
        return self


def outlook_of(needs: Sequence[PatchNeed], build: FilmBuild) -> Outlook:
    """Closed-form chances that 1 to 12 coats are enough, see ``chances_enough``."""
    counts = range(1, MOST_COATS + 1)
    chances = chances_enough(needs, build.dry_film_thickness_um, counts, build.evenness_cv)
    return Outlook.of(chances.tolist())
