"""The four readings of a drawdown from one photo of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from showthrough.colour.difference import ciede2000
from showthrough.colour.lights import FloatArray
from showthrough.colour.reading import Reading
from showthrough.errors import IllConditionedError, InputError, ProblemList
from showthrough.film.drawdown.readings import FIELDS, CardReading
from showthrough.jobs.answers.photos import ReadColour
from showthrough.jobs.photos.references import (
    colour_shown,
    named_as_requested,
    references_of,
)
from showthrough.jobs.schema.photo import Corners, DrawdownRequest
from showthrough.photo.calibrate.balance import BLACK_CARD, DRAWDOWN_WHITE, Card, serves
from showthrough.photo.calibrate.radius import joined
from showthrough.photo.measure import PhotoColour, read_colours
from showthrough.photo.picture.load import Picture, load_picture
from showthrough.photo.place import Region

_ALIKE = 3.0
"""CIEDE2000 up to which two places of one photo are of one colour."""

_DARK, _LIGHT, _PALE = 35.0, 75.0, 12.0
"""L* of the black part at most and of the white one at least, and chroma of both at most."""


_ON_FILM = "it lies on the film, or off the card; mark the bare"
_BARE_WHITE, _BARE_BLACK = f"{_ON_FILM} white part", f"{_ON_FILM} black part"

_MARK = {field: f"regions.{field}" for field in FIELDS}
"""Fields of the marks in the request."""


def _own_cards(
    picture: Picture, references: dict[str, Any], places: Mapping[str, Region]
) -> dict[str, str]:
    """Let the drawdown card's own black, and where no card is marked its white, serve as cards.

    Returns:
        The field of the request behind each card that is added, by the photo room's name.
    """
    cards = references["cards"]
    if references["chart"] is not None:
        return {}
    added = {}
    for field, lab in (("bare_white", DRAWDOWN_WHITE), ("bare_black", BLACK_CARD)):
        card = Card(places[f"regions.{field}"], lab)
        wanted = not cards if field == "bare_white" else all(c.lab[0] > 60.0 for c in cards)
        if wanted and (field == "bare_white" or serves(picture, card)):
            added[f"cards[{len(cards)}]"] = f"regions.{field}"
            cards.append(card)
    return added


_LEAST_OWN = 0.3
"""CIEDE2000 that two readings of one photo differ by at least, from noise and glare."""

_LEAST_SURE = 12.0
"""CIEDE2000; with a card even under a warm bulb readings are surer."""


def cards_in_photo(
    wanted: DrawdownRequest, photo: bytes | None, folder: Path | None, name: str
) -> tuple[dict[str, CardReading], dict[str, ReadColour], float]:
    """Four readings of one photo, each as answered, and the doubt that all four share.

    Args:
        wanted: the request.
        photo: the file's bytes.
        folder: where files that the request names are looked for; None refuses files.
        name: what to call the photo in messages.

    Raises:
        InputError: the request or the picture cannot be used; all problems.
        IllConditionedError: the photo's colours are known too roughly.
    """
    regions = _checked(wanted, photo)
    assert photo is not None
    picture = load_picture(photo, name=name)
    references = references_of(picture, wanted.photo, "photo", folder)
    places = {_MARK[field]: Region.polygon(regions[field]) for field in FIELDS}
    own = _own_cards(picture, references, places)
    with named_as_requested("photo", own):
        # A card may well be marked on the card's own white, and a film mark that lies on a
        # card is told as what it is: off the film.
        try:
            named = read_colours(picture, places, free=tuple(places), **references)
        except InputError as error:
            if "regions.bare_white" in own.values() and error.problems[0].code == "swapped":
                raise _misplaced(
                    "bare_white", "is darker than another mark", _BARE_WHITE
                ) from error
            raise
    _check_marks({field: named[_MARK[field]].lab for field in FIELDS})
    found = {field: named[_MARK[field]] for field in FIELDS}
    own_doubts, shared = _doubts(found)
    if shared > _LEAST_SURE:
        raise IllConditionedError.at(
            "photo.cards",
            f"{shared:.0f}",
            "without a reference the colours of this photo are known far too roughly "
            f"(colour difference {shared:.0f}) to measure a paint: mark a white or grey card of "
            "known colour in the picture, or a 24-patch chart",
        )
    cards = {
        field: CardReading(
            Reading(lab=colour.lab, text=field),
            own_doubts[field],
        )
        for field, colour in found.items()
    }
    shown = {f: colour_shown(c) for f, c in found.items()}
    if "regions.bare_white" in own.values():
        for colour in shown.values():
            colour.notes.append(_OWN_WHITE)
    return cards, shown, shared


_OWN_WHITE = "No card was marked: the drawdown card's own white served as one."


def _doubts(found: Mapping[str, PhotoColour]) -> tuple[dict[str, float], float]:
    """What each reading may be off by itself, and what all four share, in CIEDE2000.

    A phone's tone curve moves all colours of like lightness alike: what the films share of it
    is shared, and each reading's own is by how much it differs from that.
    """
    alone = {
        field: joined(*(part for name, part in colour.doubts.items() if name != "processing"))
        for field, colour in found.items()
    }
    bent = {field: colour.doubts["processing"] for field, colour in found.items()}
    usual, least = 0.5 * (bent["over_black"] + bent["over_white"]), min(alone.values())
    own = {
        field: max(_LEAST_OWN, joined(np.sqrt(part**2 - least**2), bent[field] - usual))
        for field, part in alone.items()
    }
    return own, joined(least, usual)


def _checked(wanted: DrawdownRequest, photo: bytes | None) -> dict[str, Corners]:
    """The marks; raises where some are missing or unknown, or readings stand beside them."""
    regions = wanted.regions or {}
    with ProblemList() as problems:
        if photo is None:
            problems.add("photo", "", "regions need the photo that they lie in")
        for field in FIELDS:
            if field not in regions:
                problems.add(_MARK[field], "", "is missing: mark where it lies in the photo")
            if getattr(wanted, field) is not None:
                problems.add(field, "", "give readings or regions of a photo, not both")
        for key in regions:
            if key not in FIELDS:
                problems.add(f"regions.{key}", key, f"is not known; known: {', '.join(FIELDS)}")
    return regions


def _check_marks(labs: Mapping[str, Sequence[float]]) -> None:
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
        (
            white[0] < _LIGHT or np.hypot(*white[1:]) > _PALE,
            "bare_white",
            "does not read as white",
            _BARE_WHITE,
        ),
        (
            black[0] > _DARK or np.hypot(*black[1:]) > _PALE,
            "bare_black",
            "does not read as black",
            _BARE_BLACK,
        ),
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
        raise _misplaced(field, seen, cure)


def _misplaced(field: str, seen: str, cure: str) -> InputError:
    """The problem of one mark: what it shows, and where it should lie."""
    return InputError.at(f"regions.{field}", seen, f"{field} {seen}: {cure}", "misplaced")


def _alike(one: FloatArray, two: FloatArray) -> bool:
    return float(ciede2000(one, two)) < _ALIKE
