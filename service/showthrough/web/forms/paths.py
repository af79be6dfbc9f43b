"""Fields named as places of a job, and the one mapping from them to a job and back.

A field is called as the place that it fills, lists counted from 1: ``surface.1.colour``,
``application.tool``. What a place may hold is read off the job's own schema, so that a key
added there has its field here. A query of such fields is the job: it is what a link holds.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal
from functools import lru_cache
from itertools import pairwise
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin
from urllib.parse import parse_qsl, urlencode

from pydantic import BaseModel

from showthrough.errors import InputError
from showthrough.files import toml_table
from showthrough.jobs.schema.job import ColourInput, Job

Fields = dict[str, str]
"""Texts as they were typed, by the places that they fill."""
Pairs = list[tuple[str, str]]

MOST_FIELDS = 2000
_MOST_ROWS = 400
_LONGEST_NAME = 160

LeafKind = Literal[
    "number", "amount", "text", "choice", "yesno", "numbers", "texts", "table", "colour"
]


@dataclass(frozen=True, slots=True)
class Leaf:
    """What a place takes."""

    kind: LeafKind
    choices: tuple[str, ...] = ()


def _members(annotation: Any) -> tuple[list[Any], list[Any]]:
    """The types that an annotation allows, without what is said about them, and None."""
    origin = get_origin(annotation)
    if origin is Annotated:
        kinds, said = _members(get_args(annotation)[0])
        return kinds, [*said, *get_args(annotation)[1:]]
    if origin in {Union, UnionType}:
        found = [_members(each) for each in get_args(annotation) if each is not type(None)]
        return [k for kinds, _ in found for k in kinds], [s for _, said in found for s in said]
    return [annotation], []


@lru_cache(maxsize=4096)
def leaf(path: str) -> Leaf | None:
    """What the place of a path takes; None where a job has no such place."""
    if len(path) > _LONGEST_NAME:
        return None
    kinds: list[Any] = [Job]
    for step in path.split("."):
        kinds = [inner for kind in kinds for inner in _step(kind, step)]
    return _leaf(kinds)


def _step(kind: Any, step: str) -> list[Any]:
    origin = get_origin(kind)
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        info = kind.model_fields.get(step)
        return [] if info is None else _members(info.annotation)[0]
    if origin is list:
        number = step.isdecimal() and step.isascii() and 0 < int(step[:4]) <= _MOST_ROWS
        return _members(get_args(kind)[0])[0] if number and step[0] != "0" else []
    if origin is dict and get_args(kind)[1] is not Any:
        return _members(get_args(kind)[1])[0] if re.fullmatch(r"[a-z]{1,12}", step) else []
    return []


def _leaf(kinds: list[Any]) -> Leaf | None:
    """What the place of these types takes."""
    plain = {kind for kind in kinds if isinstance(kind, type)}
    literals = tuple(
        str(v) for kind in kinds if get_origin(kind) is Literal for v in get_args(kind)
    )
    if ColourInput in plain:
        return Leaf("colour")
    if bool in plain:
        return Leaf("yesno", ("yes", "no", *literals))
    if literals:
        return Leaf("choice", literals)
    listed = next((kind for kind in kinds if get_origin(kind) in {list, tuple, dict}), None)
    if listed is not None:
        return _listed(listed)
    if plain & {int, float}:
        return Leaf("amount") if str in plain else Leaf("number")
    return Leaf("text") if plain & {str, date, datetime, time} else None


def _listed(kind: Any) -> Leaf | None:
    """What a list takes in one field: numbers or texts; a table of anything is a paint."""
    if get_origin(kind) is dict:
        return Leaf("table") if get_args(kind)[1] is Any else None
    inner = _members(get_args(kind)[0])[0]
    if inner in ([float], [int]):
        return Leaf("numbers")
    return Leaf("texts") if inner == [str] else None


def pairs_of(query: str) -> Pairs:
    """Names and values of a query or of a posted form.

    Raises:
        InputError: there are more fields than any job has.
    """
    try:
        return parse_qsl(query, keep_blank_values=True, max_num_fields=MOST_FIELDS)
    except ValueError as error:
        raise InputError.at(
            "form", f"over {MOST_FIELDS} fields", f"a form has at most {MOST_FIELDS} fields"
        ) from error


def fields_of(pairs: Iterable[tuple[str, str]]) -> Fields:
    """The job's fields among the pairs of a query, in its order.

    Of a name that comes twice the last counts: a chosen box stands behind what stood before.
    Lists of texts take every one. What is empty is left out, and the rows of a list are
    counted anew. Names that are no place of a job are none of its business: a link that
    passed through other hands may carry any.
    """
    held: Fields = {}
    for name, raw in pairs:
        text = "\n".join(raw.strip().splitlines())
        kind = leaf(name)
        if kind is None:
            continue
        if kind.kind == "texts" and held.get(name) and text:
            held[name] += f",{text}"
        else:
            held[name] = text
    return renumbered({name: text for name, text in held.items() if text})


def renumbered(fields: Mapping[str, str]) -> Fields:
    """The fields with the rows of each list counted from 1 without gaps."""
    rows: dict[str, dict[int, int]] = {}
    for name in fields:
        before = ""
        for step in name.split("."):
            if step.isdecimal():
                rows.setdefault(before, {})[int(step)] = 0
            before += f"{step}."
    for numbers in rows.values():
        numbers.update({old: new for new, old in enumerate(sorted(numbers), 1)})

    def renamed(name: str) -> str:
        out, before = [], ""
        for step in name.split("."):
            out.append(str(rows[before][int(step)]) if step.isdecimal() else step)
            before += f"{step}."
        return ".".join(out)

    return {renamed(name): text for name, text in fields.items()}


_NUMBER = re.compile(
    r"(?P<number>[+-]?([0-9]{1,400}([.,][0-9]{0,400})?|[.,][0-9]{1,400})(e[+-]?[0-9]{1,4})?)"
    r"\s*(?P<unit>%|m²|m2|ft²|ft2|ml|l|g|µm|um|°C|h|d|min)?",
    re.IGNORECASE,
)


def number_of(text: str) -> float | int | str:
    """A typed number: comma or point, perhaps its unit behind it; else the text itself.

    A per cent is a part of 1.
    """
    found = _NUMBER.fullmatch(text.strip())
    if found is None:
        return text
    plain = found["number"].replace(",", ".")
    if found["unit"] == "%":
        return float(Decimal(plain) / 100)
    return int(plain) if re.fullmatch(r"[+-]?[0-9]+", plain) else float(plain)


_BARE = re.compile(r"[+-]?[0-9]+([.,][0-9]+)?\s*%?")
"""A length in the job's unit or a price; any other is a text that its own room reads."""

