"""The whole list of steps: the plans of all groups as one, shared work once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import get_args

from showthrough.jobs.answers.prediction import PlanStep
from showthrough.jobs.bench.case import Case
from showthrough.workshop.grounds.kinds import BEFORE_ALL, COMMON, WorkKind


@dataclass(frozen=True, slots=True)
class WholeStep:
    """One step of the job, with the groups that it is done on."""

    step: PlanStep
    cases: tuple[int, ...]
    """Places of its groups."""
    paint: tuple[float, ...] = ()
    """Colour of a topcoat, CIELAB; none for other steps."""


_SPRAYED = frozenset({"hvlp", "conventional", "aerosol"})


_STAGES = (
    *((kind,) for kind in BEFORE_ALL),
    ("hardware off",),
    ("test piece",),
    *((kind,) for kind in get_args(WorkKind) if kind not in BEFORE_ALL),
    ("mask",),
    ("prime", "bind", "block", "bond", "seal", "spot seal", "mix", "undercoat"),
    ("topcoat", "denib"),
    ("clear",),
    ("wax",),
    ("refit",),
    ("cure",),
)
_STAGE = {kind: place for place, kinds in enumerate(_STAGES) for kind in kinds}
"""All groups go through one stage before any goes on to the next: no dust beside fresh paint."""


def whole_steps(cases: Sequence[Case]) -> list[WholeStep]:
    """Every step of every group in one order, equal steps of several groups once.

    Stage by stage the plans are laid side by side and joined where they are equal; where they
    differ the steps of the earlier group come first.
    """
    joined: list[list[WholeStep]] = [[] for _ in _STAGES]
    for i, case in enumerate(cases):
        own: list[list[WholeStep]] = [[] for _ in _STAGES]
        for step in _with_hardware(case):
            # Two paints may have one name in words.
            paint = tuple(case.job.topcoat.chip_lab) if step.kind == "topcoat" else ()
            own[_STAGE[step.kind]].append(WholeStep(step, (i,), paint))
        joined = [_merged(*both) for both in zip(joined, own, strict=True)]
    rows = [row for stage in joined for row in stage]
    return [
        WholeStep(row.step.model_copy(update={"number": n}), row.cases)
        for n, row in enumerate(rows, 1)
    ]


def _merged(first: list[WholeStep], second: list[WholeStep]) -> list[WholeStep]:
    match = SequenceMatcher(None, [_key(s) for s in first], [_key(s) for s in second], False)
    out: list[WholeStep] = []
    for tag, a, b, c, d in match.get_opcodes():
        if tag == "equal":
            out += [
                WholeStep(one.step, one.cases + two.cases, one.paint)
                for one, two in zip(first[a:b], second[c:d], strict=True)
            ]
        else:
            out += first[a:b] + second[c:d]
    return out


def _key(row: WholeStep) -> tuple[object, ...]:
    told = row.step
    return told.kind, told.product, tuple(told.on), told.coats, told.colour, row.paint


def _with_hardware(case: Case) -> list[PlanStep]:
    """A group's plan with what stands before and after all paint."""
    plan = list(case.plan)
    if case.lead is None or not plan:
        return plan
    if case.seen is None:
        off = _step("hardware off", "screwdriver, bags and labels", "it goes back where it was")
        plan.insert(sum(step.kind in BEFORE_ALL for step in plan), off)
        coats = (step.coats is not None and step.kind != "test piece" for step in plan)
        first = next((i for i, coat in enumerate(coats) if coat), None)
        if case.part.tool in _SPRAYED and first is not None:
            mask = _step("mask", "tape and paper", "spray goes where it is not wanted")
            plan.insert(first, mask)
    refit = _step("refit", "hardware back on", "only once films no longer stick to each other")
    plan.insert(len(plan) - 1 if plan[-1].kind == "cure" else len(plan), refit)
    return plan


def _step(kind: str, product: str, why: str) -> PlanStep:
    return PlanStep(
        number=0, kind=kind, on=["all"], product=product, colour=None, coats=None, why=why,
        source=COMMON,
    )  # fmt: skip
