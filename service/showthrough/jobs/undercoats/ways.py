"""Complete ways to do the job: what goes under, how many topcoats, and which way leads.

A way gives the ground all that it needs; what does not is none. Ways are compared by the coats
to be expected, undercoats included: a coat is added only where it is worth one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.colour.names import describe_colour, with_article
from showthrough.film.coats import MOST_COATS, Outlook, outlook_of
from showthrough.film.hiding import Paint
from showthrough.jobs.answers.prediction import WayKind
from showthrough.jobs.case.prepared import PreparedJob
from showthrough.jobs.schema.job import OwnedUndercoat
from showthrough.jobs.undercoats.reckon import (
    UNDERCOAT_GEOMETRIC_SD,
    Reckoned,
    best_of,
    films_over,
    undercoat_sigma,
)
from showthrough.say.greys import grey_words
from showthrough.workshop.grounds import Need

SHELF = ("plain", "spots", "sealer", "owned", "white", "grey", "shop-tinted", "own mix")
"""Simpler to come by first: of ways that cost nearly the same the first of these leads."""

SAME_WITHIN = 0.2
"""Expected coats within which two ways are the same to a painter."""

LEAST_SPOT = 0.1
"""Part of a coat that a spot coat costs at least: a brush is wetted and cleaned for it."""


class Under(NamedTuple):
    """What lies under the topcoat in one way."""

    kind: WayKind
    """Its place on the ``SHELF``."""
    name: str
    product: str | None
    """The last coat over all, to be bought or mixed; None where there is none."""
    undercoats: int
    """Coats over the whole surface."""
    spots: tuple[Need, ...]
    """Needs met on their patches alone."""
    hiding_um: FloatArray
    sigma_ln: FloatArray
    """By what is uncertain under the topcoat, shape (p,)."""
    substrates: FloatArray
    """Reflectance inside under the topcoat, shape (p, 31)."""
    films_um: FloatArray | None = None
    place: int | None = None
    """Its place among the candidates, where it has a colour."""
    over_need: bool = False
    """Whether its colour is a coat more, over what the ground needs."""
    can: OwnedUndercoat | None = None

    @property
    def key(self) -> str:
        """What tells it from the other ways of a job."""
        return self.kind if self.can is None else f"owned: {self.can.name}"


class Way(NamedTuple):
    """A complete way to do the job."""

    under: Under
    outlook: Outlook
    topcoats: int | None
    """Likely topcoats, at least the least; None where over 12."""
    total: int | None
    """Undercoats and topcoats together; None where over 12."""
    low: int | None
    high: int | None
    chance: float
    """Chance that its topcoats are enough; of 12 where there is no count."""
    expected_coats: float
    """Coats to be expected, spot coats counted by their share."""

    @classmethod
    def of(cls, under: Under, outlook: Outlook, least: int) -> Way:
        """What lies under the topcoat, with the counts that follow."""

        def count(level: float) -> int | None:
            first = outlook.first(level)
            return None if first is None else max(first, least)

        def in_all(count: int | None) -> int | None:
            return None if count is None else count + under.undercoats

        topcoats = count(0.5)
        spots = sum(need.coats * max(LEAST_SPOT, need.share) for need in under.spots)
        return cls(
            under,
            outlook,
            topcoats,
            in_all(topcoats),
            in_all(count(0.1)),
            in_all(count(0.9)),
            outlook.chance(topcoats or MOST_COATS),
            under.undercoats + outlook.expected(least) + spots,
        )

    @property
    def shelf(self) -> int:
        """Its place on the shelf."""
        return SHELF.index(self.under.kind)

    @property
    def spot_coats(self) -> int:
        """Coats on spots alone."""
        return sum(need.coats for need in self.under.spots)


@dataclass(frozen=True, slots=True)
class Ways:
    """All ways, the leading one first, and owned cans that are none."""

    ways: tuple[Way, ...]
    unfit: tuple[Way, ...]
    """Own cans that do not give the ground what it needs, with what they would come to."""
    plain: Outlook
    """The topcoat straight onto what the ground needs."""
    reckoned: Reckoned

    @property
    def simplest(self) -> Way:
        """The way earliest on the shelf: what savings are counted against."""
        return min(self.ways, key=lambda way: (way.shelf, way.expected_coats))

    def paint_of(self, under: Under) -> tuple[Paint, float] | None:
        """An undercoat's paint and the film of one coat, µm; None where it has no colour."""
        if under.place is None:
            return None
        all_ = self.reckoned.candidates
        paint = Paint(
            all_.absorption[under.place],
            all_.scattering[under.place],
            UNDERCOAT_GEOMETRIC_SD,
            "colour",
        )
        return paint, float(self.reckoned.films_um[under.place])

    def parts_of(self, under: Under) -> dict[str, float] | None:
        """Parts of topcoat, white and black of an own mix; None for what is bought."""
        parts = None
        if under.place is not None:
            parts = self.reckoned.candidates.parts[under.place]
        words = ("topcoat", "white", "black")
        return None if parts is None else dict(zip(words, parts, strict=True))

    @property
    def best_coloured(self) -> int | None:
        """The first way, by its place, whose last coat under the topcoat has a colour."""
        return next((i for i, way in enumerate(self.ways) if way.under.place is not None), None)


