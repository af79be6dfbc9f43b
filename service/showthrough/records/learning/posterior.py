"""What finished jobs say of one paint laid with one tool.

u, the logarithm of the hiding film over the film of one coat, is what the model says, plus an
effect p of the paint, plus an effect t of the painter's hand with the tool, plus what changes
from job to job. p and t are normal with mean 0 before any job is finished.

The paint's own jobs with this tool tell of p + t. What tells the two apart is its jobs with
other tools, and the tool's jobs with other paints: in each of these the other effect is
integrated out. So the jobs form a star about this paint and this tool; what joins its tips (the
other paints with yet other tools) is left out, which loses a little and biases nothing.

All integrals are sums over a grid finer than half of each standard deviation: for normal shapes
such sums are exact to many digits (Euler-Maclaurin), and the same jobs give the same bits.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.records.learning.likelihood import JOB_SIGMA, JobCount, log_likelihood

MOST_JOBS = 200
"""Jobs that are reckoned with: of more, those of this paint with this tool first, then the
paint's, then the tool's, the latest first."""

_REACH = 7.0
"""Standard deviations to either side that a grid spans."""

_KNOWN = 0.01
"""A standard deviation below which an effect is known."""


class Effects(NamedTuple):
    """What is known of the effects of a paint and of a tool on u, with their joint spread."""

    jobs: int
    """How many finished jobs say so."""
    paint: float
    """Mean effect of the paint on ln hiding film."""
    tool: float
    """Mean effect of the tool on u: above 0 where the film is thinner than was thought."""
    paint_var: float
    tool_var: float
    covariance: float
    """Of the two; below 0 where jobs know their sum better than either."""
    of_paint: bool
    """Whether a job had this paint and may say something of it."""
    of_tool: bool
    """Whether one had this tool."""


def learn(
    jobs: Sequence[JobCount],
    paint: str,
    tool: str,
    paint_sigma: float,
    tool_sigma: float,
    *,
    tool_mean: float = 0.0,
    measured: bool = False,
) -> Effects | None:
    """The effects of a paint and of a tool after some finished jobs.

    Args:
        jobs: finished jobs, the latest last.
        paint: the paint that is asked for.
        tool: the tool.
        paint_sigma: standard deviation of the paint's effect before any job.
        tool_sigma: the same of the tool's effect.
        tool_mean: its mean, where something else than counts knows of it.
        measured: whether the paint was measured: its jobs then tell of the tool alone.

    Returns:
        The effects; None where no job has this paint or this tool.
    """
    told = [jobs[i] for i in relevant(jobs, paint, tool, measured=measured)]
    if not told:
        return None
    step = min(JOB_SIGMA / 3.0, *(s / 2.0 for s in (paint_sigma, tool_sigma) if s >= _KNOWN))
    p, log_p = _axis(paint_sigma, step)
    t, log_t = _axis(tool_sigma, step)
    own = [job for job in told if job.paint == paint and job.tool == tool and not measured]
    joint = log_p[:, None] + log_t[None, :]
    if own:
        joint = joint + _on_grid(own, p, tool_mean + t, step)
    for other in _apart(told, own, tool, by_paint=True):
        joint = joint + _message(other, tool_mean + t, step, other[-1].paint_sigma)[None, :]
    if not measured:
        for other in _apart(told, own, paint, by_paint=False):
            joint = joint + _message(other, p, step, other[-1].tool_sigma)[:, None]
    weight = np.exp(joint - joint.max())
    weight /= weight.sum()
    each_p, each_t = weight.sum(axis=1), weight.sum(axis=0)
    mean_p, mean_t = float(each_p @ p), float(each_t @ t)
    return Effects(
        len(told),
        mean_p,
        tool_mean + mean_t,
        float(each_p @ (p - mean_p) ** 2) if p.size > 1 else paint_sigma**2,
        float(each_t @ (t - mean_t) ** 2) if t.size > 1 else tool_sigma**2,
        float((p - mean_p) @ weight @ (t - mean_t)),
        of_paint=not measured and any(job.paint == paint for job in told),
        of_tool=any(job.tool == tool for job in told),
    )


def relevant(jobs: Sequence[JobCount], paint: str, tool: str, *, measured: bool) -> list[int]:
    """Places of the jobs that say something of the paint or of the tool, in their order."""
    ranks: list[tuple[int, int]] = []
    for place, job in enumerate(jobs):
        same_paint, same_tool = job.paint == paint, job.tool == tool
        if same_tool or (same_paint and not measured):
            rank = 0 if same_paint and same_tool else 1 if same_paint else 2
            ranks.append((rank, -place))
    return sorted(-place for _, place in sorted(ranks)[:MOST_JOBS])


def _apart(
    told: Iterable[JobCount], own: Sequence[JobCount], same: str, *, by_paint: bool
) -> Iterable[list[JobCount]]:
    """The jobs with the same tool by their paint, or with the same paint by their tool."""
    found: dict[str, list[JobCount]] = {}
    for job in told:
        shared, other = (job.tool, job.paint) if by_paint else (job.paint, job.tool)
        if shared == same and job not in own:
            found.setdefault(other, []).append(job)
    return found.values()


def _axis(sigma: float, step: float) -> tuple[FloatArray, FloatArray]:
    """An effect's values about its mean, and the logarithm of their density (no constant)."""
    if sigma < _KNOWN:
        return np.zeros(1), np.zeros(1)
    half = math.ceil(_REACH * sigma / step)
    values = step * np.arange(-half, half + 1, dtype=float)
    return values, np.asarray(-0.5 * (values / sigma) ** 2, dtype=float)


def _on_grid(
    jobs: Sequence[JobCount],
    one: FloatArray,
    two: FloatArray,
    step: float,
    strides: tuple[int, int] = (1, 1),
) -> FloatArray:
    """Log likelihood of jobs at every sum of two effects, shape (one, two).

    The values of each lie whole multiples of ``step`` apart, so that few sums are different.
    """
    i, j = (stride * np.arange(v.size) for stride, v in zip(strides, (one, two), strict=True))
    sums = one[0] + two[0] + step * np.arange(i[-1] + j[-1] + 1)
    total = np.sum([log_likelihood(job, sums) for job in jobs], axis=0)
    return np.asarray(total[i[:, None] + j[None, :]])


def _message(jobs: Sequence[JobCount], values: FloatArray, step: float, sigma: float) -> FloatArray:
    """Log likelihood of jobs that share one effect, another one integrated out.

    Args:
        jobs: of one other paint with the tool, or of one other tool with the paint.
        values: of the shared effect, shape (n,), ``step`` apart.
        step: of them.
        sigma: standard deviation of the other effect.
    """
    # As coarse as the other effect allows: a wide one on a fine grid would be slow.
    wanted = step if sigma < _KNOWN else min(JOB_SIGMA / 3.0, sigma / 2.0)
    coarser, finer = max(1, math.floor(wanted / step)), math.ceil(step / wanted)
    other, prior = _axis(sigma, coarser * step / finer)
    joint = prior[:, None] + _on_grid(jobs, other, values, step / finer, (coarser, finer))
    top = joint.max(axis=0)
    return np.asarray(top + np.log(np.exp(joint - top).sum(axis=0)))
