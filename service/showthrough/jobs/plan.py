"""The steps of the leading way, from the first wash to the cure."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

from showthrough.jobs.answers.prediction import ColourShown, PlanStep
from showthrough.jobs.case.prepared import PreparedJob
from showthrough.jobs.undercoats.ways import Under, Way, Ways
from showthrough.say.learned import from_jobs
from showthrough.say.paint_facts import recoat_words
from showthrough.say.words import parts_words, topcoat_name
from showthrough.workshop.days.drying import CHEMISTRY, drying_factor
from showthrough.workshop.grounds import Need, NeedKind
from showthrough.workshop.grounds.kinds import BEFORE_ALL, COMMON
from showthrough.workshop.grounds.preparation import Work

if TYPE_CHECKING:
    pass

_KIND: dict[NeedKind, str] = {
    "corrosion": "prime",
    "binding": "bind",
    "blocking": "block",
    "adhesion": "bond",
    "sealing": "seal",
}


class _Steps:
    """Numbers steps as they come."""

    def __init__(self) -> None:
        self.steps: list[PlanStep] = []

    def add(
        self,
        kind: str,
        product: str,
        why: str,
        *,
        on: tuple[str, ...] | None = None,
        colour: str | None = None,
        coats: int | None = None,
        source: str = COMMON,
    ) -> None:
        self.steps.append(
            PlanStep(
                number=len(self.steps) + 1,
                kind=kind,
                on=["all"] if on is None else list(on),
                product=product,
                colour=colour,
                coats=coats,
                why=why,
                source=source,
            )
        )


def plan_of(
    job: PreparedJob, ways: Ways | None, colours: Mapping[int, ColourShown]
) -> list[PlanStep]:
    """The plan: preparation, what the ground needs, undercoat, topcoats, cure.

    Args:
        job: the prepared job.
        ways: all ways, the leading one first; None where a finish is unsound.
        colours: of the last coat under the topcoat, by its place among the candidates.
    """
    out = _Steps()
    lead = None if ways is None else ways.ways[0]
    counted = lead is not None and lead.topcoats is not None
    unsure = lead is not None and counted and lead.low != lead.high
    asked = job.test_piece is None  # once: what it showed is in the chances
    first = [work for work in job.works if work.kind in BEFORE_ALL]
    for work in first:
        _prepare(out, work)
    if unsure and asked:
        out.add(
            "test piece",
            "one coat with your tool, on a hidden spot or a board",
            "the count is not sure: how one coat covers tells which is yours",
            coats=1,
        )
    for work in job.works[len(first) :]:
        _prepare(out, work)
    if lead is None or not counted:
        return out.steps
    _coats_under(out, job, lead, colours, ways.parts_of(lead.under) if ways is not None else None)
    topcoats = lead.topcoats or 0
    out.add("topcoat", topcoat_name(job.topcoat), "the colour", coats=topcoats, colour="topcoat")
    if topcoats > 1:
        flat = (
            " (flat before the last one: gloss shows bumps)" if job.topcoat.sheen == "gloss" else ""
        )
        out.add(
            "denib",
            f"wait {_wait(job)}, sand lightly P320-400{flat}, dust off",
            "a coat that is not dry tears, and specks show in the next coat",
        )
    finish = None if job.part is None else job.part.finish
    if finish is not None:
        # Once the colour has dried through.
        product = "clear finish" if finish.kind == "clear" else "wax"
        out.add(finish.kind, product, _FINISH_WHY[finish.kind], coats=finish.coats)
    waxed = finish is not None and finish.kind == "wax"
    spared = "washing or load" if waxed else "washing, wax or load"
    out.add("cure", _cure(job), f"dry is not cured: no {spared} before")
    return out.steps


def _prepare(out: _Steps, work: Work) -> None:
    on = None if work.everywhere else work.on
    out.add(work.kind, work.product, work.why, on=on, source=work.source)


def _wait(job: PreparedJob) -> str:
    """How long to wait between coats: the label's time, and what the room makes of it."""
    part, bench, chemistry = job.part, job.bench, job.topcoat.chemistry
    told = recoat_words(chemistry)
    if part is None or bench is None:
        return told
    from showthrough.jobs.case.bench import film_ratio

    if part.stock.recoat_h is not None:
        told = f"{part.stock.recoat_h:g} hour{'' if part.stock.recoat_h == 1 else 's'}"
    elif chemistry is None:
        usual = CHEMISTRY["water-borne"].recoat_h.value
        told = f"{told} ({usual:g} hours are taken)"
    ratio = film_ratio(part.stock, part.tool, job.build.wet_film_thickness_um)
    factor = drying_factor(chemistry or "water-borne", bench.climate, ratio)
    where, here = "in this room", "here"
    if job.learned is not None and job.learned.drying is not None:
        factor *= math.exp(job.learned.drying.log_factor)
        where = here = from_jobs(job.learned.drying.jobs)
    if factor < _MARKED:
        return told
    stated = part.stock.recoat_h
    if stated is None and (chemistry is None or chemistry == "two-pack"):
        return f"{told}, {factor:.1f} times as long {where}"
    usual = CHEMISTRY[chemistry or "water-borne"].recoat_h.value if stated is None else stated
    return f"{told} ({here} {factor * usual:.2g} h)"


