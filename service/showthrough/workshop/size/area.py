"""Painted area of furniture: shapes x count x faces x profile factor, by group.

A group (carcass, doors, drawer fronts, legs) is a list of shapes, or an area that the
painter states. All lengths are metres and all areas square metres.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

from showthrough.defaults import Used, defaults_of
from showthrough.errors import ProblemList
from showthrough.workshop.limits import choice, number, whole
from showthrough.workshop.size.lengths import MOST_M, length_m

DEFAULTS = defaults_of("area")
"""What is taken where the painter does not say."""

MOST_AREA_M2 = 1000.0
"""Greatest area of one group, m2; above it a unit is wrong."""

MOST_COUNT = 1000
MOST_PROFILE = 5.0


class Rule(NamedTuple):
    """How one shape's area follows from its sizes."""

    sizes: tuple[str, ...]
    """Names of its lengths, in the order of the formula."""
    formula: Callable[..., float]
    """Area of one face or of the whole outside, m2, from the lengths in m."""
    two_faces: bool = False
    """Whether it can be painted on both faces."""
    profile: str = ""
    """Name of the default profile factor; plain shapes have none."""


def _slant(length: float, top: float, foot: float) -> float:
    return math.hypot(length, (top - foot) / 2.0)


SHAPES: dict[str, Rule] = {
    "panel": Rule(("width", "height"), lambda w, h: w * h, two_faces=True),
    "disc": Rule(("diameter",), lambda d: math.pi * d * d / 4.0, two_faces=True),
    "edge_band": Rule(("width", "height", "thickness"), lambda w, h, t: 2.0 * (w + h) * t),
    "drawer_front": Rule(
        ("width", "height", "thickness"), lambda w, h, t: w * h + 2.0 * t * (w + h)
    ),
    "shelf": Rule(("width", "depth", "thickness"), lambda w, d, t: 2.0 * w * d + w * t),
    "carcass": Rule(("width", "depth", "height"), lambda w, d, h: w * d + 2.0 * d * h),
    "square_leg": Rule(("side", "length"), lambda s, n: 4.0 * s * n),
    "tapered_square_leg": Rule(
        ("side_top", "side_foot", "length"), lambda a, b, n: 2.0 * (a + b) * _slant(n, a, b)
    ),
    "round_leg": Rule(("diameter", "length"), lambda d, n: math.pi * d * n),
    "tapered_round_leg": Rule(
        ("diameter_top", "diameter_foot", "length"),
        lambda a, b, n: math.pi * (a + b) / 2.0 * _slant(n, a, b),
    ),
    "turned_leg": Rule(
        ("diameter", "length"),
        lambda d, n: math.pi * d * n,
        profile="profile of a turned leg",
    ),
    "moulding": Rule(("girth", "length"), lambda g, n: g * n),
    "framed_door": Rule(
        ("width", "height"),
        lambda w, h: w * h,
        two_faces=True,
        profile="profile of a framed door",
    ),
    "louvres": Rule(
        ("width", "height"), lambda w, h: w * h, two_faces=True, profile="profile of louvres"
    ),
    "spindles": Rule(("diameter", "length"), lambda d, n: math.pi * d * n),
}
"""Shapes by name. A drawer front has its four edges, a shelf both faces and its front edge,
a carcass its top and two sides; a moulding's girth is taken with a strip of paper; a turned
leg and spindles have their mean diameter. Plane and solid geometry; tapers by their slant."""


@dataclass(frozen=True, slots=True)
class Shape:
    """Some equal shapes of a group.

    Raises:
        InputError: every unknown word, missing or superfluous size and absurd number.
    """

    kind: str
    sizes: Mapping[str, float]
    """Its lengths by name, m."""
    count: int = 1
    faces: int = 1
    """1, or 2 where both faces are painted."""
    profile: float | None = None
    """Painted area over flat area; None takes the shape's default."""

    def __post_init__(self) -> None:
        """Tell all that cannot be, at once."""
        with ProblemList() as wrong:
            if choice(wrong, "shape", self.kind, SHAPES):
                rule = SHAPES[self.kind]
                for name in rule.sizes:
                    if name not in self.sizes:
                        wrong.add(name, "", f"is missing; {_told(self.kind)}", "missing")
                    else:
                        number(wrong, name, self.sizes[name], 0.0, MOST_M, "m", above=True)
                for name in self.sizes:
                    if name not in rule.sizes:
                        wrong.add(
                            name, self.sizes[name], f"is not used; {_told(self.kind)}", "unknown"
                        )
                _check_numbers(wrong, rule, self.count, self.faces, self.profile)

    @property
    def area_m2(self) -> float:
        """Painted area of all of them, m2."""
        rule = SHAPES[self.kind]
        one = rule.formula(*(self.sizes[name] for name in rule.sizes))
        return one * self.count * self.faces * self.profile_factor

    @property
    def profile_factor(self) -> float:
        """Painted area over flat area."""
        if self.profile is not None:
            return self.profile
        rule = SHAPES[self.kind]
        return DEFAULTS[rule.profile].value if rule.profile else 1.0

    @property
    def used(self) -> tuple[Used, ...]:
        """Defaults that its area rests on."""
        name = SHAPES[self.kind].profile
        return (Used(name, DEFAULTS[name]),) if name and self.profile is None else ()