def outlooks_of(job: PreparedJob, unders: Sequence[Under]) -> list[Outlook]:
    """Chances over what each way leaves for the topcoat, which drinks nothing any more."""
    sigma = np.hypot(job.paint_and_film_sigma_ln, [under.sigma_ln for under in unders])
    films = [
        under.hiding_um[None] if under.films_um is None else under.films_um for under in unders
    ]
    # Coats of one colour are told apart by fewer readings: alike ones are reckoned together.
    chances = np.empty((len(unders), MOST_COATS))
    for size in {len(each) for each in films}:
        alike = [i for i, each in enumerate(films) if len(each) == size]
        chances[alike] = job.chances_over(np.array([films[i] for i in alike]), sigma[alike])
    return [Outlook.of(enough) for enough in chances.tolist()]


def plain_outlook(job: PreparedJob, hiding_um: FloatArray, films_um: FloatArray | None) -> Outlook:
    """The topcoat straight onto what the ground needs, with what a test piece has shown."""
    outlook = outlook_of(job.patch_needs(hiding_um, films_um), job.build)
    tried = job.test_piece
    if tried is None:
        return outlook
    return outlook.after(outlook.chance(tried.coats), enough=tried.enough)


def ways_of(job: PreparedJob, reckoned: Reckoned) -> Ways:
    """Every way that the ground permits, the leading one first.

    Args:
        job: the prepared job; none of its finishes is unsound.
        reckoned: films over all candidates.
    """
    bare = _bare(job, reckoned)
    permitted, unfit = _unders(job, reckoned, bare)
    plain, *found = outlooks_of(job, [bare, *permitted, *unfit])
    tried = job.test_piece
    if tried is not None:
        # Paint and film are the same over every ground: what one coat showed holds for all.
        base = plain.chance(tried.coats)
        plain, *found = (each.after(base, enough=tried.enough) for each in (plain, *found))
    every = [
        Way.of(under, outlook, job.least_topcoats)
        for under, outlook in zip([*permitted, *unfit], found, strict=True)
    ]
    ways, left = every[: len(permitted)], tuple(every[len(permitted) :])
    least = min(way.expected_coats for way in ways)
    near = [way for way in ways if way.expected_coats <= least + SAME_WITHIN + 1e-9]
    lead = min(near, key=lambda way: (way.shelf, way.expected_coats))
    rest = sorted(
        (way for way in ways if way is not lead), key=lambda way: (way.expected_coats, way.shelf)
    )
    return Ways((lead, *rest), left, plain, reckoned)


def _bare(job: PreparedJob, reckoned: Reckoned) -> Under:
    """What lies there once the ground has what it needs."""
    return Under(
        "plain",
        "straight onto the prepared surface",
        None,
        sum(need.coats for need in job.needs if need.all_over),
        tuple(need for need in job.needs if not need.all_over),
        reckoned.plain_um,
        np.zeros_like(job.drinks),
        job.beneath,
        reckoned.likely_um,
    )


def _unders(job: PreparedJob, reckoned: Reckoned, bare: Under) -> tuple[list[Under], list[Under]]:
    """What may lie under the topcoat, and own cans that may not."""
    whole = [need for need in job.needs if need.all_over]
    spots = bare.spots
    out: list[Under] = []
    if whole:
        last = whole[-1].product
        if last.clear:
            name = f"clear {last.name}"
            out.append(bare._replace(kind="sealer", name=name, product=name))
    elif spots:
        out.append(bare._replace(kind="spots", name=_spot_name(spots)))
        sealed = tuple(need for need in spots if not _met_all_over(need))
        if len(sealed) < len(spots):
            product = next(need for need in spots if _met_all_over(need)).product
            name = f"clear {product.name} all over" if product.clear else f"{product.name} all over"
            out.append(
                bare._replace(kind="sealer", name=name, product=name, undercoats=1, spots=sealed)
            )
    else:
        out.append(bare)
    return _with_colours(job, reckoned, bare, out, whole)


