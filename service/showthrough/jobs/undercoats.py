"""Which preparation to choose: options ranked by coats, then chance, then paint.

Ranking by what a painter spends lives here; the films themselves come from
``film.undercoat``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import cast

import numpy as np

from showthrough.colour.lights import FloatArray, white_point
from showthrough.colour.munsell import luminance_of_value, value_of_luminance
from showthrough.colour.space import hex_of_lab, hexes_of_labs, lab_to_xyz, xyz_to_lab
from showthrough.film import undercoat as uc
from showthrough.film.build import FilmBuild, PatchNeed, chance_enough, coats_needed, likely_coats
from showthrough.film.ground import Need
from showthrough.film.hiding import Paint
from showthrough.film.opacity import thickness_shift
from showthrough.jobs.result import (
    GreyCurve,
    GreyPoint,
    OptionKind,
    UndercoatOption,
    rounded_lab,
)
from showthrough.jobs.schema import OwnedUndercoat
from showthrough.jobs.words import undercoat_why

_SHELF = ("none", "spot sealing", "clear", "owned", "white", "grey", "tint")
"""Simpler to come by first; breaks ties."""

_CHANCE_TIE = 0.08
"""Chances closer than this are the same to a painter."""

UNDERCOAT_SPREAD = 1.3
"""Spread of an undercoat's film and hiding together (from memory)."""


@dataclass(frozen=True, slots=True)
class Surface:
    """The patches as the film room sees them."""

    grounds: FloatArray
    """Reflectance inside, shape (p, 31)."""
    lost: FloatArray
    """Part of a first coat that each patch drinks, shape (p,)."""
    log_spread: FloatArray
    """Standard deviation of ln critical film by the readings' uncertainty, shape (p,)."""


@dataclass(frozen=True, slots=True)
class Search:
    """What the search over undercoats found."""

    options: list[UndercoatOption]
    curve: GreyCurve
    best_ground: FloatArray | None
    """Grounds under the first coloured option that helps, shape (p, 31)."""


@dataclass(frozen=True, slots=True)
class _Trial:
    """One candidate reckoned through."""

    kind: OptionKind
    name: str
    lab: FloatArray | None
    munsell: str | None
    parts: tuple[float, float, float] | None
    undercoats: int
    critical_um: FloatArray
    lost: FloatArray
    log_spread: FloatArray
    grounds: FloatArray
    undercoat_wet_um: float
    meets_needs: bool
    why: str


@dataclass(frozen=True, slots=True)
class Reckoned:
    """Critical films over the plain ground and over every undercoat, from one search."""

    candidates: uc.Candidates
    laid_um: FloatArray
    """Film of each undercoat over each patch, shape (m, p)."""
    grounds: FloatArray
    """Reflectance inside under the topcoat, shape (m, p, 31)."""
    plain_um: FloatArray
    """Critical film over the ground as it is, shape (p,)."""
    under_um: FloatArray
    """Critical film over each undercoat, shape (m, p)."""


def reckon(
    paint: Paint,
    chip_lab: FloatArray,
    surface: Surface,
    undercoat_wet_um: float,
    owned: uc.Candidates | None = None,
    owned_films_um: FloatArray | None = None,
) -> Reckoned:
    """Lay every candidate over every patch and find the topcoat's critical films."""
    k, s = paint.absorption, paint.scattering
    candidates = uc.usual_candidates(k, s)
    films = np.full(len(candidates), undercoat_wet_um * uc.UNDERCOAT_SOLIDS)
    if owned is not None and owned_films_um is not None:
        candidates = uc.joined(candidates, owned)
        films = np.concatenate([films, owned_films_um])
    # A porous patch drinks part of the undercoat instead of the topcoat.
    laid = films[:, None] * (1.0 - surface.lost[None])
    grounds = uc.grounds_under(candidates, surface.grounds, laid)
    found = uc.critical_over(k, s, chip_lab, np.concatenate([surface.grounds[None], grounds]))
    return Reckoned(candidates, laid, grounds, found[0], found[1:])


