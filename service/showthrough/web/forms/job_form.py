"""From the form to a job and back, and from a job's problems to the fields they belong to."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from showthrough.errors import MORE, InputError, Problem
from showthrough.jobs.case.readings import name_for
from showthrough.web.forms.fields import FINISHES, JOB_FIELDS, OPTION_FIELDS, ROWS, SURFACE, Field
from showthrough.web.forms.form import Form, Row, is_blank
from showthrough.web.forms.paint_text import paint_table_of, paint_text

_YES = frozenset({"on", "yes", "true", "1"})
_NO = frozenset({"", "no", "off", "false", "0"})
_ROW_WORDS = {"patch": "Patch", "under": "Undercoat", "second": "Second colour"}
_ROW_PLACE = re.compile(
    r"(?P<list>surface|undercoat|second_colour)\[(?P<number>\d+)\]\.?(?P<rest>.*)", re.DOTALL
)
_SWATCH_PLACE = re.compile(r"swatches(?:_csv)?(?:\[(?P<number>\d+)\]|\.(?P<rest>.*))?", re.DOTALL)
_LONGEST_NAME = 80
_NOTATIONS = ("text", "hex", "munsell", "swatch")


@dataclass(frozen=True, slots=True)
class Mend:
    """One problem, where a painter finds it."""

    field: str
    """The input that it belongs to."""
    label: str
    message: str
    stands_for: int = 1
    """Problems that it tells of; more than one where the rest of many are only counted."""


def job_of(form: Form) -> dict[str, Any]:
    """The job that the form stands for, in the words of a job file, not yet checked."""
    job: dict[str, Any] = {"topcoat": {}}
    for each in JOB_FIELDS:
        _put(job, each, form.values.get(each.name, ""))
    _drop_empty_label(job["topcoat"])
    for kind, (key, fields) in ROWS.items():
        rows = [_row_job(fields, form.rows(kind)[i]) for i in _said_rows(form, kind)]
        _name_rows(kind, rows, _said_rows(form, kind))
        if rows:
            job[key] = rows
    if form.finishes:
        job[FINISHES] = list(form.finishes)
    return job


def _name_rows(kind: str, rows: list[dict[str, Any]], places: list[int]) -> None:
    """Names for rows that have none, where the job needs one."""
    for place, row in zip(places, rows, strict=True):
        if "name" in row:
            continue
        if kind == "patch" and len(rows) > 1:
            row["name"] = f"patch {place + 1}"
        if kind == "second" and isinstance(row.get("colour"), str):
            row["name"] = name_for(row["colour"])[:_LONGEST_NAME]


def request_of(form: Form) -> dict[str, Any]:
    """The job with what the page asks beside it, in the words of a request."""
    out: dict[str, Any] = {"job": job_of(form)}
    for each in OPTION_FIELDS:
        value = _value(each, form.options.get(each.name, ""))
        if value is not None and each.name != "rows":
            whole = isinstance(value, float) and value.is_integer()
            out[each.path] = int(value) if whole else value
    return out


def _said_rows(form: Form, kind: str) -> list[int]:
    """Rows in which something was said; one blank patch stays, for its problem to be told."""
    rows = form.rows(kind)
    said = [i for i, row in enumerate(rows) if not is_blank(row)]
    return said or ([0] if kind == "patch" else [])


def _row_job(fields: Sequence[Field], row: Row) -> dict[str, Any]:
    out: dict[str, Any] = {}
    for each in fields:
        _put(out, each, row.get(each.name, ""))
    _drop_empty_label(out)
    return out


def _drop_empty_label(holder: dict[str, Any]) -> None:
    """What was tested says nothing without a figure."""
    if set(holder.get("label", ())) == {"tested"}:
        del holder["label"]


def _put(job: dict[str, Any], each: Field, text: str) -> None:
    value = _value(each, text)
    if value is None:
        return
    *parents, last = each.path.split(".")
    for parent in parents:
        inner = job.setdefault(parent, {})
        if not isinstance(inner, dict):
            # A colour as plain text makes room for how it was read.
            inner = job[parent] = {"text": inner}
        job = inner
    job[last] = "included" if each.name == "sci" and value is True else value


def _said(each: Field, text: str) -> bool | str | None:
    """Yes, no, or None where nothing was said; a box without a tick says nothing."""
    if text.lower() in _NO:
        return False if text and each.kind == "yesno" else None
    return True if text.lower() in _YES else text


def _value(each: Field, text: str) -> Any:
    """A field's value for the job; a text that does not fit is left for the schema to name."""
    if each.kind in {"tick", "yesno"}:
        return _said(each, text)
    if not text or (each.kind == "choice" and text == each.default):
        return None
    if each.name == "paint":
        return paint_table_of(text)
    try:
        if each.kind == "number":
            return float(text)
        if each.kind == "percent":
            return float(Decimal(text.removesuffix("%").strip()) / 100)
    except (ArithmeticError, ValueError):
        pass
    return text


def form_of(job: Mapping[str, Any]) -> Form:
    """The form that stands for a job.

    Raises:
        InputError: the job holds something that the form has no field for.
    """
    rows = {
        kind: tuple(_texts(row, fields, f"{key}[{i}]") for i, row in enumerate(job.get(key, ()), 1))
        for kind, (key, fields) in ROWS.items()
    }
    apart = {FINISHES, *(key for key, _ in ROWS.values())}
    rest = {k: v for k, v in job.items() if k not in apart}
    return Form(
        _texts(rest, JOB_FIELDS, ""),
        rows["patch"],
        rows["under"],
        rows["second"],
        tuple(job.get(FINISHES) or ()),
    )


