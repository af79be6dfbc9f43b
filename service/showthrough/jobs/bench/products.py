"""Paint for every step of the plan, product by product, film and count drawn together."""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from showthrough.defaults import Used
from showthrough.film.coats import STATED_FILM_GEOMETRIC_SD, USUAL_SOLIDS_GEOMETRIC_SD
from showthrough.film.undercoat import UNDERCOAT_SOLIDS, UNDERCOAT_WET_UM
from showthrough.jobs.answers.prediction import PlanStep
from showthrough.jobs.bench.case import Case
from showthrough.jobs.case.bench import USUAL_CANS, Bench, Stock
from showthrough.jobs.undercoats.ways import Way
from showthrough.say.words import topcoat_name
from showthrough.workshop.paint.cans import Can, Shopping, can_chances, shop
from showthrough.workshop.paint.quantity import (
    Among,
    Amounts,
    Coating,
    PatchHiding,
    Tried,
    amounts_for_counts,
    amounts_to_hide,
    points_left,
)
from showthrough.workshop.paint.supplies import WaxNeed, abrasive_sheets, wax_g
from showthrough.workshop.paint.transfer import TRANSFER_DEFAULTS

FILMS = frozenset({"prime", "bind", "block", "bond", "seal", "spot seal", "undercoat"})
"""Steps under the topcoat that lay a film."""

_ABRASIVE = frozenset({"sand", "key", "knock back", "feather", "denib"})
_GRADE = re.compile(r"P(\d{2,4}(?:-\d{2,4})*)")
_TWENTIETHS = 20
"""Parts that a mix is told in; see ``say.words.parts_words``."""

_HAND = "brush"
"""Undercoats, sealers and primers are brushed unless the job says otherwise."""


@dataclass(frozen=True, slots=True)
class Product:
    """One product over all groups that use it."""

    name: str
    told: str
    """What the steps call it; ``name`` adds its groups where two are called alike."""
    kinds: tuple[str, ...]
    """Steps that it is used in."""
    by_group: Mapping[str, Amounts]
    """Paint of each group that uses it."""
    stock: Stock
    amounts: Amounts
    """Of all groups together, by one hand."""
    to_buy: bool
    """Whether a shop sells it; an own can is only what is left of it."""
    aerosol: bool
    used: tuple[Used, ...]
    """Defaults that its amount rests on."""
    colour: str | None

    def sizes(self, bench: Bench) -> tuple[Can, ...]:
        """Sizes to choose from."""
        if self.stock.cans:
            return self.stock.cans
        usual = USUAL_CANS["aerosol" if self.aerosol else bench.units]
        return tuple(Can(ml) for ml in usual)

    def shopping(self, bench: Bench) -> Shopping | None:
        """What to take from the shelf and to buy; None where no amount suffices."""
        return shop(
            self.amounts, self.sizes(bench), wished=bench.wished, shelf_ml=self.stock.shelf_ml
        )

    def chances(self, bench: Bench) -> dict[int, dict[int, float]]:
        """Chance that 1, 2, 3 ... cans of each size suffice beside the shelf."""
        there = math.fsum(self.stock.shelf_ml)
        return {
            can.size_ml: can_chances(self.amounts, can.size_ml, there) for can in self.sizes(bench)
        }


@dataclass(frozen=True, slots=True)
class Materials:
    """All that is used up."""

    products: tuple[Product, ...]
    wax: WaxNeed | None
    sheets: dict[int, int] = field(default_factory=dict)
    """Abrasive sheets by P grade."""


@dataclass(frozen=True, slots=True)
class _Laid:
    """One product in one step of one group."""

    key: tuple[object, ...]
    name: str
    kind: str
    group: str
    stock: Stock
    amounts: Amounts
    coating: Coating
    to_buy: bool = True
    colour: str | None = None


def materials_of(cases: Sequence[Case], bench: Bench) -> Materials:
    """Paint, wax and abrasives of all groups, each product once."""
    gathered: dict[tuple[object, ...], list[_Laid]] = {}
    grams = [0.0, 0.0]
    sheets: dict[int, int] = {}
    for case in cases:
        for laid in _laid(case, bench):
            gathered.setdefault(laid.key, []).append(laid)
        for step in case.plan:
            area = case.share_of(step) * case.part.size.area_m2 * bench.pieces
            if step.kind == "wax":
                need = wax_g(area, step.coats or 1)
                grams = [grams[0] + need.likely_g, grams[1] + need.most_g]
            for grade, count in _sheets(step, case, area).items():
                sheets[grade] = sheets.get(grade, 0) + count
    wax = WaxNeed(*grams) if grams[1] else None
    products = [_joined(rows) for rows in gathered.values()]
    called = Counter(product.name for product in products)
    named = (
        replace(p, name=f"{p.name} ({', '.join(p.by_group)})") if called[p.name] > 1 else p
        for p in products
    )
    return Materials(tuple(named), wax, dict(sorted(sheets.items())))


