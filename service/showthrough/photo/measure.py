"""The colour of marked regions of a photo, each with how sure it is."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from showthrough.colour.difference import ciede2000
from showthrough.colour.lights import FloatArray
from showthrough.colour.space import linear_rgb_to_xyz
from showthrough.errors import ProblemList
from showthrough.photo.calibrate.balance import Calibration, Card, calibrate, checked_references
from showthrough.photo.calibrate.chart import Chart
from showthrough.photo.calibrate.chart_fit import lab_of_linear
from showthrough.photo.calibrate.light import under
from showthrough.photo.calibrate.marks import check_swap
from showthrough.photo.calibrate.radius import (
    joined,
    learned_radius,
    lightness_part,
    mixed_radius,
    processing_part,
)
from showthrough.photo.picture.load import Picture, load_picture
from showthrough.photo.place import Region, check_regions
from showthrough.photo.sample import Mean, robust_mean, usable
from showthrough.photo.sensor import LightEstimate

_WEAVE = 16.0
"""Pixels that share one grain of noise after blur, demosaicing and JPEG (from memory)."""

_MUCH_SET_ASIDE = 0.15
_OFTEN_CLIPPED_LOW = 0.3
_CLIPPED_LOW_WIDENS = 0.3
"""A colour the file could not hold is surer to be off (judged on the simulated photos)."""

_UNEVEN_LIGHT = 0.02
"""Uncertainty of ln(light) from which it is worth a sentence: 2 % of light."""

_MANY_COLOURS = 6.0
"""Spread of a region in CIEDE2000 from which it is not one colour."""

_NOT_EVEN = (
    "The area read is not one even colour: this is its mean, and the colours in it lie further "
    "from it than stated. Mark, or cut out, the chip alone."
)
_WARM = "bulb"


@dataclass(frozen=True, slots=True)
class PhotoColour:
    """A colour read from a photo."""

    lab: tuple[float, float, float]
    """CIELAB D65, 2 degrees."""
    radius: float
    """The true colour is within this CIEDE2000 in about 95 of 100 cases."""
    basis: str
    """What it rests on: card, chart or none."""
    light: LightEstimate
    """What is known of the light."""
    notes: tuple[str, ...]
    """Sentences for the painter."""
    clipped_low: float
    """Share of the region with a channel at its least number: outside what the file can hold."""
    pixels: int
    """Pixels that the colour is the mean of."""
    rejected: float
    """Share of the region set aside as glare, dust or burnt out."""
    doubts: dict[str, float]
    """Parts of the radius in CIEDE2000: ``camera``, ``processing``, ``light``, ``noise``.

    The light's part is that of its fall-off; its colour is the camera's.
    """
    residual: float
    """With a chart: median CIEDE2000 of its patches, each told from the others; else 0."""
    spread: float = 0.0
    """68 % of the region's pixels are within this CIEDE2000 of the colour."""
    bend: float = 0.0
    """With cards: CIEDE2000 that the phone's tone curve may still move the colour."""
    even: tuple[float, float, float] = (1.0, 1.0, 1.0)
    """Sensor numbers in even light, white at 1; above 1 it is lighter than white can be."""
    processing: str = "unknown"
    """How the file was said to be made, a key of ``PROCESSING``."""


def read_colours(
    picture: Picture,
    regions: Mapping[str, Region],
    *,
    cards: Sequence[Card] = (),
    chart: Chart | None = None,
    sheets: Sequence[Region] = (),
    light: str | None = None,
    processing: str = "unknown",
    free: Collection[str] = (),
) -> dict[str, PhotoColour]:
    """Read the colours of regions of one photo.

    Args:
        picture: the photo.
        regions: what to read, by the name that messages use.
        cards: cards of known colour; the first is the main one.
        chart: a 24-patch chart; it outranks the cards.
        sheets: plain areas of unknown colour that show how the light lies.
        light: kind of light, a key of ``LIGHT_NAMES``; None where it is not known.
        processing: how the file was made, a key of ``PROCESSING``.
        free: names of regions that may lie over a reference.

    Raises:
        InputError: Regions or references cannot be used; all problems are listed.
    """
    check_regions(picture.size, regions, checked_references(cards, chart, sheets), free=free)
    calibration = calibrate(
        picture,
        cards=cards,
        chart=chart,
        sheets=sheets,
        light=light,
        processing=processing,
        chips=[*regions.values()],
    )
    problems = ProblemList()
    found = {}
    for name, region in regions.items():
        with problems.collecting():
            found[name] = read_region(picture, region, calibration, name)
    problems.raise_if_any()
    if calibration.basis == "card":
        for name, region in regions.items():
            _check_light(found[name], calibration, region, cards[0].region, name)
    return found


def _check_light(
    colour: PhotoColour, calibration: Calibration, chip: Region, card: Region, field: str
) -> None:
    """Refuse a chip that reads lighter than white: it was taken for the card."""
    if calibration.anchor is not None:
        check_swap(
            chip,
            card,
            field,
            float(linear_rgb_to_xyz(calibration.finish(np.array(colour.even)))[1]) / 100.0,
            _light_doubt(calibration, chip),
        )


def read_colour(
    picture: Picture,
    region: Region,
    *,
    cards: Sequence[Card] = (),
    chart: Chart | None = None,
    sheets: Sequence[Region] = (),
    light: str | None = None,
    processing: str = "unknown",
) -> PhotoColour:
    """The same for a single region."""
    found = read_colours(
        picture,
        {"region": region},
        cards=cards,
        chart=chart,
        sheets=sheets,
        light=light,
        processing=processing,
    )
    return found["region"]