def search_undercoats(
    paint: Paint,
    chip_lab: FloatArray,
    surface: Surface,
    build: FilmBuild,
    reckoned: Reckoned,
    needs: tuple[Need, ...],
    undercoat_wet_um: float,
    owned_cans: tuple[OwnedUndercoat, ...] = (),
) -> Search:
    """Options ranked: total coats, then the chance of finishing in them, then paint."""
    candidates, grounds, critical = reckoned.candidates, reckoned.grounds, reckoned.under_um
    worst = critical.max(axis=1)

    kinds = np.array(candidates.kind)
    greys = np.flatnonzero(kinds == "grey")
    tints = np.flatnonzero(kinds == "tint")
    chosen = [
        int(_best_grey(worst[greys], greys, build)),
        int(np.flatnonzero(kinds == "white")[0]),
        int(tints[np.argmin(worst[tints])]),
        *(int(i) for i in np.flatnonzero(kinds == "owned")),
    ]
    spread = np.hypot(
        surface.log_spread[None], _undercoat_spread(paint, chip_lab, surface, reckoned, chosen)
    )
    coat_needed = any(need.coat for need in needs)
    spots = any(need.kind == "spot sealing" for need in needs)
    trials = [
        *_without(
            surface,
            reckoned,
            coat_needed=coat_needed,
            spots=spots,
            wet_um=undercoat_wet_um,
        ),
        *(
            _trial_of(
                index,
                candidates,
                surface,
                grounds[index],
                critical[index],
                spread[place],
                needs,
                owned_cans,
                undercoat_wet_um,
                chip_lab,
            )
            for place, index in enumerate(chosen)
        ),
    ]
    plain_total = _plain_total(trials, paint, build)
    options = _ranked([_option(t, paint, build, plain_total) for t in trials])
    curve = _grey_curve(worst[greys], build, uc.closed_grey(paint.absorption, paint.scattering))
    return Search(options, curve, _best_ground(options, trials))


def _best_grey(worst: FloatArray, index: np.ndarray, build: FilmBuild) -> int:
    """The grey that asks for least film, rounded to a half Munsell step where that is free."""
    best = int(np.argmin(worst))
    count = coats_needed(worst / build.dry_film_um, 0.0, build.evenness_cv)
    halves = np.arange(len(worst)) % 2 == 0
    same = halves & (count == count[best]) & (worst <= 1.1 * worst[best] + 1e-12)
    if same.any():
        places = np.flatnonzero(same)
        best = int(places[np.argmin(worst[places])])
    return int(index[best])


def _undercoat_spread(
    paint: Paint, chip_lab: FloatArray, surface: Surface, reckoned: Reckoned, chosen: list[int]
) -> FloatArray:
    """How far an uncertain undercoat moves ln critical film; shape (chosen, p)."""
    all_ = reckoned.candidates
    part = uc.Candidates(
        all_.absorption[chosen],
        all_.scattering[chosen],
        all_.lab[chosen],
        tuple(all_.kind[i] for i in chosen),
        tuple(all_.value[i] for i in chosen),
        tuple(all_.parts[i] for i in chosen),
    )
    thin = uc.grounds_under(part, surface.grounds, reckoned.laid_um[chosen] / UNDERCOAT_SPREAD)
    ground = reckoned.grounds[chosen]
    critical = reckoned.under_um[chosen]
    shape = critical.shape
    flat = critical.ravel()
    sound = np.isfinite(flat) & (flat > 0.0)
    n = flat.size
    shift = thickness_shift(
        np.broadcast_to(paint.absorption, (n, 31)),
        np.broadcast_to(paint.scattering, (n, 31)),
        ground.reshape(n, 31),
        thin.reshape(n, 31),
        np.broadcast_to(chip_lab, (n, 3)),
        np.where(sound, flat, 1.0),
    )
    return np.where(sound, np.abs(shift), 0.0).reshape(shape)


