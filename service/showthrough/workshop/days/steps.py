"""The steps of a job as the bench sees them: minutes of work, then hours of waiting."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import accumulate
from typing import NamedTuple

from showthrough.defaults import Default, Used, defaults_of
from showthrough.errors import ProblemList
from showthrough.film.coats import ADVISED_LEAST_COATS, MOST_COATS
from showthrough.workshop.days.drying import CHEMISTRY, Climate, drying_factor
from showthrough.workshop.limits import chances, choice, numbers
from showthrough.workshop.paint.transfer import TOOLS
from showthrough.workshop.size.area import MOST_AREA_M2, MOST_PROFILE


@dataclass(frozen=True, slots=True)
class Kind:
    """What a kind of step takes where the painter does not say."""

    minutes: Default
    """Bench time, in min or in min/m2."""
    wait: Default | None = None
    """Hours until the next step; None waits for nothing."""
    film: bool = False
    """Lays a film: tool and chemistry rule its minutes and waiting, and it has counts."""
    topcoat: bool = False
    """Sanded lightly before each further coat."""


_WAIT = defaults_of("wait")
_OF_ITS_TOOL = Default(0.0, "min", "from memory")
KINDS: Mapping[str, Kind] = {
    name: Kind(minutes, _WAIT.get(name)) for name, minutes in defaults_of("minutes").items()
} | {
    name: Kind(_OF_ITS_TOOL, film=True, topcoat=name in {"coat", "clear"})
    for name in ("spot seal", "seal", "undercoat", "coat", "clear")
}
"""Steps by name. Preparation in all is 15 to 40 min/m2 (common practice, no source); how it
divides among washing, filling, sanding, dusting and masking is from memory."""

DEFAULTS = defaults_of("bench")
"""Bench time by tool, and what goes between coats; a painter's own log replaces them."""

MOST_HOURS = 24.0 * 60.0
MOST_MINUTES = 60.0 * 24.0 * 7.0


_BOUNDS = (
    ("area_m2", 0.0, MOST_AREA_M2, "m2", True),
    ("profile", 1.0, MOST_PROFILE, "", False),
    ("film_ratio", 0.05, 20.0, "times the label's film", False),
    ("minutes", 0.0, MOST_MINUTES, "min", False),
    ("recoat_h", 0.0, MOST_HOURS, "h", True),
    ("handle_h", 0.0, MOST_HOURS, "h", True),
    ("cure_d", 0.0, 180.0, "d", True),
    ("wait_h", 0.0, MOST_HOURS, "h", False),
)
"""Of a step's numbers: name, least, greatest, unit, and whether the least does not work."""


class Own(NamedTuple):
    """A factor that finished jobs have taught."""

    jobs: int = 0
    factor: float = 1.0


NOT_LEARNED = Own()


@dataclass(frozen=True, slots=True)
class Step:
    """One line of the plan.

    Raises:
        InputError: every unknown word and every number out of range, by field.
    """

    kind: str
    area_m2: float = 1.0
    name: str = ""
    """What the painter reads; "" shows the kind."""
    profile: float = 1.0
    """Fiddly shapes take longer: times the minutes."""
    tool: str = "brush"
    chemistry: str = "water-borne"
    coats: Mapping[int, float] = field(default_factory=lambda: {1: 1.0})
    """Chance of each count of coats, for a step that lays a film."""
    minutes: float | None = None
    """Bench time in all, or for each coat; None takes the defaults."""
    recoat_h: float | None = None
    handle_h: float | None = None
    cure_d: float | None = None
    """The label's times; None takes the chemistry's defaults."""
    wait_h: float | None = None
    """Waiting after a step without film; None takes the default."""
    film_ratio: float = 1.0
    """Wet film over the film that the label's times are for."""
    flips: bool = False
    """Two faces that cannot hang: each coat is laid in two halves and waits twice."""
    pace: Own = NOT_LEARNED
    """The painter's own factor on the minutes that are not stated."""
    drying: Own = NOT_LEARNED
    """The same on the hours until the next coat and until the piece may be handled."""

    def __post_init__(self) -> None:
        """Tell all that cannot be, at once."""
        with ProblemList() as wrong:
            choice(wrong, "kind", self.kind, KINDS)
            choice(wrong, "tool", self.tool, TOOLS)
            choice(wrong, "chemistry", self.chemistry, CHEMISTRY)
            numbers(wrong, self, _BOUNDS)
            chances(wrong, "coats", self.coats, MOST_COATS)

    @property
    def title(self) -> str:
        """What the painter reads."""
        return self.name or self.kind

    def used(self) -> tuple[Used, ...]:
        """Defaults that its minutes and waiting rest on."""
        kind, own = KINDS[self.kind], CHEMISTRY[self.chemistry]
        film, usual, titled = kind.film, self.minutes is None, f"{self.title}: "
        session = DEFAULTS[_session(self.tool)]
        sanded = kind.topcoat and max(self.coats) > 1
        rows: tuple[tuple[bool, str, Default | None, Own], ...] = (
            (film and self.recoat_h is None, f"{titled}recoat", own.recoat_h, self.drying),
            (film and self.handle_h is None, f"{titled}handle", own.handle_h, self.drying),
            (film and self.cure_d is None, f"{titled}full cure", own.cure_d, NOT_LEARNED),
            (film and usual, self.tool, DEFAULTS[self.tool], self.pace),
            (film and usual, "session", session, self.pace),
            (sanded, "light sanding", DEFAULTS["light sanding"], NOT_LEARNED),
            (usual and not film, f"{titled}bench time", kind.minutes, self.pace),
            (self.wait_h is None, f"{titled}waiting", kind.wait, NOT_LEARNED),
        )
        return tuple(
            Used(name, default, *learned)
            for rests, name, default, learned in rows
            if rests and default is not None
        )