_BOOLS = {"yes": True, "on": True, "true": True, "no": False, "off": False, "false": False}


def _value(kind: Leaf, text: str) -> Any:
    """A field's value for the job; a text that does not fit is left for the schema to name."""
    read: dict[LeafKind, Callable[[str], Any]] = {
        "yesno": lambda t: _BOOLS.get(t.lower(), t),
        "number": number_of,
        "amount": lambda t: number_of(t) if _BARE.fullmatch(t) else t,
        "choice": lambda t: int(t) if t.isdecimal() and t in kind.choices else t,
        "numbers": _numbers,
        "texts": lambda t: [part for part in (p.strip() for p in t.split(",")) if part],
        "table": _paint_of,
    }
    return read.get(kind.kind, str)(text)


def _numbers(text: str) -> list[float | int | str]:
    """Numbers apart by spaces or semicolons; by commas where there are none."""
    parts = [p for p in re.split(r"[\s;]+", text) if p]
    if len(parts) == 1:
        parts = [p for p in text.split(",") if p]
    return [number_of(part.strip(",")) for part in parts]


def _paint_of(text: str) -> Any:
    """The table that a paint file's text holds; the text itself where it holds none."""
    try:
        return toml_table(text)
    except ValueError:
        return text


def _paint_text(table: Mapping[str, Any]) -> str:
    """A measured paint as the text of a paint file, short enough for a link.

    What was measured beside K and S is left out: nothing is reckoned from it.
    """
    out = []
    for key, value in table.items():
        if isinstance(value, list) and key != "notes":
            out.append(f"{key}=[{','.join(f'{v:g}' for v in value)}]")
        elif isinstance(value, Mapping) and key != "measured":
            out.append(f"{key}={{{','.join(f'{k}={v:g}' for k, v in value.items())}}}")
        elif isinstance(value, str) and value:
            # What JSON escapes, TOML escapes in the same way.
            out.append(f"{key}={json.dumps(value, ensure_ascii=False)}")
        elif isinstance(value, int | float):
            out.append(f"{key}={value:g}")
    return "\n".join(out)


