"""How little a colour must soften to save a coat, and how much more vivid it may be.

From the wanted colour several ways lead to colours that hide better. On each the
nearest colour with which fewer coats are sure enough is sought: a grid first, then a
finer one between the last colour that does not and the first that does.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from showthrough.colour.difference import ciede2000
from showthrough.colour.files.swatches import Swatch, shipped_swatches
from showthrough.colour.lights import FloatArray
from showthrough.colour.reading import colours_of
from showthrough.colour.space import lab_to_lch, lch_to_lab
from showthrough.errors import ProblemList, shown
from showthrough.film.coats import MOST_COATS
from showthrough.film.hiding import Paint
from showthrough.film.thickness import FULL_COLOUR_TOLERANCE
from showthrough.jobs.answers.prediction import ColourShown
from showthrough.jobs.answers.softening import PathAnswer, Softening, SofteningGoal, Vivid
from showthrough.jobs.case.prepared import PreparedJob, prepare
from showthrough.jobs.case.topcoats import Covered
from showthrough.jobs.ladder import Onto, films_after, ladder_steps
from showthrough.jobs.soften.ways import (
    Found,
    along,
    nearest_swatch,
    reckon_colours,
    reckon_own,
    ways_from,
)
from showthrough.say.chances import plural
from showthrough.say.words import topcoat_name

TAKEN_FOR_GRANTED = (
    (
        "Softened colours are taken to be mixed in the same paint, so that their hiding follows "
        "from their colour; the evidence for the wanted colour does not carry over to them."
    ),
    (
        "A softer colour counts only where the smaller number of coats is then enough in 3 of 4 "
        "jobs or more; with the wanted colour it is in less than half of them."
    ),
)
"""The notes that stand with every answer."""

NOT_BY_COLOUR = "Keep your colour and use the undercoat, where the answer names one."
"""What to do where softening saves nothing."""

_WORDS = {
    "grey": "towards the grey of its own lightness",
    "white": "towards white",
    "pastel": "towards its pastel, as white paint stirred in makes it",
    "deep": "towards its shade, as black paint stirred in makes it",
    "swatch": "the nearest of the swatches",
}


def soften(
    job: Mapping[str, Any] | PreparedJob,
    folder: Path | None = None,
    *,
    budget: int | None = None,
    swatches: tuple[Swatch, ...] | None = None,
) -> Softening:
    """The smallest changes of the wanted colour that save one coat and two.

    Args:
        job: as for ``predict``.
        folder: where files that the job names are looked for; None refuses files.
        budget: coats that the painter wants to spend, also answered if given.
        swatches: the painter's own colours; the shipped topcoats where not given.

    Raises:
        InputError: with every problem of the job; or the budget is not 1 to 12.
    """
    chosen = shipped_swatches("topcoats") if swatches is None else swatches
    with ProblemList() as problems:
        check_budget(budget, problems)
        with problems.collecting():
            prepared = prepare(job, folder)
        with problems.collecting():
            places = [f"swatches[{i + 1}]" for i in range(len(chosen))]
            colours = colours_of([swatch.reading for swatch in chosen], names=places)
    wished = prepared.topcoat.chip_lab
    own = reckon_own(prepared)
    now = float(own.counts[0])
    goals = _goals(now, budget, prepared.least_topcoats)
    found = along(prepared, ways_from(wished, prepared.topcoat.paint), goals)
    names = [swatch.name for swatch in chosen]
    nearest = nearest_swatch(prepared, wished, names, colours, goals)
    goals_shown = _goals_shown(prepared, own, {g: [*found[g], *nearest[g]] for g in goals})
    currency, goals_shown = _with_money(prepared, now, goals_shown)
    return Softening(
        currency=currency,
        title=prepared.title,
        wished=ColourShown.of(wished),
        wished_name=topcoat_name(prepared.topcoat),
        coats=int(now) if now <= MOST_COATS else None,
        goals=goals_shown,
        vivid=_vivid(prepared, wished, now),
        notes=_notes(
            prepared, now, [g for g in goals if g not in {s.coats for s in goals_shown}], budget
        ),
    )


def _with_money(
    job: PreparedJob, now: float, goals: list[SofteningGoal]
) -> tuple[str | None, list[SofteningGoal]]:
    """The goals with what they save in money, where the job knows a price."""
    if job.bench is None or now > MOST_COATS:
        return None, goals
    from showthrough.jobs.bench.order import plain_costs

    money = plain_costs(job)
    if money is None:
        return None, goals
    least = job.least_topcoats
    before = money.total_at(max(int(now), least))
    out = []
    for goal in goals:
        after = money.total_at(max(goal.coats, least))
        saved = None if before is None or after is None else f"{(before - after).amount:f}"
        out.append(goal.model_copy(update={"saves_money": saved}))
    return money.costs.currency, out


def check_budget(budget: object, problems: ProblemList) -> None:
    """Note a budget that is none."""
    if budget is not None and not (isinstance(budget, int) and 1 <= budget <= MOST_COATS):
        text = f"a budget is 1 to {MOST_COATS} coats, not {shown(budget)}"
        problems.add("budget", budget, text, "out_of_range")


def _goals(now: float, budget: int | None, least: int) -> list[int]:
    """Counts to reach: one coat fewer, two fewer, and the budget, largest first.

    Fewer than the least that are laid in any case save nothing; only a budget asks for them.
    """
    top = min(now, MOST_COATS + 1.0)
    wanted = {goal for goal in (int(top) - 1, int(top) - 2) if goal >= least}
    if budget is not None:
        wanted.add(budget)
    return sorted((g for g in wanted if 1 <= g < top), reverse=True)


def _goals_shown(
    job: PreparedJob,
    own: Covered,
    found: dict[int, list[Found]],
) -> list[SofteningGoal]:
    """All answers of the goals that some way gains, reckoned together."""
    now = float(own.counts[0])
    found = {g: ways for g, ways in found.items() if any(lab is not None for _, lab in ways)}
    wished = [float(own.chances(np.array([float(goal)]))[0]) for goal in found]
    labs = [lab for answers in found.values() for _, lab in answers if lab is not None]
    counts = [float(goal) for goal, ways in found.items() for _, lab in ways if lab is not None]
    reckoned = reckon_colours(job, np.array(labs)) if labs else None
    chance = np.zeros(0) if reckoned is None else reckoned.chances(np.array(counts))
    place = 0
    out = []
    for (goal, answers), own_chance in zip(found.items(), wished, strict=True):
        shown = []
        for kind, lab in answers:
            word, _, swatch = kind.partition(":")
            if lab is None or reckoned is None:
                why = f"Nothing on the way makes {plural(goal, 'coat')} sure enough."
                shown.append(PathAnswer(path=word, words=_WORDS[word], why=why))
                continue
            shown.append(
                _path_answer(job, word, swatch or None, reckoned, place, goal, float(chance[place]))
            )
            place += 1
        best = min(
            (a for a in shown if a.difference is not None),
            key=lambda a: a.difference or 0.0,
            default=None,
        )
        out.append(
            SofteningGoal(
                coats=goal,
                saves=int(now) - goal if now <= MOST_COATS else None,
                wished_chance=round(own_chance, 4),
                answers=shown,
                best=None if best is None else best.path,
            )
        )
    return out


def _path_answer(
    job: PreparedJob,
    word: str,
    swatch: str | None,
    reckoned: Covered,
    i: int,
    count: int,
    chance: float,
) -> PathAnswer:
    lab, hiding_film_um = reckoned.topcoats.lab[i], reckoned.hiding_um[i]
    own = job.topcoat.paint
    paint = Paint(
        reckoned.topcoats.absorption[i], reckoned.topcoats.scattering[i], own.geometric_sd, "colour"
    )
    over = [Onto(reckoned.substrates[i], count, count, job.seen.lab)]
    (reached,) = films_after(paint, lab, over, job.build)
    delta_e = float(ciede2000(job.topcoat.chip_lab, lab))
    return PathAnswer(
        path=word,
        words=_WORDS[word],
        swatch=swatch,
        **ColourShown.of(lab).model_dump(),
        difference=round(delta_e, 3),
        coats=count,
        chance=round(chance, 4),
        critical_um=round(float(hiding_film_um.max()), 3),
        ladder=ladder_steps(job.names, reached, count),
        why=_why(delta_e, count, word),
    )


def _why(delta_e: float, goal: int, word: str) -> str:
    degree = (
        "not to be seen"
        if delta_e <= FULL_COLOUR_TOLERANCE
        else "to be seen where the two touch, hardly elsewhere"
        if delta_e < 2.0
        else "to be seen side by side, not from memory"
        if delta_e < 5.0
        else "clearly another shade"
        if delta_e < 10.0
        else "another colour"
    )
    return f"{plural(goal, 'coat')} would do, {_WORDS[word]}: a change that is {degree}."


def _vivid(job: PreparedJob, wished: FloatArray, now: float) -> Vivid | None:
    """The most vivid colour of the same lightness and hue that needs no more coats."""
    if now > MOST_COATS:
        return None
    lch = lab_to_lch(wished)
    if lch[1] < 2.0:
        return None
    low, high, coats = 1.0, 2.5, now
    for _ in range(2):
        factors = np.linspace(low, high, 25)
        labs = _vivid_labs(lch, factors)
        reckoned = reckon_colours(job, labs, move=False, as_read=True)
        fits = reckoned.topcoats.reachable & (reckoned.counts <= now)
        # Only an unbroken run from the wanted colour counts.
        run = int(np.argmin(fits)) if not fits.all() else 25
        if run == 0:
            break
        coats = float(reckoned.counts[run - 1])
        low, high = float(factors[run - 1]), float(factors[min(run, 24)])
        if run == 25:
            break
    if job.readings is not None and low > 1.0:
        held = reckon_colours(job, _vivid_labs(lch, np.array([low])))
        low, coats = (low, float(held.counts[0])) if held.counts[0] <= now else (1.0, now)
    lab = _vivid_labs(lch, np.array([low]))[0] if low > 1.0 else wished
    return Vivid(
        **ColourShown.of(lab).model_dump(),
        chroma_from=round(float(lch[1]), 2),
        chroma_to=round(float(lch[1] * low), 2),
        difference=round(float(ciede2000(wished, lab)), 3),
        coats=int(coats),
    )


def _vivid_labs(lch: FloatArray, factors: FloatArray) -> FloatArray:
    """Colours of more chroma, shape (n,) -> (n, 3), rounded as they are shown."""
    n = len(factors)
    return np.round(
        lch_to_lab(np.stack([np.full(n, lch[0]), lch[1] * factors, np.full(n, lch[2])], axis=1)), 2
    )


def _notes(job: PreparedJob, now: float, missed: list[int], budget: int | None) -> list[str]:
    one_does, least = now <= 1, job.least_topcoats
    least_does = not one_does and now <= least and budget is None
    counts = " or ".join(str(goal) for goal in missed)
    notes = (
        (now > MOST_COATS, f"The wanted colour needs more than {MOST_COATS} coats."),
        (
            budget is not None and now <= budget,
            (
                f"{plural(budget or 0, 'coat')} will do for the wanted colour itself: no change is "
                "needed."
            ),
        ),
        (one_does, "One coat is enough already, so nothing is to be saved."),
        (
            least_does,
            f"{least} topcoats are laid in any case for a sound film, so nothing is to be saved.",
        ),
        (
            bool(missed) and not (one_does or least_does),
            (
                f"Nothing useful for {counts} {'coat' if missed == [1] else 'coats'}: no softer "
                f"colour makes that sure enough. {NOT_BY_COLOUR}"
            ),
        ),
        (
            job.topcoat.paint.evidence in {"drawdown", "spectrum"},
            "The wanted colour was measured; the others are estimates with its optical budget.",
        ),
    )
    return [*TAKEN_FOR_GRANTED, *(note for holds, note in notes if holds)]