def _texts(job: Mapping[str, Any], fields: Sequence[Field], where: str) -> Row:
    left = _flat(job)
    out: dict[str, str] = {}
    for each in fields:
        value = left.pop(each.path, None)
        if value is None or (value is False and each.kind == "tick"):
            continue
        text = _text(each, value)
        if text not in {"", each.default}:
            out[each.name] = text
    if left:
        path = next(iter(left))
        raise InputError.at(
            f"{where}.{path}" if where else path, left[path], "the page has no field for this"
        )
    return out


def _flat(job: Mapping[str, Any], before: str = "") -> dict[str, Any]:
    out: dict[str, Any] = {}
    for key, value in job.items():
        path = f"{before}{key}"
        if path == "topcoat.paint" and isinstance(value, Mapping):
            out[path] = paint_text(value)
        elif key == "colour":
            out[path], how = _colour_text(value)
            out.update({f"{path}.{k}": v for k, v in how.items()})
        elif isinstance(value, Mapping):
            out.update(_flat(value, f"{path}."))
        else:
            out[path] = value
    return out


def _colour_text(value: Any) -> tuple[Any, dict[str, Any]]:
    """One text for a colour in any notation, and what a text cannot say."""
    if isinstance(value, list | tuple):
        value = {"lab": value}
    if not isinstance(value, Mapping):
        return value, {}
    how = {k: v for k, v in value.items() if (k, v) != ("specular", "excluded") and v is not None}
    for key in _NOTATIONS:
        if key in how:
            return how.pop(key), how
    if "lrv" in how:
        return f"lrv {_number(how.pop('lrv'))}", how
    for key in ("lab", "lch", "xyz"):
        if key in how:
            text = f"{key}({' '.join(_number(v) for v in how.pop(key))})"
            if "illuminant" in how or "observer" in how:
                text += f" {how.pop('illuminant', 'D65')}/{how.pop('observer', 2)}"
            return text, how
    return None, how


def _text(each: Field, value: Any) -> str:
    if each.kind == "yesno" and isinstance(value, bool):
        return "yes" if value else "no"
    if each.kind == "tick":
        return "on" if value in {True, "included"} else str(value)
    if each.kind == "number":
        return _number(value)
    if each.kind == "percent":
        return _plain(Decimal(repr(float(value))) * 100)
    return str(value)


def _number(value: Any) -> str:
    """As short as it can be without losing a digit."""
    return _plain(Decimal(repr(float(value))))


def _plain(value: Decimal) -> str:
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") or "0" if "." in text else text


def mends_of(error: InputError, form: Form) -> list[Mend]:
    """Every problem beside the field that it belongs to, in the words of all doors."""
    mends: list[Mend] = []
    for problem in error.problems:
        if problem.code == MORE and mends:
            # Those that are only counted are like the last one that is told.
            more = replace(mends[-1], message=problem.message, stands_for=int(problem.value))
            mends.append(more)
        else:
            mends.append(_mend(problem, form))
    return mends


def _mend(problem: Problem, form: Form) -> Mend:
    row = _ROW_PLACE.fullmatch(problem.field)
    if row is None:
        option = _option_mend(problem)
        if option is not None:
            return option
        each = _field_at(problem.field, JOB_FIELDS)
        if each is None:
            spot = FINISHES if problem.field.startswith(FINISHES) else SURFACE
            label = "Handles and hinges" if spot == FINISHES else "Surface"
            return Mend(spot, label, problem.message)
        message = _message(problem, each, form.values.get(each.name, ""))
        return Mend(each.name, each.told or each.label, message)
    kind = next(k for k, (key, _) in ROWS.items() if key == row["list"])
    said = _said_rows(form, kind)
    place = int(row["number"]) - 1
    number = (said[place] if place < len(said) else place) + 1
    found = _field_at(row["rest"], ROWS[kind][1])
    each = found or ROWS[kind][1][0]
    label = f"{_ROW_WORDS[kind]} {number}"
    rows = form.rows(kind)
    held = rows[number - 1].get(each.name, "") if number <= len(rows) else ""
    if found:
        label += f", {(each.told or each.label).lower()}"
    return Mend(f"{each.name}{number}", label, _message(problem, each, held))


def _option_mend(problem: Problem) -> Mend | None:
    """A problem of what the page asks beside the job; one of swatches says which of them."""
    swatch = _SWATCH_PLACE.fullmatch(problem.field)
    name = "swatches" if swatch else problem.field
    each = next((f for f in OPTION_FIELDS if f.name == name), None)
    if each is None:
        return None
    where = ""
    if swatch and swatch["number"]:
        where = f"Swatch {swatch['number']}: "
    elif swatch and swatch["rest"]:
        rest = swatch["rest"].replace(".", ", ")
        where = f"{rest[:1].upper()}{rest[1:]}: "
    return Mend(each.name, each.told or each.label, f"{where}{problem.message}")


def _field_at(path: str, fields: Sequence[Field]) -> Field | None:
    """The field whose place holds a path, else the first of those inside it."""
    outer = [f for f in fields if path == f.path or path.startswith((f"{f.path}.", f"{f.path}["))]
    if outer:
        return max(outer, key=lambda f: len(f.path))
    return next((f for f in fields if path and f.path.startswith(f"{path}.")), None)


def _message(problem: Problem, each: Field, typed: str) -> str:
    """The message of all doors; where percent was typed, also what that is as a part."""
    if each.kind != "percent":
        return problem.message
    value = _value(each, typed)
    if not isinstance(value, float):
        return problem.message
    return f"{problem.message} ({typed.removesuffix('%').strip()}% is {value:g})"
