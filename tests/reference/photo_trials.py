"""Reading simulated photos by each reference and comparing with the truth."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reference import camera
from reference.processing import QUALITIES
from showthrough.colour.difference import ciede2000
from showthrough.errors import InputError
from showthrough.photo.calibrate.balance import Card
from showthrough.photo.calibrate.chart import Chart
from showthrough.photo.measure import read_colour
from showthrough.photo.picture.load import load_picture
from showthrough.photo.place import Region

STATED = {"D50": "sun", "D65": "cloud", "D75": "shade", "LED-B3": "led", "A": "bulb"}
"""What a painter would say of each light."""

SIZE = (400, 300)
"""Far smaller than a phone's pictures, so that noise and JPEG weigh more than they do there."""

CARD_REFLECTANCE = 0.88
"""A matt white card; its colour is told to the reader."""

REFERENCES = ("card", "card + sheet", "chart", "chart + sheet", "none")


@dataclass(frozen=True)
class Trial:
    """One colour read from one photo."""

    error: float
    radius: float
    colour: object


def _layout(rng, reference):
    """Boxes of the reference and the chip, side by side, either way round."""
    if reference.startswith("chart"):
        boxes = (0.06, 0.16, 0.62, 0.76), (0.68, 0.3, 0.92, 0.7)
    else:
        boxes = (0.1, 0.28, 0.45, 0.72), (0.53, 0.28, 0.88, 0.72)
    if rng.random() < 0.5:
        boxes = tuple((1.0 - r, t, 1.0 - le, b) for le, t, r, b in boxes)
    return boxes


def _inner(box, margin=0.02):
    left, top, right, bottom = box
    return Region.rectangle(left + margin, top + margin, right - margin, bottom - margin)


def try_one(rng, reflectance, light, reference, phone, *, stated=None, **disturbances):
    """Photograph a chip beside a reference, read it, and compare."""
    [(_, trial)] = try_all(rng, reflectance, light, reference, phone, [stated], **disturbances)
    return trial


def try_all(
    rng,
    reflectance,
    light,
    reference,
    phone,
    stated,
    *,
    size=SIZE,
    specimen=None,
    **disturbances,
):
    """The same for several statements of the light on one photo: pairs of name and trial.

    A chart is read by its published average; ``specimen`` says which one lies there. The
    photos are plain files and said to be.
    """
    place, chip = _layout(rng, reference)
    ground = camera.neutral(0.62) if "sheet" in reference else camera.training_samples()[20]
    scene = camera.Scene(*size, ground)
    options = {}
    if reference.startswith("card"):
        white = camera.neutral(CARD_REFLECTANCE)
        scene.add_box(white, place)
        options["cards"] = [Card.measured(_inner(place), camera.true_lab(white))]
    elif reference.startswith("chart"):
        scene.add_chart(camera.chart_spectra(specimen), place)
        left, top, right, bottom = place
        options["chart"] = Chart(((left, top), (right, top), (right, bottom), (left, bottom)))
    if "sheet" in reference:
        # The strips of plain sheet above and below.
        options["sheets"] = [
            Region.rectangle(0.04, 0.02, 0.96, min(place[1], chip[1]) - 0.06),
            Region.rectangle(0.04, max(place[3], chip[3]) + 0.06, 0.96, 0.98),
        ]
    scene.add_box(reflectance, chip)
    true = camera.true_lab(reflectance)
    for level in (0.8, 0.6, 0.4):
        exposure = {"level": (level - 0.1, level + 0.08), **disturbances}
        picture = load_picture(camera.photograph(scene, phone, light, rng, **exposure))
        try:
            found = [
                (n, read_colour(picture, _inner(chip), light=n, processing="plain", **options))
                for n in stated
            ]
            break
        except InputError as error:
            # The message says to lower the exposure and try again: so do we.
            if "burnt out" not in str(error):
                raise
    return [(n, Trial(float(ciede2000(f.lab, true)), f.radius, f)) for n, f in found]


SPECIMENS = ("BabelColor Average", "ISO 17321-1")
"""The chart itself, by turns: the average that it is read by, and one that was measured alone."""

WAYS = (
    "card",
    "two cards",
    "chart",
    "chart, light not stated",
    "two cards, light not stated",
)
"""What a photo of ``try_ways`` is read by."""
NOTHING = "nothing"
COLOURED = (
    "white and coloured card, light not stated",
    "white, grey and coloured card, light not stated",
)
"""The same with a coloured card of known colour, which lies in these photos alone."""