def job_of(fields: Mapping[str, str]) -> dict[str, Any]:
    """The job that fields stand for, in the words of a job file, not yet checked."""
    job: dict[str, Any] = {}
    for path, text in fields.items():
        kind = leaf(path)
        if kind is not None and text:
            _put(job, path.split("."), _value(kind, text))
    return job


def _put(job: dict[str, Any], steps: list[str], value: Any) -> None:
    here: Any = job
    for step, after in pairwise(steps):
        fresh: Any = [] if after.isdecimal() else {}
        if isinstance(here, list):
            here.extend({} for _ in range(int(step) - len(here)))
            inner = here[int(step) - 1]
        else:
            inner = here.setdefault(step, fresh)
            if isinstance(inner, str) and step == "colour":
                # A colour as plain text makes room for how it was read.
                inner = here[step] = {"text": inner}
        if not isinstance(inner, dict | list):
            return
        here = inner
    last = steps[-1]
    if isinstance(here, list):
        here.extend("" for _ in range(int(last) - len(here)))
        here[int(last) - 1] = value
    elif last == "colour" and isinstance(here.get(last), dict):
        here[last] = {"text": value, **here[last]}
    else:
        here[last] = value


def fields_of_job(job: Mapping[str, Any]) -> Fields:
    """The fields that stand for a job.

    Raises:
        InputError: the job holds something that no field can say.
    """
    out: Fields = {}
    _flatten(job, "", out)
    return out


def _flatten(value: Any, path: str, out: Fields) -> None:
    kind = leaf(path) if path else None
    if kind is not None and kind.kind == "colour":
        text, value = colour_text(value)
        if text is not None:
            out[path] = text
    if isinstance(value, Mapping) and (kind is None or kind.kind == "colour"):
        for key, inner in value.items():
            _flatten(inner, f"{path}.{key}" if path else str(key), out)
    elif value is not None:
        _say(value, path, kind, out)


def _say(value: Any, path: str, kind: Leaf | None, out: Fields) -> None:
    """One value in its field, or in those of its rows."""
    if isinstance(value, Mapping) and kind is not None and kind.kind == "table":
        out[path] = _paint_text(value)
    elif isinstance(value, list | tuple):
        whole = kind is not None and kind.kind in {"numbers", "texts"}
        if whole and not any("," in str(each) for each in value):
            joint = "," if kind is not None and kind.kind == "texts" else " "
            out[path] = joint.join(_text(each) for each in value)
        else:
            for number, inner in enumerate(value, 1):
                _flatten(inner, f"{path}.{number}", out)
    elif kind is None or isinstance(value, Mapping):
        raise InputError.at(path, value, "the page has no field for this")
    else:
        out[path] = _text(value)


def _text(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return short_number(value)
    return value.isoformat() if isinstance(value, date | datetime | time) else str(value)


def short_number(value: float) -> str:
    """As short as it can be without losing a digit."""
    text = f"{Decimal(repr(float(value))):f}" if abs(value) < _LARGE else repr(value)
    return text.rstrip("0").rstrip(".") or "0" if "." in text and "e" not in text else text


_LARGE = 1e21

_NOTATIONS = ("text", "hex", "munsell", "swatch")
TYPED = frozenset({*_NOTATIONS, "lab", "lch", "xyz", "lrv"})
"""Ways to write a colour that one field takes."""


def colour_text(value: Any) -> tuple[str | None, dict[str, Any]]:
    """One text for a colour in any notation, and what a text cannot say."""
    if isinstance(value, list | tuple):
        value = {"lab": value}
    if not isinstance(value, Mapping):
        return str(value), {}
    how = {k: v for k, v in value.items() if (k, v) != ("specular", "excluded") and v is not None}
    for key in _NOTATIONS:
        if key in how:
            return str(how.pop(key)), how
    if "lrv" in how:
        return f"lrv {short_number(how.pop('lrv'))}", how
    for key in ("lab", "lch", "xyz"):
        if key in how:
            text = f"{key}({' '.join(short_number(v) for v in how.pop(key))})"
            if "illuminant" in how or "observer" in how:
                text += f" {how.pop('illuminant', 'D65')}/{how.pop('observer', 2)}"
            return text, how
    return None, how


def query_of(fields: Mapping[str, str], extra: Iterable[tuple[str, str]] = ()) -> str:
    """A query that a painter can read and pass on."""
    return urlencode([*fields.items(), *extra], safe="(),:/")


def path_of(field: str) -> str:
    """The path of a problem's field: ``surface[2].colour`` is ``surface.2.colour``."""
    return re.sub(r"\[(\d+)\]", r".\1", field).removeprefix(".")
