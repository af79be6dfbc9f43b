"""Says in the project's own words what pydantic found wrong with a job."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

from pydantic import BaseModel, ValidationError

from showthrough.errors import MORE, MOST_PROBLEMS, Problem, alike, shown

_SIMPLE = {
    "missing": "is missing and needed here",
    "string_type": "must be a text",
    "string_unicode": "must be a text of whole characters",
    "float_type": "must be a number",
    "float_parsing": "must be a number",
    "int_type": "must be a whole number",
    "int_parsing": "must be a whole number",
    "int_from_float": "must be a whole number",
    "bool_type": "must be true or false",
    "bool_parsing": "must be true or false",
    "finite_number": "must be a finite number",
    "list_type": "must be a list",
    "tuple_type": "must be a list of three numbers",
    "dict_type": "must be a table of keys and values",
    "model_type": "must be a table of keys and values",
    "model_attributes_type": "must be a table of keys and values",
}


_FROM_CONTEXT = {
    "too_short": "needs at least {min_length}, has {actual_length}",
    "too_long": "takes at most {max_length}",
    "string_too_long": "takes at most {max_length} characters",
    "string_too_short": "must not be empty",
    "value_error": "{error}",
}
_BOUNDS = {
    "greater_than": ("above", "gt"),
    "greater_than_equal": ("at least", "ge"),
    "less_than": ("below", "lt"),
    "less_than_equal": ("at most", "le"),
}
_NUMBER = re.compile(r"[+-]?\d{1,20}(\.\d{1,20})?")
_BOOLS = dict.fromkeys(("true", "yes", "on"), "true") | dict.fromkeys(
    ("false", "no", "off"), "false"
)


def field_path(loc: tuple[int | str, ...]) -> str:
    """A place in a job as a painter reads it: ``surface[1].colour.lab``; counts from 1."""
    out = ""
    for step in loc:
        if isinstance(step, int):
            out += f"[{step + 1}]"
        else:
            out += f".{shown(step)}" if out else shown(step)
    return out


def _model_at(model: type[BaseModel], loc: tuple[int | str, ...]) -> type[BaseModel]:
    """The model that a place belongs to, as far as the steps lead through models."""
    for step in loc:
        if isinstance(step, int):
            continue
        info = model.model_fields.get(step)
        inner = None if info is None else _inner(info.annotation)
        if inner is None:
            return model
        model = inner
    return model


def _inner(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for part in getattr(annotation, "__args__", ()):
        found = _inner(part)
        if found is not None:
            return found
    return None


def _percent(number: Any, bound: float) -> str:
    """Solids, shares and the like are parts of 1; who types 38 means percent."""
    meant = isinstance(number, int | float) and bound == 1.0 and 5.0 <= number <= 100.0
    return f"; {number:g}% is {number / 100:g}" if meant else ""


def _not(given: Any) -> str:
    """What was given instead; a text that would do without its quotes is told so."""
    if not isinstance(given, str):
        return f", not {shown(given)}"
    bare = given.strip().lower()
    plain = _BOOLS.get(bare, bare if _NUMBER.fullmatch(bare) else "")
    hint = f"; write {plain} without quotes" if plain else ""
    return f', not the text "{shown(given)}"{hint}'


def _sentence(error: Mapping[str, Any], model: type[BaseModel]) -> str:
    kind: str = error["type"]
    ctx: Mapping[str, Any] = error.get("ctx", {})
    given = shown(error["input"])
    if kind in _SIMPLE:
        return _SIMPLE[kind] + ("" if kind == "missing" else _not(error["input"]))
    if kind == "extra_forbidden":
        known = list(_model_at(model, error["loc"][:-1]).model_fields)
        near = alike(str(error["loc"][-1])[:40], known)
        hint = f"did you mean {near[0]}? " if near else ""
        return f"is not a known key; {hint}known here: {', '.join(known)}"
    if kind in _BOUNDS:
        word, key = _BOUNDS[kind]
        return f"must be {word} {ctx[key]:g}, not {given}{_percent(error['input'], ctx[key])}"
    if kind == "literal_error":
        expected = str(ctx["expected"]).replace("'", "")
        return f"must be {expected}, not {given}"
    if kind in _FROM_CONTEXT:
        return _FROM_CONTEXT[kind].format(**ctx)
    return f"{str(error['msg'])[:1].lower()}{str(error['msg'])[1:]}; given {given}"


def problems_of(error: ValidationError, model: type[BaseModel]) -> list[Problem]:
    """Each fault once, by field, in plain words; the first of them, and how many there are more.

    Of a list that is too long only that is told: nobody checks what will be cut.
    """
    items = error.errors(include_url=False)
    long = {item["loc"] for item in items if item["type"] == "too_long"}
    if long:
        items = [i for i in items if not any(i["loc"][:n] in long for n in range(len(i["loc"])))]
    out = [
        Problem(
            field_path(item["loc"]),
            "" if item["type"] == "missing" else shown(item["input"]),
            _sentence(item, model),
            str(item["type"]),
        )
        for item in items[:MOST_PROBLEMS]
    ]
    if len(items) > MOST_PROBLEMS:
        rest = len(items) - MOST_PROBLEMS
        out.append(Problem("", str(rest), f"and {rest} more", MORE))
    return out


def within_limits(data: Mapping[str, Any], problems: Iterable[Problem]) -> Mapping[str, Any]:
    """The job without those of its lists that are too long, which are not worth checking."""
    long = {p.field for p in problems if p.code == "too_long"}
    return {key: value for key, value in data.items() if key not in long}