_CHART, _CHIP = (0.05, 0.08, 0.60, 0.63), (0.66, 0.13, 0.94, 0.566)
_WHITE, _GREY = (0.66, 0.69, 0.80, 0.94), (0.80, 0.69, 0.94, 0.94)
GREY_REFLECTANCE = 0.18


_PAPER = (0.05, 0.72, 0.25, 0.94)
_VIVID, _NOT_DARK = 30.0, 30.0
"""Chroma and L* from which a sample may be the coloured card."""

_RETAKE = ("burnt out", "damaged", "even colour", "lighter than white", "like wood")


def try_ways(
    rng, reflectance, light, phone, processing=None, *, ways=WAYS, size=(480, 360), **disturbances
):
    """One photo with a chart, a white and a grey card and a chip, read in all ``WAYS``.

    Args:
        rng: all chance comes from it.
        reflectance: of the chip.
        light: name of a CIE light.
        phone: the camera.
        processing: what it does after the sensor; where None the file is said to be plain.
        ways: some of ``WAYS``, ``NOTHING`` and ``COLOURED``.
        size: of the photo.
        disturbances: as ``camera.photograph`` takes them.

    Returns:
        Trials by way.
    """
    turned = rng.random() < 0.5
    chart, chip, white, grey = (
        (1.0 - r, t, 1.0 - le, b) if turned else (le, t, r, b)
        for le, t, r, b in (_CHART, _CHIP, _WHITE, _GREY)
    )
    ground = camera.neutral(0.45) if rng.random() < 0.5 else camera.training_samples()[20]
    scene = camera.Scene(*size, ground)
    scene.add_chart(camera.chart_spectra(SPECIMENS[rng.integers(2)]), chart)
    cards = []
    for box, share in ((white, CARD_REFLECTANCE), (grey, GREY_REFLECTANCE)):
        spectrum = camera.neutral(share)
        scene.add_box(spectrum, box)
        cards.append(Card.measured(_inner(box), camera.true_lab(spectrum)))
    scene.add_box(reflectance, chip)
    left, top, right, bottom = chart
    corners = Chart(((left, top), (right, top), (right, bottom), (left, bottom)))
    true, stated = camera.true_lab(reflectance), STATED[light]
    options = {
        NOTHING: {"light": stated},
        "card": {"cards": cards[:1], "light": stated},
        "two cards": {"cards": cards, "light": stated},
        "chart": {"chart": corners, "light": stated},
        "chart, light not stated": {"chart": corners},
        "two cards, light not stated": {"cards": cards},
    }
    if set(ways) & set(COLOURED):
        samples = camera.training_samples()
        lab = camera.true_lab(samples)
        vivid = samples[(np.hypot(lab[:, 1], lab[:, 2]) > _VIVID) & (lab[:, 0] > _NOT_DARK)]
        spectrum = vivid[rng.integers(len(vivid))]
        left, top, right, bottom = _PAPER
        box = (1.0 - right, top, 1.0 - left, bottom) if turned else _PAPER
        scene.add_box(spectrum, box)
        paper = Card.measured(_inner(box), camera.true_lab(spectrum))
        options |= {
            COLOURED[0]: {"cards": [cards[0], paper]},
            COLOURED[1]: {"cards": [*cards, paper]},
        }
    said = "plain" if processing is None else "unknown"
    for level in (0.8, 0.8, 0.6, 0.6, 0.4, 0.4):
        exposure = {
            "level": (level - 0.1, level + 0.08),
            "quality": int(rng.choice(QUALITIES)),
            "processing": processing,
            **disturbances,
        }
        data = camera.photograph(scene, phone, light, rng, **exposure)
        try:
            picture = load_picture(data)
            found = {
                way: read_colour(picture, _inner(chip), processing=said, **options[way])
                for way in ways
            }
            break
        except InputError as error:
            # Messages say to lower the exposure, or to take the photo again: so do we.
            if not any(word in str(error) for word in _RETAKE):
                raise
    return {n: Trial(float(ciede2000(f.lab, true)), f.radius, f) for n, f in found.items()}


def summary(trials):
    """Median and 95th percentile of the error, share inside the radius, median radius."""
    errors = np.array([t.error for t in trials])
    radii = np.array([t.radius for t in trials])
    return (
        float(np.median(errors)),
        float(np.percentile(errors, 95)),
        float((errors <= radii).mean()),
        float(np.median(radii)),
    )
