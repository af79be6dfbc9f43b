"""Marks of a drawdown that lie where they should not: one advice, the right one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from showthrough.colour.difference import ciede2000
from showthrough.colour.lights import FloatArray
from showthrough.errors import InputError

_ALIKE = 3.0
"""CIEDE2000 up to which two places of one photo are of one colour."""

_DARK, _LIGHT, _PALE = 35.0, 75.0, 12.0
"""L* of the black part at most and of the white one at least, and chroma of both at most."""


_ON_FILM = "it lies on the film, or off the card; mark the bare"
BARE_WHITE, _BARE_BLACK = f"{_ON_FILM} white part", f"{_ON_FILM} black part"


def check_marks(labs: Mapping[str, Sequence[float]]) -> None:
    """Refuse a drawdown whose four colours cannot come of one film over one card.

    Args:
        labs: CIELAB of bare_black, bare_white, over_black and over_white.

    Raises:
        InputError: one problem, at the mark that is most likely wrong.
    """
    black, white, film_black, film_white = (
        np.array(labs[k]) for k in ("bare_black", "bare_white", "over_black", "over_white")
    )
    off_film = "the mark lies off the film; move it on to the film"
    # A film that leaves white as it is takes no light: it is no strong colour over black.
    coloured = np.hypot(*film_black[1:]) > _PALE
    rules = (
        (not _is_white(white), "bare_white", "does not read as white", BARE_WHITE),
        (not _is_black(black), "bare_black", "does not read as black", _BARE_BLACK),
        # A film too thin to see has an advice of its own.
        (_alike(film_black, black) and _alike(film_white, white), "", "", ""),
        (_alike(film_black, white), "over_black", "reads like the bare white", off_film),
        (_alike(film_white, black), "over_white", "reads like the bare black", off_film),
        (_alike(film_black, black), "over_black", "reads like the bare black", off_film),
        (
            _alike(film_white, white) and coloured,
            "over_white",
            "reads like the bare white, though over_black shows a colour",
            off_film,
        ),
    )
    _, field, seen, cure = next((rule for rule in rules if rule[0]), (False, "", "", ""))
    if field:
        raise misplaced(field, seen, cure)


def misplaced(field: str, seen: str, cure: str) -> InputError:
    """The problem of one mark: what it shows, and where it should lie."""
    return InputError.at(f"regions.{field}", seen, f"{field} {seen}: {cure}", "misplaced")


def _alike(one: FloatArray, two: FloatArray) -> bool:
    return float(ciede2000(one, two)) < _ALIKE


def _is_white(lab: FloatArray) -> bool:
    return bool(lab[0] >= _LIGHT and np.hypot(*lab[1:]) <= _PALE)


def _is_black(lab: FloatArray) -> bool:
    return bool(lab[0] <= _DARK and np.hypot(*lab[1:]) <= _PALE)