def _joined(rows: list[_Laid]) -> Product:
    first = rows[0]
    by_group: dict[str, Amounts] = {}
    for row in rows:
        known = by_group.get(row.group)
        by_group[row.group] = row.amounts if known is None else known + row.amounts
    amounts, *others = by_group.values()
    for other in others:
        amounts += other
    return Product(
        # What is done between the coats of a spot is no part of what the shop sells.
        name=re.sub(r", [^,]* between the coats$", "", first.name),
        told=first.name,
        kinds=tuple(dict.fromkeys(row.kind for row in rows)),
        by_group=by_group,
        stock=first.stock,
        amounts=amounts,
        to_buy=first.to_buy,
        aerosol=first.coating.tool == "aerosol",
        used=tuple(dict.fromkeys(used for row in rows for used in row.coating.used)),
        colour=first.colour,
    )


def _sheets(step: PlanStep, case: Case, area_m2: float) -> dict[int, int]:
    grades = _GRADE.search(step.product) if step.kind in _ABRASIVE else None
    if grades is None or area_m2 <= 0.0:
        return {}
    told = [int(grade) for grade in grades[1].split("-")]
    # "P180-220" is a choice between two grades, "P120-150-180" three in turn.
    used = tuple(told) if len(told) > 2 else (told[0],)
    times = 1
    if step.kind == "denib":
        times = (case.lead.topcoats or 1) - 1 if case.lead is not None else 0
    return abrasive_sheets(area_m2, used, times) if times else {}


def _laid(case: Case, bench: Bench) -> Iterator[_Laid]:
    """Every film of one group's plan."""
    lead, part = case.lead, case.part
    if lead is None:
        return
    top = _topcoating(case, bench)
    among = _left(case, top)
    for step in case.plan:
        if step.kind in FILMS:
            yield from _under(case, bench, step, lead, among)
        elif step.kind == "topcoat":
            patches = _patches(case, lead)
            amounts = amounts_to_hide(
                top,
                patches,
                least_coats=case.job.least_topcoats + case.laid,
                evenness_cv=case.job.build.evenness_cv,
                among=among,
                laid=case.laid,
            )
            yield _top(case, amounts, top)
        elif step.kind == "clear" and part.finish is not None:
            wet = part.finish.wet_film_um
            coating = Coating(
                area_m2=part.size.area_m2 * bench.pieces,
                tool=part.finish.tool,
                openness=part.openness,
                wet_film_um=wet,
                area_spread=part.size.area_spread,
                film_spread=None if wet is None else STATED_FILM_GEOMETRIC_SD,
            )
            name = "clear finish"
            yield _Laid(
                (name, part.finish),
                name,
                "clear",
                part.name,
                part.finish.stock,
                amounts_for_counts(coating, {step.coats or 1: 1.0}, among),
                coating,
            )


def _top(case: Case, amounts: Amounts, coating: Coating) -> _Laid:
    name = topcoat_name(case.job.topcoat)
    key = ("topcoat", name, tuple(case.job.topcoat.chip_lab), case.part.stock)
    return _Laid(
        key, name, "topcoat", case.part.name, case.part.stock, amounts, coating, colour="topcoat"
    )


def _under(
    case: Case, bench: Bench, step: PlanStep, lead: Way, among: Among | None
) -> Iterator[_Laid]:
    """What one step under the topcoat takes; an own mix as the paints that it is mixed from."""
    part, under = case.part, lead.under
    share = case.share_of(step)
    last = under.product is not None and step.product == under.product
    coating = Coating(
        area_m2=share * part.size.area_m2 * bench.pieces,
        tool=_HAND,
        wet_film_um=UNDERCOAT_WET_UM,
        volume_solids=UNDERCOAT_SOLIDS,
        area_spread=part.size.area_spread,
    )
    stock = bench.products.get(step.kind, Stock())
    if last and under.can is not None:
        can = under.can
        solids, film = can.volume_solids or UNDERCOAT_SOLIDS, can.wet_film_um or UNDERCOAT_WET_UM
        coating = Coating(
            coating.area_m2,
            _HAND,
            wet_film_um=film,
            volume_solids=solids,
            area_spread=part.size.area_spread,
        )
        stock = Stock(shelf_ml=() if can.shelf_ml is None else (can.shelf_ml,))
    amounts = amounts_for_counts(coating, {step.coats or 1: 1.0}, among)
    parts = (
        case.ways.parts_of(under)
        if last and under.kind == "own mix" and case.ways is not None
        else None
    )
    if parts is None:
        to_buy = not (last and under.can is not None)
        key = (step.kind if step.kind in bench.products else "", step.product, step.colour, to_buy)
        yield _Laid(
            key,
            step.product,
            step.kind,
            part.name,
            stock,
            amounts,
            coating,
            to_buy,
            step.colour,
        )
        return
    # What the recipe, told in twentieths, does without is not bought either.
    parts = {word: part for word, part in parts.items() if round(_TWENTIETHS * part)}
    whole = math.fsum(parts.values())
    for word, share_of_mix in parts.items():
        mixed = amounts.part(share_of_mix / whole)
        if word == "topcoat":
            yield replace(_top(case, mixed, coating), kind="mix")
        else:
            name = f"{word} paint for the mix"
            yield _Laid((name,), name, "mix", part.name, Stock(), mixed, coating)