def _without(
    surface: Surface, reckoned: Reckoned, *, coat_needed: bool, spots: bool, wet_um: float
) -> list[_Trial]:
    """Ways without a pigmented coat over all, as far as the ground lets one choose."""
    none = np.zeros_like(surface.lost)
    plain = reckoned.plain_um

    def trial(
        kind: OptionKind,
        name: str,
        why: str,
        *,
        coats: int = 0,
        meets: bool = True,
        lost: FloatArray = none,
        critical: FloatArray = plain,
    ) -> _Trial:
        return _Trial(
            kind,
            name,
            None,
            None,
            None,
            coats,
            critical,
            lost,
            surface.log_spread,
            surface.grounds,
            wet_um * coats,
            meets,
            why,
        )

    if coat_needed:
        why = "The ground needs this coat whatever the colour; it changes no colour."
        return [trial("clear", "clear bonding or blocking coat", why, coats=1)]
    if not spots:
        return [trial("none", "no undercoat", "Straight onto the ground.", lost=surface.lost)]
    thirsty = surface.lost > 0.0
    drinks = "Straight onto the ground; the bare spots drink part of the first coat."
    out = [trial("none", "no undercoat", drinks, meets=False, lost=surface.lost)]
    if thirsty.all():
        why = "Seals the whole thirsty ground; the colour under the paint stays as it is."
        out.append(trial("clear", "clear sealer all over", why, coats=1))
        return out
    clear = "Sealed spots no longer drink; the colour under the paint stays as it is."
    white = "Sealed spots no longer drink, and the paint meets white there."
    row = reckoned.candidates.kind.index("white")
    out.append(trial("spot sealing", "clear sealer on the spots alone", clear))
    out.append(
        trial(
            "spot sealing",
            "white sealer on the spots alone",
            white,
            critical=np.where(thirsty, reckoned.under_um[row], plain),
        )
    )
    return out


def _trial_of(
    index: int,
    candidates: uc.Candidates,
    surface: Surface,
    grounds: FloatArray,
    critical: FloatArray,
    spread: FloatArray,
    needs: tuple[Need, ...],
    owned_cans: tuple[OwnedUndercoat, ...],
    wet_um: float,
    chip_lab: FloatArray,
) -> _Trial:
    kind = cast("OptionKind", candidates.kind[index])
    lab = candidates.lab[index]
    required: set[str] = {need.kind for need in needs if need.coat}
    duty = _duty(required)
    meets = True
    munsell = None
    if kind == "grey":
        value = candidates.value[index]
        munsell = f"N {value:g}/"
        name = f"grey {duty} N {value:g}"
    elif kind == "white":
        name = f"white {duty}"
    elif kind == "tint":
        name = f"tinted {duty}"
    else:
        own = owned_cans[index - (len(candidates) - len(owned_cans))]
        name = own.name
        meets = ("adhesion" not in required or own.bonds) and (
            "blocking" not in required or own.blocks
        )
        wet_um = own.wet_film_um or wet_um
    return _Trial(
        kind,
        name,
        lab,
        munsell,
        candidates.parts[index],
        1,
        critical,
        np.zeros_like(surface.lost),
        spread,
        grounds,
        wet_um,
        meets,
        undercoat_why(kind, lab, chip_lab),
    )


def _duty(required: set[str]) -> str:
    if required == {"adhesion", "blocking"}:
        return "bonding, stain-blocking undercoat"
    if required == {"adhesion"}:
        return "bonding undercoat"
    if required == {"blocking"}:
        return "stain-blocking undercoat"
    return "undercoat"


def patch_needs(
    critical_um: FloatArray,
    lost: FloatArray,
    log_spread: FloatArray,
    paint: Paint,
    build: FilmBuild,
) -> tuple[PatchNeed, ...]:
    """What each patch asks of the topcoat, with the spread of paint, film and reading."""
    base = paint.log_spread**2 + math.log(build.spread) ** 2
    return tuple(
        PatchNeed(float(c), math.sqrt(base + float(e) ** 2), float(drunk))
        for c, e, drunk in zip(critical_um, log_spread, lost, strict=True)
    )


def _needs(trial: _Trial, paint: Paint, build: FilmBuild) -> tuple[PatchNeed, ...]:
    return patch_needs(trial.critical_um, trial.lost, trial.log_spread, paint, build)


def _plain_total(trials: list[_Trial], paint: Paint, build: FilmBuild) -> int | None:
    """Coats of the simplest way that the ground allows: what savings are counted against."""
    first = trials[0]
    likely = likely_coats(_needs(first, paint, build), build)
    return None if likely is None else likely + first.undercoats


