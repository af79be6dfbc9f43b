"""Says in the project's own words what pydantic found wrong with a job."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel, ValidationError

from showthrough.errors import Problem, shown

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


def field_path(loc: tuple[int | str, ...]) -> str:
    """A place in a job as a painter reads it: ``surface[1].colour.lab``; counts from 1."""
    out = ""
    for step in loc:
        if isinstance(step, int):
            out += f"[{step + 1}]"
        else:
            out += f".{step}" if out else step
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
    return f"; {number:g} % is {number / 100:g}" if meant else ""


def _sentence(error: Mapping[str, Any], model: type[BaseModel]) -> str:  # noqa: PLR0911 - a table of cases reads best flat
    kind: str = error["type"]
    ctx: Mapping[str, Any] = error.get("ctx", {})
    given = shown(error["input"])
    if kind in _SIMPLE:
        tail = "" if kind == "missing" else f", not {given}"
        return _SIMPLE[kind] + tail
    if kind == "extra_forbidden":
        here = _model_at(model, error["loc"][:-1])
        known = list(here.model_fields)
        near = difflib.get_close_matches(str(error["loc"][-1]), known, n=1)
        hint = f"did you mean {near[0]}? " if near else ""
        return f"is not a known key; {hint}known here: {', '.join(known)}"
    bounds = {
        "greater_than": ("above", "gt"),
        "greater_than_equal": ("at least", "ge"),
        "less_than": ("below", "lt"),
        "less_than_equal": ("at most", "le"),
    }
    if kind in bounds:
        word, key = bounds[kind]
        return f"must be {word} {ctx[key]:g}, not {given}{_percent(error['input'], ctx[key])}"
    if kind == "literal_error":
        expected = str(ctx["expected"]).replace("'", "")
        return f"must be {expected}, not {given}"
    if kind == "too_short":
        return f"needs at least {ctx['min_length']}, has {ctx['actual_length']}"
    if kind == "too_long":
        return f"takes at most {ctx['max_length']}"
    if kind == "string_too_long":
        return f"takes at most {ctx['max_length']} characters"
    if kind == "string_too_short":
        return "must not be empty"
    if kind == "value_error":
        return str(ctx["error"])
    return f"{str(error['msg'])[:1].lower()}{str(error['msg'])[1:]}; given {given}"


def problems_of(error: ValidationError, model: type[BaseModel]) -> list[Problem]:
    """Each fault once, by field, in plain words."""
    out = []
    for item in error.errors(include_url=False):
        path = field_path(item["loc"])
        given = "" if item["type"] == "missing" else shown(item["input"])
        out.append(Problem(path, given, _sentence(item, model), str(item["type"])))
    return out