def _topcoating(case: Case, bench: Bench) -> Coating:
    """The topcoat as it is laid, with the geometric sds that the counts were reckoned with."""
    job, part = case.job, case.part
    solids = 1.0 if job.topcoat.solids_stated else USUAL_SOLIDS_GEOMETRIC_SD
    rest = math.log(job.build.geometric_sd) ** 2 - math.log(solids) ** 2
    said = job if job.learned is None else job.learned.before
    measured = said.film.basis == "paint used"
    stays, own = part.transfer, None if job.learned is None else job.learned.transfer
    geometric_sd = 1.0 if measured or stays is not None else None
    learned: tuple[Used, ...] = ()
    if own is not None and geometric_sd is None:
        usual, factor = TRANSFER_DEFAULTS[part.tool, part.openness].part, math.exp(own.log_factor)
        stays, geometric_sd = min(usual.value * factor, 1.0), math.exp(own.sigma)
        learned = (Used(f"{part.tool}: transfer", usual, own.jobs, stays / usual.value),)
    return Coating(
        area_m2=part.size.area_m2 * bench.pieces,
        tool=part.tool,
        openness=part.openness,
        wet_film_um=job.build.wet_film_thickness_um,
        volume_solids=job.topcoat.volume_solids,
        thinning=part.thinning,
        transfer=stays,
        session_loss_ml=part.session_loss_ml,
        area_spread=part.size.area_spread,
        film_spread=math.exp(math.sqrt(max(rest, 0.0))),
        # What was used on the piece before holds whatever stayed on it.
        transfer_spread=geometric_sd,
        solids_spread=solids,
        learned=learned,
    )


def _patches(case: Case, way: Way) -> tuple[PatchHiding, ...]:
    """What each patch asks of the topcoat in one way."""
    under = way.under
    return _hiding(case, under.hiding_um, under.sigma_ln, under.films_um)


def _hiding(
    case: Case,
    hiding_um: np.ndarray,
    sigma_ln: np.ndarray,
    films_um: np.ndarray | None,
) -> tuple[PatchHiding, ...]:
    paint_sigma_ln, with_film = case.job.topcoat.paint.sigma_ln, 0.0
    learned = case.job.learned
    if learned is not None and learned.covariance:
        # Jobs know hiding and film best together: hiding is drawn beside the film, not apart.
        film = math.log(case.job.build.geometric_sd)
        with_film = -learned.covariance / film**2
        paint_sigma_ln = math.sqrt(max(paint_sigma_ln**2 - (with_film * film) ** 2, 0.0))
    likely = [()] * len(hiding_um) if films_um is None else [tuple(f) for f in films_um.T.tolist()]
    return tuple(
        PatchHiding(
            float(film), math.exp(math.hypot(paint_sigma_ln, float(sigma))), 0.0, films, with_film
        )
        for film, sigma, films in zip(hiding_um, sigma_ln, likely, strict=True)
    )


def _left(case: Case, coating: Coating) -> Among | None:
    """The points that agree with the test piece and with the coats that are on, if any are."""
    told: list[Tried] = []
    tried, seen = case.job.test_piece, case.seen
    if tried is not None and case.ways is not None:
        plain = case.ways.simplest.under
        films = plain.films_um if plain.place is None else None
        hiding = case.ways.reckoned.plain_um
        patches = _hiding(case, hiding, np.zeros_like(hiding), films)
        told.append(Tried(patches, tried.coats, tried.enough))
    if seen is not None and case.lead is not None:
        told.append(Tried(_patches(case, case.lead), seen.coats, seen.enough))
    if not told:
        return None
    return points_left(coating, told, evenness_cv=case.job.build.evenness_cv)