def _option(
    trial: _Trial, paint: Paint, build: FilmBuild, plain_total: int | None
) -> UndercoatOption:
    needs = _needs(trial, paint, build)
    topcoats = likely_coats(needs, build)
    total = None if topcoats is None else topcoats + trial.undercoats
    worst = float(trial.critical_um.max())
    parts = None
    if trial.parts is not None:
        parts = {
            word: round(part, 3)
            for word, part in zip(("topcoat", "white", "black"), trial.parts, strict=True)
        }
    return UndercoatOption(
        rank=0,
        kind=trial.kind,
        name=trial.name,
        lab=None if trial.lab is None else rounded_lab(trial.lab),
        hex=None if trial.lab is None else hex_of_lab(trial.lab),
        munsell=trial.munsell,
        parts=parts,
        undercoats=trial.undercoats,
        topcoats=topcoats,
        total=total,
        saved=None if total is None or plain_total is None else plain_total - total,
        chance=0.0
        if topcoats is None
        else round(chance_enough(needs, build.dry_film_um, topcoats, build.evenness_cv), 4),
        critical_um=round(worst, 3) if math.isfinite(worst) else None,
        paint_um=None
        if topcoats is None
        else topcoats * build.wet_film_um + trial.undercoat_wet_um,
        meets_needs=trial.meets_needs,
        why=trial.why,
    )


def _ranked(options: list[UndercoatOption]) -> list[UndercoatOption]:
    """Order the options and say which are ties."""

    def coarse(option: UndercoatOption) -> tuple[float, ...]:
        total = math.inf if option.total is None else option.total
        # Going against a need is never first, however few coats it takes.
        return (not option.meets_needs, total, -round(option.chance / _CHANCE_TIE))

    def key(option: UndercoatOption) -> tuple[float, ...]:
        return (*coarse(option), _SHELF.index(option.kind), option.paint_um or math.inf)

    ordered = sorted(options, key=key)
    out = []
    for place, option in enumerate(ordered):
        tie = (
            place > 0 and option.total is not None and coarse(option) == coarse(ordered[place - 1])
        )
        out.append(option.model_copy(update={"rank": place + 1, "tie": tie}))
    return out


def helps(option: UndercoatOption) -> bool:
    """Whether a coloured undercoat saves a coat, or alone brings the colour within reach."""
    reached = option.lab is not None and option.total is not None
    return reached and (option.saved is None or option.saved > 0)


def _best_ground(options: list[UndercoatOption], trials: list[_Trial]) -> FloatArray | None:
    for option in options:
        if helps(option):
            trial = next(t for t in trials if t.name == option.name and t.kind == option.kind)
            return trial.grounds
    return None


@cache
def _grey_hexes() -> list[str]:
    luminance = luminance_of_value(uc.GREY_VALUES)
    return hexes_of_labs(xyz_to_lab(luminance[:, None] / 100.0 * white_point()))


def _grey_curve(worst: FloatArray, build: FilmBuild, closed_l: float) -> GreyCurve:
    counts = coats_needed(worst / build.dry_film_um, 0.0, build.evenness_cv)
    finite = np.isfinite(worst)
    points = [
        GreyPoint(
            munsell_value=float(v),
            hex=hex_,
            critical_um=round(float(x), 3) if f else None,
            topcoats=int(c) if f else None,
        )
        for v, hex_, x, c, f in zip(
            uc.GREY_VALUES, _grey_hexes(), worst, counts, finite, strict=True
        )
    ]
    best = int(np.argmin(worst))
    luminance = float(lab_to_xyz([closed_l, 0.0, 0.0])[1])
    closed = round(float(value_of_luminance(luminance)), 2)
    if not finite[best]:
        return GreyCurve(
            points=points, best_value=None, good_from=None, good_to=None, closed_rule_value=closed
        )
    good = np.flatnonzero(counts == counts[best])
    return GreyCurve(
        points=points,
        best_value=float(uc.GREY_VALUES[best]),
        good_from=float(uc.GREY_VALUES[good[0]]),
        good_to=float(uc.GREY_VALUES[good[-1]]),
        closed_rule_value=closed,
    )
