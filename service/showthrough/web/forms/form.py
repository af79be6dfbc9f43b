"""What stands in the form: read from a query, changed by a button, written as a link."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from urllib.parse import parse_qsl, urlencode

from showthrough.colour.files.swatches import find_swatch
from showthrough.errors import InputError
from showthrough.web.forms.fields import (
    BY_NAME,
    FINISH_TICK,
    FINISHES,
    JOB_FIELDS,
    OPTION_FIELDS,
    ROWS,
    Field,
)

Row = Mapping[str, str]
Pairs = list[tuple[str, str]]

MOST_FIELDS = 2000

_ROW_NAMES = {f.name: kind for kind, (_, fields) in ROWS.items() for f in fields}
_JOB_NAMES = frozenset(f.name for f in JOB_FIELDS)
_OPTION_NAMES = frozenset(f.name for f in OPTION_FIELDS)
_NUMBERED = re.compile(r"(?P<name>[a-z_]+?)(?P<number>[1-9]\d{0,2})")
_SETS = {"by": "sort", "show": "rows"}
"""Buttons that set an option."""
_ACTIONS = frozenset({"add", "remove", "topcoat_sample", "surface_sample", *_SETS})
_FIRST_OF_ROW = {"patch": "colour", "under": "under", "second": "second_colour"}
_MOST_UNKNOWN = 12


@dataclass(frozen=True, slots=True)
class Form:
    """The texts in the form's fields, as they were typed."""

    values: Row = field(default_factory=dict)
    patches: tuple[Row, ...] = ()
    unders: tuple[Row, ...] = ()
    seconds: tuple[Row, ...] = ()
    finishes: tuple[str, ...] = ()
    """Codes or names of the shortlist."""
    unknown: tuple[tuple[str, str], ...] = ()
    """Fields of the query that nobody knows."""
    options: Row = field(default_factory=dict)
    """What the page asks beside the job."""

    def rows(self, kind: str) -> tuple[Row, ...]:
        """The rows of one kind; there is always a patch to fill in."""
        if kind == "patch":
            return self.patches or ({},)
        return self.unders if kind == "under" else self.seconds

    def value(self, name: str, row: int | None = None) -> str:
        """What one field holds, or its default."""
        plain = self.options if name in _OPTION_NAMES else self.values
        held = plain if row is None else self.rows(_ROW_NAMES[name])[row - 1]
        return held.get(name) or BY_NAME[name].default


def is_blank(row: Row) -> bool:
    """Whether nothing was said in a row; a choice alone says nothing."""
    return not any(text for name, text in row.items() if not BY_NAME[name].choices)


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


def read_form(
    pairs: Iterable[tuple[str, str]], options: Iterable[Field] = ()
) -> tuple[Form, Pairs]:
    """The form that a query stands for, and the buttons that were pressed.

    Rows are numbered anew from 1, in the order of their numbers. Options of other pages
    than the one that takes ``options`` are left out.
    """
    taken = {each.name for each in options}
    held: dict[str, str] = {}
    values: dict[str, str] = {}
    rows: dict[str, dict[int, dict[str, str]]] = {kind: {} for kind in ROWS}
    finishes: list[str] = []
    unknown: Pairs = []
    actions: Pairs = []
    for name, raw in pairs:
        text = raw.strip()
        numbered = _NUMBERED.fullmatch(name)
        if name in _ACTIONS:
            actions.append((name, text))
        elif name in {FINISHES, FINISH_TICK}:
            finishes.extend(part for part in (p.strip() for p in text.split(",")) if part)
        elif name in _JOB_NAMES:
            values[name] = _lines(text) if BY_NAME[name].kind == "lines" else text
        elif name in _OPTION_NAMES:
            if name in taken:
                held[name] = _lines(text)
        elif numbered and numbered["name"] in _ROW_NAMES:
            kind = _ROW_NAMES[numbered["name"]]
            rows[kind].setdefault(int(numbered["number"]), {})[numbered["name"]] = text
        else:
            unknown.append((name, text))
    form = Form(
        values,
        tuple(rows["patch"][n] for n in sorted(rows["patch"])),
        tuple(rows["under"][n] for n in sorted(rows["under"])),
        tuple(rows["second"][n] for n in sorted(rows["second"])),
        tuple(dict.fromkeys(finishes)),
        tuple(unknown[:_MOST_UNKNOWN]),
        held,
    )
    return form, actions