_MARKED = 1.25
"""Factor from which on a painter is told that it dries more slowly."""


def _cure(job: PreparedJob) -> str:
    """How long the slower of topcoat and clear coat takes to cure."""
    part = job.part
    own: str = job.topcoat.chemistry or "water-borne"
    films = [(own, None if part is None else part.stock.cure_d)]
    if part is not None and part.finish is not None and part.finish.kind == "clear":
        films.append((part.finish.chemistry, part.finish.stock.cure_d))
    return max(_cured(kind, label) for kind, label in films)[1]


def _cured(chemistry: str, label_d: float | None) -> tuple[float, str]:
    """Days to full cure, and how a painter is told: the label's, or the usual ones."""
    if label_d is not None:
        return label_d, f"{label_d:g} days, as its label says"
    usual, light = CHEMISTRY[chemistry].cure_d, CHEMISTRY[chemistry].light_use_d.value
    days = f"{usual.low:g} to {usual.high:g}" if usual.low and usual.high else f"{usual.value:g}"
    return usual.value, f"{days} days; light use after {light:g}"


_FINISH_WHY = {
    "clear": "it takes the wear in place of the colour",
    "wax": "it sheds water and dirt, and is renewed from time to time",
}


def _coats_under(
    out: _Steps,
    job: PreparedJob,
    lead: Way,
    colours: Mapping[int, ColourShown],
    parts: dict[str, float] | None,
) -> None:
    """What the ground needs, in the order in which it is laid, and the undercoat."""
    under = lead.under
    colour = None if under.place is None else colours.get(under.place)
    shade = None if colour is None else colour.hex
    whole = [need for need in job.needs if need.all_over]
    for need in job.needs:
        if not need.all_over:
            if need in under.spots:
                _spot(out, need)
            continue
        last = need is whole[-1] and not under.over_need and under.product is not None
        product = under.product if last and under.product else f"{need.product.name}"
        why = need.why if not need.instead else f"{need.why}; or {need.instead}, never both"
        out.add(
            _KIND[need.kind],
            product,
            why,
            coats=need.coats,
            colour=shade if last else None,
            source=need.source,
        )
    extra = under.undercoats - sum(need.coats for need in whole)
    if extra > 0 and under.product is not None:
        kind = "seal" if under.kind == "sealer" else "undercoat"
        why = _undercoat_why(under)
        if under.kind == "own mix" and parts is not None:
            out.add("mix", f"about {parts_words(parts)}", "by volume, all of one kind of paint")
        out.add(kind, under.product, why, coats=extra, colour=shade)


def _spot(out: _Steps, need: Need) -> None:
    kind = "spot seal" if need.kind == "sealing" else _KIND[need.kind]
    product = need.product.name
    if need.coats > 1:
        product = f"{product}{f', {need.between} between the coats' if need.between else ''}"
    out.add(kind, product, need.why, on=need.patches, coats=need.coats, source=need.source)


def _undercoat_why(under: Under) -> str:
    if under.kind == "sealer":
        return "what drinks paint is sealed together with the rest"
    if under.kind == "own mix":
        return "what shows through already has the topcoat's colour"
    return "it saves topcoats over this surface"