def _session(tool: str) -> str:
    return "gun session" if tool in {"hvlp", "conventional"} else "other session"


@dataclass(frozen=True, slots=True)
class Task:
    """One stay at the bench, and what must pass before the next one."""

    kind: str
    title: str
    minutes: int
    """Begun minutes count as whole ones."""
    wait_h: float
    """Before the next task of the piece, h."""
    whole: bool
    """Must not be broken off at the end of the day: a wet edge cannot wait."""
    laid: bool = False
    """Ends with a fresh film."""
    handle_h: float = 0.0
    """From then until the piece may be refitted and stacked."""
    cure_d: float = 0.0
    after_films: bool = False
    """Waits until the piece may be handled."""


def count_at(coats: Mapping[int, float], chance: float) -> int:
    """Least count that is enough with a chance; the greatest one where none is."""
    order = sorted(coats)
    totals = accumulate(coats[n] for n in order)
    return next(
        (n for n, total in zip(order, totals, strict=True) if total >= chance - 1e-9), order[-1]
    )


def chances_of_counts(
    enough: Mapping[int, float], least: int = ADVISED_LEAST_COATS
) -> dict[int, float]:
    """Chance of each count of coats from the chances that 1, 2, ... are enough.

    Args:
        enough: rising chance for each count from 1 on, as ``Outlook.enough`` has it.
        least: coats that are laid in any case; 2 for a sound film.

    Returns:
        Chances that add up to 1. What the last count leaves open is given to one coat more,
        at most 12: small where the list goes to 0.99, an underestimate where 12 coats are
        not enough, which the caller must tell.
    """
    found: dict[int, float] = {}
    before = 0.0
    for n in sorted(enough):
        at = max(n, least)
        found[at] = found.get(at, 0.0) + max(enough[n] - before, 0.0)
        before = max(enough[n], before)
    further = min(max(max(enough, default=0) + 1, least), MOST_COATS)
    found[further] = found.get(further, 0.0) + 1.0 - before
    return {n: chance for n, chance in sorted(found.items()) if chance > 0.0}


def tasks_for(steps: Sequence[Step], chance: float, climate: Climate) -> tuple[Task, ...]:
    """The tasks of one piece where each count of coats is the one enough with a chance.

    All counts move together: what makes one group need many coats (the paint, the hand)
    makes the next one need many too.

    Args:
        steps: the plan, in order.
        chance: 0 to 1; 0.5 for the likely counts, 0.9 for those of nine jobs in ten.
        climate: the room; its factor stretches recoat and handling times, not full cure.
    """
    found: list[Task] = []
    colour: int | None = None  # place of the last film of colour
    for step in steps:
        if step.kind in {"clear", "wax"} and colour is not None:
            least = DEFAULTS["clear after colour"].value
            # Wax is rubbed in: the film below must bear handling.
            least = max(least, found[colour].handle_h) if step.kind == "wax" else least
            found[colour] = replace(found[colour], wait_h=max(found[colour].wait_h, least))
        if KINDS[step.kind].film:
            found.extend(_films(step, count_at(step.coats, chance), climate))
            colour = len(found) - 1 if step.kind == "coat" else colour
        else:
            found.append(_other(step))
    return tuple(found)


def _other(step: Step) -> Task:
    kind, wait = KINDS[step.kind], step.wait_h
    if wait is None:
        wait = 0.0 if kind.wait is None else kind.wait.value
    on = step.kind == "hardware on"
    minutes = math.ceil(bench_minutes(step))
    return Task(step.kind, step.title, minutes, wait, whole=False, after_films=on)


def bench_minutes(step: Step) -> float:
    """Bench time of a step; of one that lays a film that of each coat, sanding left out."""
    if step.minutes is not None:
        return step.minutes
    kind, surface = KINDS[step.kind], step.area_m2 * step.profile
    if kind.film:
        usual = DEFAULTS[step.tool].value * surface + DEFAULTS[_session(step.tool)].value
    else:
        usual = kind.minutes.value * (surface if kind.minutes.unit == "min/m2" else 1.0)
    return step.pace.factor * usual


def recoat_hours(step: Step, climate: Climate) -> float:
    """Hours from a film until the next coat may go on in this room."""
    own = CHEMISTRY[step.chemistry]
    usual = own.recoat_h.value if step.recoat_h is None else step.recoat_h
    return _drying_factor(step, climate) * usual


def _drying_factor(step: Step, climate: Climate) -> float:
    return step.drying.factor * drying_factor(step.chemistry, climate, step.film_ratio)


def _films(step: Step, coats: int, climate: Climate) -> Iterable[Task]:
    own = CHEMISTRY[step.chemistry]
    factor = _drying_factor(step, climate)
    recoat = recoat_hours(step, climate)
    handle = factor * (own.handle_h.value if step.handle_h is None else step.handle_h)
    cure = own.cure_d.value if step.cure_d is None else step.cure_d
    surface = step.area_m2 * step.profile
    minutes = bench_minutes(step)
    faces = 2 if step.flips else 1
    for n in range(1, coats + 1):
        title = f"{step.title} {n} of {coats}" if coats > 1 else step.title
        if n > 1 and KINDS[step.kind].topcoat:
            sanding = math.ceil(DEFAULTS["light sanding"].value * surface)
            yield Task("sand", f"light sanding before {title}", sanding, 0.0, whole=False)
        for face in range(1, faces + 1):
            side = f", face {face} of {faces}" if faces > 1 else ""
            yield Task(
                step.kind,
                title + side,
                math.ceil(minutes / faces),
                recoat,
                whole=True,
                laid=True,
                handle_h=handle,
                cure_d=cure,
            )
