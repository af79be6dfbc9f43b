"""What follows on one change of a field: samples bring their facts, shares stay whole.

A sheet sends beside its fields what stood there before (``before.surface.1.colour``), so that
it works without script and two open windows do not need to know of each other.
"""

from __future__ import annotations

from collections.abc import Mapping

from showthrough.colour.files.swatches import find_swatch
from showthrough.errors import InputError
from showthrough.jobs.case.readings import name_for
from showthrough.web.forms.paths import Fields, Pairs, number_of, renumbered, short_number
from showthrough.web.forms.words import count_of

BEFORE = "before."
SAMPLE = "sample"
"""A field beside a colour: the sample that was picked for it."""
DROP = "drop"
"""Takes a row away, as ``drop=surface.2``."""

_FILM = (
    "coat",
    "wet_film_um",
    "paint_used.ml",
    "paint_used.g",
    "paint_used.area_m2",
    "paint_used.coats",
    "paint_used.density_g_ml",
    "transfer_efficiency",
    "gun",
    "session_loss_ml",
)
FILM_PATHS = tuple(f"application.{key}" for key in _FILM)
"""What was said of a coat, which holds for the tool that it was said of."""


def settled(fields: Fields, pairs: Pairs) -> Fields:
    """The fields after what a sheet's change brings with it."""
    asked = dict(pairs)
    before = {k.removeprefix(BEFORE): v for k, v in asked.items() if k.startswith(BEFORE)}
    fields = dict(fields)
    # What each patch is: one thing, said by a list and by boxes, of which the new one counts.
    fields |= {
        name: value
        for name, value in pairs
        if name.endswith(".ground") and value not in {"", before.get(name, value)}
    }
    for name, sample in asked.items():
        place, _, last = name.rpartition(".")
        if last == SAMPLE and sample and f"{place}.colour" in before:
            _pick(fields, place, sample, before)
    for path, was in before.items():
        if path.endswith(".colour") and fields.get(path) != was:
            _forget_reading(fields, path, before)
    if (
        "application.tool" in before
        and fields.get("application.tool") != before["application.tool"]
    ):
        for path in FILM_PATHS:
            if fields.get(path) == before.get(path):
                fields.pop(path, None)
    if asked.get(DROP):
        place = f"{asked[DROP]}."
        fields = renumbered({k: v for k, v in fields.items() if not k.startswith(place)})
    if not before and not asked.get(DROP):
        return fields
    fields = _named(fields)
    changed = next((p for p in before if p.startswith("surface.") and p.endswith(".share")), None)
    return shared_out(fields, changed, before.get(changed or ""))


def _named(fields: Fields) -> Fields:
    """Names for rows that a job wants told apart."""
    patches = count_of(fields, "surface")
    out = dict(fields)
    for n in range(1, patches + 1 if patches > 1 else 0):
        out.setdefault(f"surface.{n}.name", f"patch {n}")
    for n in range(1, count_of(fields, "second_colour") + 1):
        colour = fields.get(f"second_colour.{n}.colour")
        if colour:
            out.setdefault(f"second_colour.{n}.name", name_for(colour)[:_LONGEST_NAME])
    return out


_LONGEST_NAME = 80


def _pick(fields: Fields, place: str, sample: str, before: Mapping[str, str]) -> None:
    """A sample that was newly picked, unless a colour was newly typed."""
    path = f"{place}.colour"
    was = before[path]
    if sample == was or fields.get(path, was) not in {"", was}:
        return
    fields[path] = sample
    if place.startswith("surface."):
        try:
            swatch = find_swatch(sample)
        except InputError:
            return
        for key in ("name", "skin", "ground", "porous", "bleeds"):
            fields.pop(f"{place}.{key}", None)
        told = {
            "name": plain_name(swatch.name),
            "skin": swatch.skin,
            "ground": swatch.ground,
            "porous": _YES[swatch.porous],
            "bleeds": _YES[swatch.bleeds],
        }
        fields |= {f"{place}.{key}": value for key, value in told.items() if value}


_YES = {None: "", True: "yes", False: "no"}


def plain_name(name: str) -> str:
    """A sample's name without its lightness."""
    words = name.split()
    return " ".join(words[:-1]) if len(words) > 1 and words[-1].isdecimal() else name


def _forget_reading(fields: Fields, path: str, before: Mapping[str, str]) -> None:
    """What was said of the colour before holds for another no more."""
    place = path.removesuffix(".colour")
    for name in [n for n in fields if n.startswith(f"{path}.")]:
        if fields[name] == before.get(name, fields[name]):
            del fields[name]
    name = f"{place}.name"
    if place == "topcoat" and fields.get(name) == before.get(name, fields.get(name)):
        fields.pop(name, None)
        fields.pop("topcoat.paint", None)


def shared_out(fields: Fields, changed: str | None = None, was: str | None = None) -> Fields:
    """The patches' shares, brought to a whole where one of them was changed, added or dropped.

    Those of the other patches keep their proportions. Shares that were all typed and make no
    whole are left for the job's own check to tell.
    """
    count = count_of(fields, "surface")
    paths = [f"surface.{n}.share" for n in range(1, count + 1)]
    said = [path for path in paths if path in fields]
    if not said:
        return fields
    if count == 1:
        return {k: v for k, v in fields.items() if k not in said}
    one = changed if changed in said and fields[changed] != was else None
    if len(said) == count and one is None and _sum(fields, paths) in {None, 1.0}:
        return fields
    if one is None and len(said) == count:
        return fields if changed else _scaled(fields, paths, 1.0)
    fixed = {one} if one else {p for p in paths if p not in said}
    fields = fields | {path: _SPOT for path in fixed if path not in fields}
    held = _sum(fields, sorted(fixed))
    rest = [path for path in paths if path not in fixed]
    if held is None or not 0.0 < held < 1.0 or not rest:
        return fields
    return _scaled(fields, rest, 1.0 - held)


_SPOT = "0.1"
"""Share of a patch that is new beside others whose shares were said."""


def _sum(fields: Mapping[str, str], paths: list[str]) -> float | None:
    numbers = [number_of(fields.get(path, "")) for path in paths]
    if not all(isinstance(n, int | float) for n in numbers):
        return None
    return round(sum(float(n) for n in numbers), 9)


def _scaled(fields: Fields, paths: list[str], whole: float) -> Fields:
    """These shares, in their proportions, as parts of what is left."""
    fields = fields | {path: "1" for path in paths if path not in fields}
    total = _sum(fields, paths)
    if not total:
        return fields
    parts = {p: round(float(number_of(fields[p])) * whole / total, 4) for p in paths}
    last = paths[-1]
    parts[last] = round(whole - sum(v for p, v in parts.items() if p != last), 4)
    return fields | {path: short_number(part) for path, part in parts.items()}