def read_swatch_image(data: bytes, *, name: str = "photo") -> PhotoColour:
    """The colour of a picture that shows nothing but a chip, uncalibrated.

    Raises:
        ImageError: The picture cannot be read or carries no colour.
    """
    picture = load_picture(data, name=name)
    return read_colour(picture, Region.rectangle(0.1, 0.1, 0.9, 0.9))


def read_region(
    picture: Picture, region: Region, calibration: Calibration, field: str = "region"
) -> PhotoColour:
    """Read one region of a photo whose calibration is known.

    Raises:
        ImageError: Too much of the region is burnt out.
    """
    pixels = usable(picture, region, field)
    even = calibration.flatten(pixels.values, pixels.x, pixels.y)
    mean = robust_mean(even, _WEAVE)
    found = replace(mean, values=calibration.beyond_file(mean.values, pixels.floored))
    colour = judged(
        picture,
        calibration,
        found,
        _light_doubt(calibration, region),
        pixels.clipped_high,
        pixels.clipped_low,
    )
    each = calibration.lab(even[:: max(1, even.shape[0] // 5000)])
    delta_e = ciede2000(each, calibration.lab(mean.values))
    spread = float(np.quantile(delta_e, 0.68))
    notes = (*colour.notes, _NOT_EVEN) if spread > _MANY_COLOURS else colour.notes
    return replace(colour, spread=spread, notes=notes)


def judged(
    picture: Picture,
    calibration: Calibration,
    mean: Mean,
    light_doubt: float,
    clipped_high: float = 0.0,
    clipped_low: float = 0.0,
) -> PhotoColour:
    """A colour and how sure it is, from a mean of sensor numbers in even light.

    Args:
        picture: the photo, for its notes.
        calibration: how its colours are read.
        mean: of the region's pixels.
        light_doubt: standard deviation of ln(light) at the region.
        clipped_high: share of the region that is burnt out.
        clipped_low: share of it with a channel at its least number.
    """
    lab = calibration.lab(mean.values)
    lab[0] = min(float(lab[0]), 100.0)
    notes = list(calibration.notes)
    rejected = 1.0 - float(mean.kept.mean()) * (1.0 - clipped_high)
    if rejected > _MUCH_SET_ASIDE:
        notes.append(f"{rejected:.0%} of the region was set aside as glare, dust or burnt out.")
    if light_doubt > _UNEVEN_LIGHT and calibration.basis != "none":
        notes.append(
            f"The light at this place is known to {2 * light_doubt:.0%} only: put the reference "
            "nearer, or show a plain sheet on both sides."
        )
    if clipped_low > _OFTEN_CLIPPED_LOW:
        notes.append(
            "The colour is more vivid or darker than the picture file can hold; the true one may "
            "be stronger."
        )
    learned = _learned(calibration, mean.values, lab)
    bend = float(ciede2000(calibration.lab(calibration.bent(mean.values)), lab))
    camera = learned * (1.0 + _CLIPPED_LOW_WIDENS * clipped_low)
    doubts = {
        "camera": camera,
        "processing": 0.0
        if calibration.processing == "plain"
        else processing_part(calibration.rests_on, camera, bend, calibration.residual),
        "light": lightness_part(lab, light_doubt),
        "noise": _noise_part(calibration, mean.values, mean.error),
    }
    radius = joined(*doubts.values())
    if calibration.rests_on == "card" and calibration.processing != "plain":
        plain = joined(*(part for name, part in doubts.items() if name != "processing"))
        notes.append(
            "A phone bends the contrast of its pictures and one card cannot show how: the colour "
            f"is known within {radius:.1f}, instead of {plain:.1f} from a plain file (raw "
            "converter, processing off, and said so). A grey card beside the white one, or a "
            "chart, narrows it."
        )
    if calibration.basis == "card" and calibration.light.used == _WARM:
        daylight = learned_radius("card", "daylight", lab)
        best = joined(daylight, doubts["light"], doubts["noise"])
        notes.append(
            "Under warm light with a card alone the colour is uncertain: daylight would be better, "
            f"within about {best:.1f} instead of {radius:.1f} (colour difference)."
        )
    return PhotoColour(
        lab=(float(lab[0]), float(lab[1]), float(lab[2])),
        radius=radius,
        basis=calibration.basis,
        light=calibration.light,
        notes=(*picture.notes, *notes),
        clipped_low=clipped_low,
        pixels=int(mean.kept.sum()),
        rejected=rejected,
        doubts=doubts,
        residual=calibration.residual,
        bend=bend,
        even=(float(mean.values[0]), float(mean.values[1]), float(mean.values[2])),
        processing=calibration.processing,
    )


def _light_doubt(calibration: Calibration, region: Region) -> float:
    """Standard deviation of ln(light) at a region."""
    if calibration.field is None or calibration.basis == "none":
        return 0.0
    return calibration.field.uncertainty(*region.centre)


def _learned(calibration: Calibration, even: FloatArray, lab: FloatArray) -> float:
    """The learned part of the radius, over all lights that it may have been."""
    light = calibration.light
    if not light.chances:
        return learned_radius(calibration.basis, light.used, lab)
    kinds = []
    for kind, chance in light.chances.items():
        here = lab_of_linear(under(kind, even))
        delta_e = float(ciede2000(lab, here))
        kinds.append((chance, joined(learned_radius(calibration.basis, kind, here), delta_e)))
    return mixed_radius(kinds)


def _noise_part(calibration: Calibration, even: FloatArray, error: FloatArray) -> float:
    """CIEDE2000 from the noise of the region's mean, channel by channel, 95 of 100."""
    lab = calibration.lab(even)
    moved = calibration.lab(even + 2.0 * np.diag(error))
    return joined(*(float(v) for v in ciede2000(moved, lab)))
