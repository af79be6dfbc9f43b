"""One group with the way that was chosen for it: what paint, days and money are reckoned from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from showthrough.jobs.answers.prediction import PlanStep
from showthrough.jobs.case.bench import UNIT_AREA_M2, Bench, Part, Stock
from showthrough.jobs.case.groups import WHOLE_PIECE
from showthrough.jobs.case.prepared import PreparedJob
from showthrough.jobs.schema.job import TestPiece
from showthrough.jobs.undercoats.ways import Way, Ways
from showthrough.workshop.days.steps import chances_of_counts
from showthrough.workshop.paint.transfer import USUAL_OPENNESS, tool_class
from showthrough.workshop.size.area import Group


@dataclass(frozen=True, slots=True)
class Case:
    """A group, its leading way and the plan that follows from it."""

    job: PreparedJob
    ways: Ways | None
    """None where an old finish is unsound."""
    plan: tuple[PlanStep, ...]
    part: Part
    seen: TestPiece | None = None
    """Half way: topcoats on the piece, looked at when they were dry; job, ways and plan are then
    those of the coats that are still to come."""

    @property
    def laid(self) -> int:
        """Topcoats that are on already."""
        return 0 if self.seen is None else self.seen.coats

    @property
    def lead(self) -> Way | None:
        """The leading way; None where there is none, or no count."""
        if self.ways is None or self.ways.ways[0].topcoats is None:
            return None
        return self.ways.ways[0]

    @property
    def counts(self) -> Mapping[int, float]:
        """Chance of each count of topcoats; none where there is no count."""
        if self.lead is None:
            return {}
        enough = dict(enumerate(self.lead.outlook.enough, 1))
        return chances_of_counts(enough, self.job.least_topcoats)

    def share_of(self, step: PlanStep) -> float:
        """Part of the area that a step is done on, 0 to 1."""
        if step.on == ["all"]:
            return 1.0
        return min(1.0, sum(s.share for s in self.job.substrates if s.name in set(step.on)))


def part_of(job: PreparedJob) -> Part:
    """What the bench knows of a job; one square metre of a flat panel where it says nothing."""
    if job.part is not None:
        return job.part
    return Part(
        name=WHOLE_PIECE,
        size=Group(WHOLE_PIECE, (), UNIT_AREA_M2, 1.0),
        area_stated=False,
        tool=tool_class(job.film.tool),
        openness=USUAL_OPENNESS,
        openness_stated=False,
        thinning=0.0,
        transfer=None,
        session_loss_ml=None,
        flips=False,
        stock=Stock(),
        finish=None,
    )


def bench_of(job: PreparedJob) -> Bench:
    """What holds for the whole job; defaults where it says nothing."""
    return job.bench or Bench()