def _lines(text: str) -> str:
    """Browsers send the ends of lines in two characters."""
    return "\n".join(text.splitlines())


def link_pairs(form: Form) -> Pairs:
    """The same form in as few words as a link needs; what was left at its default is left out."""
    out: Pairs = []
    for each in JOB_FIELDS:
        text = form.values.get(each.name, "")
        if each.name == "topcoat" or text not in {"", each.default}:
            out.append((each.name, text))
    for kind in ROWS:
        for number, row in enumerate(form.rows(kind), start=1):
            out.extend(_row_pairs(ROWS[kind][1], row, number))
    if form.finishes:
        out.append((FINISHES, ",".join(form.finishes)))
    for each in OPTION_FIELDS:
        if form.options.get(each.name, "") not in {"", each.default}:
            out.append((each.name, form.options[each.name]))
    out.extend(form.unknown)
    return out


def _row_pairs(fields: Sequence[Field], row: Row, number: int) -> Pairs:
    """A row keeps its colour even where that is empty, so that a row just added is not lost."""
    return [
        (f"{each.name}{number}", row.get(each.name, ""))
        for each in fields
        if each.kind == "colour" or row.get(each.name, "") not in {"", each.default}
    ]


def link_of(form: Form) -> str:
    """A query that a painter can read and pass on."""
    return urlencode(link_pairs(form), safe="(),:/")


def acted(form: Form, actions: Pairs) -> tuple[Form, str]:
    """The form after its buttons, and the field that comes next ("" for none)."""
    focus = ""
    for action, what in actions:
        if action == "add" and what in ROWS:
            form, focus = _with_row(form, what, {})
        elif action == "remove":
            form, focus = _without_row(form, what), ""
        elif action == "topcoat_sample":
            form = replace(form, values={**form.values, "topcoat": what})
            focus = "topcoat"
        elif action == "surface_sample":
            form, focus = _with_row(form, "patch", _sample_row(what))
        elif action in _SETS:
            form = replace(form, options={**form.options, _SETS[action]: what})
    return form, focus


def _with_row(form: Form, kind: str, row: Row) -> tuple[Form, str]:
    """Put a row into the first blank one, or behind the others."""
    rows = list(form.rows(kind))
    blank = next((i for i, held in enumerate(rows) if row and is_blank(held)), len(rows))
    rows[blank : blank + 1] = [row]
    return _with_rows(form, kind, rows), f"{_FIRST_OF_ROW[kind]}{blank + 1}"


def _without_row(form: Form, what: str) -> Form:
    numbered = _NUMBERED.fullmatch(what)
    if numbered is None or numbered["name"] not in ROWS:
        return form
    kind, place = numbered["name"], int(numbered["number"]) - 1
    rows = [row for i, row in enumerate(form.rows(kind)) if i != place]
    return _with_rows(form, kind, rows)


def _with_rows(form: Form, kind: str, rows: Sequence[Row]) -> Form:
    if kind == "patch":
        return replace(form, patches=tuple(rows))
    if kind == "under":
        return replace(form, unders=tuple(rows))
    return replace(form, seconds=tuple(rows))


def _sample_row(name: str) -> Row:
    """A sample surface with all that is known of it."""
    try:
        swatch = find_swatch(name)
    except InputError:
        return {"colour": name}
    row = {"patch": swatch.name, "colour": swatch.name}
    if swatch.skin:
        row["skin"] = swatch.skin
    if swatch.ground:
        row["ground"] = swatch.ground
    for name_, said in (("porous", swatch.porous), ("bleeds", swatch.bleeds)):
        if said is not None:
            row[name_] = "yes" if said else "no"
    return row
