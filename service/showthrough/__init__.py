"""Showthrough: how many coats a colour needs over a surface, and what goes under and beside it.

The names below are the library. Each is imported when it is first used, so that
``import showthrough`` itself costs next to nothing.

Example:
    >>> from showthrough import predict
    >>> answer = predict({
    ...     "topcoat": {"colour": "lab(66 -24 55)", "volume_solids": 0.38},
    ...     "surface": [{"colour": "lab(38 12 20)"}],
    ...     "application": {"tool": "spray", "wet_film_um": 45},
    ... })
    >>> answer.coats.likely
    4
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

_HOME = {
    "Colour": "showthrough.colour.reading",
    "InputError": "showthrough.errors",
    "Prediction": "showthrough.jobs.answers.prediction",
    "Reading": "showthrough.colour.reading",
    "ShowthroughError": "showthrough.errors",
    "ciede2000": "showthrough.colour.difference",
    "colour_of": "showthrough.colour.reading",
    "format_colour": "showthrough.colour.notation",
    "paint_of_colour": "showthrough.film.hiding",
    "palette_for": "showthrough.jobs.palette:palette",
    "parse_colour": "showthrough.colour.notation",
    "HalfWay": "showthrough.jobs.answers.halfway",
    "WholeJob": "showthrough.jobs.answers.whole",
    "calendar": "showthrough.jobs.whole",
    "half_way": "showthrough.jobs.halfway",
    "plan": "showthrough.jobs.whole",
    "plan_file": "showthrough.jobs.whole",
    "predict": "showthrough.jobs.predict",
    "predict_file": "showthrough.jobs.predict",
    "sheet": "showthrough.sheets.sheet",
    "soften": "showthrough.jobs.soften.soften",
    "sweep": "showthrough.jobs.sweep.sweep",
}

# A function called palette would be hidden by the subpackage of that name once it is imported.

__all__ = [
    "Colour",
    "HalfWay",
    "InputError",
    "Prediction",
    "Reading",
    "ShowthroughError",
    "WholeJob",
    "calendar",
    "ciede2000",
    "colour_of",
    "format_colour",
    "half_way",
    "paint_of_colour",
    "palette_for",
    "parse_colour",
    "plan",
    "plan_file",
    "predict",
    "predict_file",
    "sheet",
    "soften",
    "sweep",
]

if TYPE_CHECKING:
    from showthrough.colour.difference import ciede2000 as ciede2000
    from showthrough.colour.notation import format_colour as format_colour
    from showthrough.colour.notation import parse_colour as parse_colour
    from showthrough.colour.reading import Colour as Colour
    from showthrough.colour.reading import Reading as Reading
    from showthrough.colour.reading import colour_of as colour_of
    from showthrough.errors import InputError as InputError
    from showthrough.errors import ShowthroughError as ShowthroughError
    from showthrough.film.hiding import paint_of_colour as paint_of_colour
    from showthrough.jobs.answers.halfway import HalfWay as HalfWay
    from showthrough.jobs.answers.prediction import Prediction as Prediction
    from showthrough.jobs.answers.whole import WholeJob as WholeJob
    from showthrough.jobs.halfway import half_way as half_way
    from showthrough.jobs.palette import palette as palette_for
    from showthrough.jobs.predict import predict as predict
    from showthrough.jobs.predict import predict_file as predict_file
    from showthrough.jobs.soften.soften import soften as soften
    from showthrough.jobs.sweep.sweep import sweep as sweep
    from showthrough.jobs.whole import calendar as calendar
    from showthrough.jobs.whole import plan as plan
    from showthrough.jobs.whole import plan_file as plan_file
    from showthrough.sheets.sheet import sheet as sheet


def __getattr__(name: str) -> Any:
    """Import a public name when it is first used."""
    home = _HOME.get(name)
    if home is None:
        message = f"module 'showthrough' has no attribute {name!r}"
        raise AttributeError(message)
    module, _, own_name = home.partition(":")
    value = getattr(import_module(module), own_name or name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    """The public names."""
    return [*__all__, "__version__"]