def _told(kind: str) -> str:
    return f"a {kind} has {', '.join(SHAPES[kind].sizes)}"


def _check_numbers(wrong: ProblemList, rule: Rule, count: Any, faces: Any, profile: Any) -> None:
    whole(wrong, "count", count, 1, MOST_COUNT)
    if whole(wrong, "faces", faces, 1, 2) and faces == 2 and not rule.two_faces:
        wrong.add("faces", faces, "this shape is reckoned all round: leave faces at 1")
    if profile is not None:
        number(wrong, "profile", profile, 1.0, MOST_PROFILE)


@dataclass(frozen=True, slots=True)
class Group:
    """Parts of a piece that are painted alike: shapes, or a stated area.

    Raises:
        InputError: both or neither are given, or a number is out of range.
    """

    name: str
    shapes: tuple[Shape, ...] = ()
    stated_m2: float | None = None
    """Area that the painter states, m2; None where shapes are given."""
    spread: float | None = None
    """One standard deviation of the area as a factor; None takes the default."""

    def __post_init__(self) -> None:
        """Tell all that cannot be, at once."""
        with ProblemList() as wrong:
            if (self.stated_m2 is None) == (not self.shapes):
                told = "both" if self.shapes else "neither"
                wrong.add("area_m2", told, "give either shapes or an area", "either")
            if self.stated_m2 is not None:
                number(wrong, "area_m2", self.stated_m2, 0.0, MOST_AREA_M2, "m2", above=True)
            elif self.shapes and self.area_m2 > MOST_AREA_M2:
                told = f"{self.area_m2:.0f} m2 in all cannot be: at most {MOST_AREA_M2:g} m2 works"
                wrong.add("shape", f"{self.area_m2:.0f}", told, "out_of_range")
            if self.spread is not None:
                number(wrong, "spread", self.spread, 1.0, 2.0)

    @property
    def area_m2(self) -> float:
        """Painted area, m2."""
        if self.stated_m2 is not None:
            return self.stated_m2
        return math.fsum(shape.area_m2 for shape in self.shapes)

    @property
    def area_spread(self) -> float:
        """One standard deviation of the area as a factor, >= 1."""
        return DEFAULTS["area spread"].value if self.spread is None else self.spread

    @property
    def used(self) -> tuple[Used, ...]:
        """Defaults that its area rests on."""
        own = [used for shape in self.shapes for used in shape.used]
        if self.spread is None:
            own.append(Used("area spread", DEFAULTS["area spread"]))
        return tuple(dict.fromkeys(own))


def read_shape(raw: Mapping[str, Any], unit: str = "") -> Shape:
    """A shape from a plain table.

    Args:
        raw: ``shape`` (its name), its lengths as numbers or texts with a unit, and
            optionally ``count``, ``faces`` and ``profile``.
        unit: unit of lengths given as bare numbers; "" refuses them.

    Raises:
        InputError: everything that is wrong, by field.
    """
    wrong = ProblemList()
    kind = raw.get("shape")
    if not choice(wrong, "shape", kind, SHAPES):
        wrong.raise_if_any()
    rule, sizes = SHAPES[str(kind)], {}
    extra = {"shape", "count", "faces", "profile"}
    for name, value in raw.items():
        if name in rule.sizes:
            with wrong.collecting():
                sizes[name] = length_m(value, unit, name)
        elif name not in extra:
            wrong.add(str(name), value, f"is not used; {_told(str(kind))}", "unknown")
    for name in rule.sizes:
        if name not in raw:
            wrong.add(name, "", f"is missing; {_told(str(kind))}", "missing")
    numbers = raw.get("count", 1), raw.get("faces", 1), raw.get("profile")
    _check_numbers(wrong, rule, *numbers)
    wrong.raise_if_any()
    return Shape(str(kind), sizes, *numbers)