def _with_colours(
    job: PreparedJob, reckoned: Reckoned, bare: Under, out: list[Under], whole: list[Need]
) -> tuple[list[Under], list[Under]]:
    """Ways with a coloured coat under the topcoat, joined to those without."""
    greys, shop = reckoned.rows("grey"), reckoned.rows("shop")
    values = np.array([reckoned.candidates.value[i] for i in greys], dtype=float)
    ready = greys[values == np.round(values)]
    picks: list[tuple[WayKind, int | None]] = [
        ("white", int(reckoned.rows("white")[0])),
        ("grey", best_of(reckoned, ready)),
        ("shop-tinted", best_of(reckoned, np.concatenate([greys, shop]))),
        ("own mix", best_of(reckoned, reckoned.rows("tint"))),
    ]
    picks += [("owned", int(i)) for i in reckoned.rows("owned")]
    chosen = [(kind, index) for kind, index in picks if index is not None]
    indices = [index for _, index in chosen]
    tinted = np.array([kind in {"shop-tinted", "own mix"} for kind, _ in chosen])
    sigma = undercoat_sigma(job, reckoned, indices, tinted)
    films = films_over(job.readings, reckoned, indices)
    unfit: list[Under] = []
    for row, (kind, index) in enumerate(chosen):
        laid = bare._replace(
            kind=kind,
            hiding_um=reckoned.under_um[index],
            sigma_ln=sigma[row],
            substrates=reckoned.substrates[index],
            films_um=films[row],
            place=index,
        )
        if kind == "owned":
            assert job.owned is not None
            can = job.owned.cans[index - (len(reckoned.candidates) - len(job.owned.cans))]
            fits, unfits = _owned(laid._replace(can=can, name=f"“{can.name}”"), whole)
            out += fits
            unfit += unfits
            continue
        if kind == "shop-tinted" and index in ready:
            continue  # that grey is sold ready-made
        out.append(_named(laid, reckoned, whole))
    return out, unfit


def _named(laid: Under, reckoned: Reckoned, whole: list[Need]) -> Under:
    """A white, grey, shop-tinted or own undercoat as the product that it is."""
    every, place = reckoned.candidates, laid.place or 0
    value = every.value[place]
    kept, duty = _spots_under(laid.spots, laid.kind)
    tint = grey_words(value) if value is not None else describe_colour(every.lab[place])
    shade = {
        "white": "white",
        "grey": grey_words(value or 0.0),
        "shop-tinted": f"shop-tinted {tint}",
        "own mix": "own mix",
    }[laid.kind]
    if whole:
        product = whole[-1].product
        exists = {"white": product.white, "grey": product.grey, "shop-tinted": product.tinted}
        if exists.get(laid.kind, False):
            return laid._replace(name=f"{shade} {product.name}", product=f"{shade} {product.name}")
        # What it needs is not to be had in this shade: the shade is a coat more, over it.
        name = f"{shade} undercoat over {with_article(product.name)}"
        return laid._replace(
            name=name,
            product=f"{shade} undercoat",
            undercoats=laid.undercoats + 1,
            over_need=True,
        )
    name = f"{shade} {duty}"
    return laid._replace(name=name, product=name, undercoats=1, spots=kept)


def _met_all_over(need: Need) -> bool:
    """Whether its product may go over the whole surface and then meets it there too."""
    return need.kind in {"sealing", "blocking", "adhesion"} and not need.between


def _spots_under(spots: tuple[Need, ...], kind: str) -> tuple[tuple[Need, ...], str]:
    """Spots that are still coated by themselves under such a coat, and what the coat is called.

    A coat over all that seals makes sealed spots unnecessary; where spots are blocked or bonded,
    the coat is that primer if it is sold in the shade, else they are done before it.
    """
    if kind == "own mix":
        return spots, "undercoat"
    sold = {"white": "white", "grey": "grey", "shop-tinted": "tinted"}[kind]
    kept, duty = [], "undercoat"
    for need in spots:
        if not _met_all_over(need):
            kept.append(need)
        elif need.kind != "sealing":
            if getattr(need.product, sold) and duty in {"undercoat", need.product.name}:
                duty = need.product.name
            else:
                kept.append(need)
    return tuple(kept), duty


def _owned(laid: Under, whole: list[Need]) -> tuple[list[Under], list[Under]]:
    """An own can as a way, or as none."""
    can = laid.can
    assert can is not None

    def does(need: Need) -> bool:
        kinds = {need.kind, *need.also}
        told = {"adhesion": can.bonds, "blocking": can.blocks, "sealing": True}
        return all(told.get(kind, False) for kind in kinds)

    if whole:
        if len(whole) == 1 and does(whole[0]):
            return [laid._replace(product=can.name, undercoats=1)], []
        return [], [laid._replace(product=can.name)]
    kept = tuple(need for need in laid.spots if not (_met_all_over(need) and does(need)))
    return [laid._replace(product=can.name, undercoats=1, spots=kept)], []


def _spot_name(spots: tuple[Need, ...]) -> str:
    """What is done on spots, in words."""
    words = {
        "sealing": "seal",
        "blocking": "block",
        "adhesion": "prime",
        "binding": "bind",
        "corrosion": "prime",
    }
    verbs = list(dict.fromkeys(words[need.kind] for need in spots))
    names = list(dict.fromkeys(name for need in spots for name in need.patches))
    shown = [f"“{name}”" for name in names]
    return f"{' and '.join(verbs)} {', '.join(shown)} alone"
