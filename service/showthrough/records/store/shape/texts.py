"""Documents and short texts on their way into the store."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date, datetime, time
from numbers import Integral, Real
from pathlib import Path
from typing import Any
from uuid import uuid4

from showthrough.errors import UNSAFE, ProblemList, harmless, shown
from showthrough.jobs.schema.job import ColourInput


def new_uuid() -> str:
    """An identity that no other store gives."""
    return str(uuid4())


def to_json(value: Any) -> str:
    """A document as text; keys keep their order, NaN is no number."""
    return json.dumps(value, allow_nan=False, separators=(",", ":"))


def checked_line(field: str, text: str, problems: ProblemList, most: int = 200) -> str:
    """A short text on one line, without blanks around it; a problem where it is none."""
    text = text.strip()
    found = UNSAFE.search(text)
    if found is not None:
        problems.add(
            field,
            text,
            f"holds the control character {harmless(found[0])}; write it as one line of plain text",
        )
    elif len(text) > most:
        problems.add(field, text, f"takes at most {most} characters, not {len(text)}")
    return text


def checked_number(
    field: str, value: float | None, least: float, most: float, problems: ProblemList
) -> float | None:
    """A number within its bounds, or None; a problem where it is something else."""
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float) or not least <= value <= most:
        problems.add(
            field, value, f"must be a number from {least:g} to {most:g}, not {shown(value)}"
        )
        return None
    return float(value)


def standalone(job: Mapping[str, Any], folder: Path | None) -> dict[str, Any]:
    """A job that says by itself what it took from files beside it, in words that JSON has.

    Args:
        job: a job that was found to be right.
        folder: where the files lie that it names.
    """
    out = _plain(job)
    for topcoat in (out["topcoat"], *(g.get("topcoat") for g in out.get("group", ()))):
        if topcoat and "paint_file" in topcoat:
            from showthrough.jobs.case.resolve import load_toml

            assert folder is not None
            topcoat["paint"] = _plain(load_toml(folder / topcoat.pop("paint_file"), "paint"))
    _inline_spectra(out, folder)
    return out


def _inline_spectra(value: Any, folder: Path | None) -> None:
    """Put each colour of a file where the file was named."""
    if isinstance(value, list):
        for item in value:
            _inline_spectra(item, folder)
    if not isinstance(value, dict):
        return
    for key, inner in value.items():
        if isinstance(inner, dict) and "spectrum_file" in inner:
            value[key] = _colour_of_file(inner, folder)
        else:
            _inline_spectra(inner, folder)


def _colour_of_file(colour: dict[str, Any], folder: Path | None) -> dict[str, Any]:
    from showthrough.colour.lights import WAVELENGTHS
    from showthrough.jobs.case.readings import reading_of

    reading = reading_of(ColourInput.model_validate(colour), folder)
    kept: dict[str, Any] = {k: v for k, v in colour.items() if k == "radius"}
    kept["specular"] = "included" if reading.specular_included else "excluded"
    if reading.lab is not None:
        light = {"illuminant": reading.illuminant, "observer": reading.observer}
        return {"lab": list(reading.lab), **light, **kept}
    assert reading.reflectance is not None
    start, step = float(WAVELENGTHS[0]), float(WAVELENGTHS[1] - WAVELENGTHS[0])
    values = [float(r) for r in reading.reflectance]
    return {"spectrum": {"start_nm": start, "step_nm": step, "values": values}, **kept}


def _plain(value: Any) -> Any:
    """The same in words that JSON has: days as text, other libraries' numbers as Python's."""
    if isinstance(value, Mapping):
        return {str(k): _plain(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(v) for v in value]
    if isinstance(value, date | datetime | time):
        return value.isoformat()
    if isinstance(value, bool | int | float | str) or value is None:
        return value
    if isinstance(value, Integral):
        return int(value)
    return float(value) if isinstance(value, Real) else value
