"""From what a photo holds to the colours in daylight: light, cast and camera.

With a card the cast is divided out in the numbers of a typical sensor. With a
24-patch chart a root polynomial learns this camera and this light. With neither
the photo is taken at its word.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.colour.space import lab_to_xyz, linear_rgb_to_xyz, xyz_to_linear_rgb
from showthrough.errors import InputError, ProblemList
from showthrough.photo.calibrate.chart import Chart
from showthrough.photo.calibrate.chart_fit import fit_chart, lab_of_linear, root_terms
from showthrough.photo.calibrate.ground import margin, plain_ground
from showthrough.photo.calibrate.shade import (
    LEVELS,
    LightField,
    Patch,
    area_patch,
    fit_light,
    no_light,
    plain_patch,
)
from showthrough.photo.picture.load import Picture
from showthrough.photo.place import Region
from showthrough.photo.sensor import (
    LIGHT_NAMES,
    WARM_BELOW_K,
    LightEstimate,
    beyond_file,
    checked_light,
    correlated_temperature,
    to_daylight,
    to_sensor,
)

WHITE_CARD = (95.0, 0.0, 0.0)
"""A matt white card where nothing is known of it (from memory; real ones are L* 92-97)."""

GREY_CARD = (49.5, 0.0, 0.0)
"""An 18 % grey card: L* of Y = 18 by ISO/CIE 11664-4."""

_UNCALIBRATED = (
    "No card or chart was marked in the picture: the colour is as the phone shows it, uncalibrated."
)
_BY_CHART = (
    "Uneven light was flattened by the chart's own patches alone; a plain sheet around "
    "the chip would show it better."
)
_BY_CARD = (
    "Uneven light was flattened from its slope across the one card and the even regions; "
    "a second card or a plain sheet on the other side would show it better."
)
_BY_GROUND = (
    "Uneven light was flattened by the plain ground around what was marked, taken to be of one "
    "colour and to lie flat with it; where it is not, mark a plain sheet."
)
_FAR_FROM_NEUTRAL = 2.5


@dataclass(frozen=True, slots=True)
class Card:
    """An even white or grey card of known colour."""

    region: Region
    lab: tuple[float, float, float] = WHITE_CARD
    """CIELAB D65 / 2 degrees."""
    assumed: bool = True
    """Whether the colour is a typical one and not this card's own."""

    @classmethod
    def measured(cls, region: Region, lab: Sequence[float] | FloatArray) -> Card:
        """A card whose CIELAB (D65, 2 degrees) is known."""
        return cls(region, (float(lab[0]), float(lab[1]), float(lab[2])), assumed=False)


@dataclass(frozen=True, slots=True)
class Calibration:
    """How to read colours from one photo."""

    basis: str
    """What it rests on: card, chart or none."""
    light: LightEstimate
    field: LightField | None
    """How the light lies; None where nothing in the picture tells."""
    matrix: FloatArray
    """Applied to linear sRGB (3, 3), or to the sensor's root-polynomial terms (3, 6)."""
    residual: float
    """With a chart: median CIEDE2000 of patches predicted from the others; else 0."""
    notes: tuple[str, ...]

    def flatten(self, sensor: FloatArray, x: FloatArray, y: FloatArray) -> FloatArray:
        """Sensor numbers (..., 3) in even light; with a reference also free of its cast."""
        if self.field is None:
            return sensor
        if self.basis == "none":
            return sensor / self.field.shape(x, y)
        return sensor / self.field.gain(x, y)

    def beyond_file(self, even: FloatArray, floored: FloatArray) -> FloatArray:
        """Sensor numbers in even light, shape (3,), with what the file cut off put back."""
        if self.basis == "none" or self.field is None or not floored.any():
            return even
        return beyond_file(even, np.exp(self.field.beta[LEVELS]), floored)

    def finish(self, even: FloatArray) -> FloatArray:
        """Daylight's linear sRGB of sensor numbers in even light, shape (..., 3)."""
        if self.matrix.shape[1] == 6:
            terms = root_terms(even)
        else:
            terms = even @ np.linalg.inv(to_sensor()).T
        return np.asarray(terms @ self.matrix.T, dtype=float)

    def lab(self, even: FloatArray) -> FloatArray:
        """CIELAB D65 of sensor numbers in even light, shape (..., 3)."""
        return lab_of_linear(self.finish(even))


def calibrate(
    picture: Picture,
    *,
    cards: Sequence[Card] = (),
    chart: Chart | None = None,
    sheets: Sequence[Region] = (),
    light: str | None = None,
    chips: Sequence[Region] = (),
) -> Calibration:
    """Learn from a photo's references how to read its colours.

    Args:
        picture: the photo.
        cards: cards of known colour; the first is the main one.
        chart: a 24-patch chart; it outranks the cards, which then only help to
            flatten the light.
        sheets: plain areas of unknown colour that show how the light lies.
        light: kind of light the photo was taken under, a key of ``LIGHT_NAMES``.
        chips: regions that are to be read. Where one is even, it shows how the light
            slopes there, which one reference alone cannot.

    Raises:
        InputError: A reference cannot be used; all problems are listed.
    """
    problems = ProblemList()
    stated = "unknown"
    with problems.collecting():
        stated = checked_light(light)
    patches, labels = _references(picture, cards, chart, sheets, problems)
    problems.raise_if_any()
    given = len(patches)
    ground: list[Patch] = []
    if given or chart:
        beside = [plain_patch(picture, chip) for chip in chips]
        patches += [patch for patch in beside if patch is not None]
        ground = [] if sheets else _ground(picture, cards, chart, chips)
        patches += ground
    labels += ["chips"] * (len(patches) - given)
    if chart is not None:
        origin = chart.region.centre
        shade, notes = no_light(origin, picture.size), list[str]()
        if patches:
            shade, notes = fit_light(patches, labels, picture.size, origin)
        if given == 0:
            notes.append(_BY_GROUND if ground else _BY_CHART)
        return _by_chart(picture, chart, shade, stated, notes)
    field: LightField | None = None
    notes = []
    if patches:
        field, notes = fit_light(patches, labels, picture.size)
    if cards and field is not None:
        if given == 1:
            notes.append(_BY_GROUND if ground else _BY_CARD)
        return _by_card(cards, field, stated, notes)
    return Calibration(
        "none",
        LightEstimate(stated, None, stated),
        field,
        np.eye(3),
        0.0,
        (
            *notes,
            _UNCALIBRATED,
        ),
    )


def _references(
    picture: Picture,
    cards: Sequence[Card],
    chart: Chart | None,
    sheets: Sequence[Region],
    problems: ProblemList,
) -> tuple[list[Patch], list[str]]:
    """Cards and sheets as even areas, and their names; what cannot be used is a problem."""
    targets: list[tuple[Region, str, FloatArray | None]] = []
    for i, card in enumerate(cards):
        own = xyz_to_linear_rgb(lab_to_xyz(card.lab)) @ to_sensor().T
        if not np.isfinite(card.lab).all() or not 5.0 <= card.lab[0] <= 100.0 or own.min() <= 0:
            problems.add(
                f"cards[{i}].lab",
                card.lab,
                "the card's colour must be a CIELAB colour that a card can have, L* 5 to 100",
            )
            continue
        targets.append((card.region, f"cards[{i}]", None if chart else own))
    targets += [(region, f"sheets[{i}]", None) for i, region in enumerate(sheets)]
    patches, labels = [], []
    for region, label, known in targets:
        with problems.collecting():
            patches.append(area_patch(picture, region, label, known))
            labels.append(label)
    return patches, labels


def _ground(
    picture: Picture, cards: Sequence[Card], chart: Chart | None, chips: Sequence[Region]
) -> list[Patch]:
    """The plain ground around references and chips; nothing where there are no chips."""
    if not chips:
        return []
    clear = margin(None, picture.size)
    marks = [(region, clear) for region in [*(card.region for card in cards), *chips]]
    if chart is not None:
        marks.append((chart.region, margin(chart.region, picture.size)))
    return plain_ground(picture, marks)


def _by_chart(
    picture: Picture,
    chart: Chart,
    field: LightField,
    stated: str,
    notes: list[str],
) -> Calibration:
    fit = fit_chart(picture, chart, field)
    return Calibration(
        "chart",
        LightEstimate(stated, None, stated),
        fit.field,
        fit.matrix,
        fit.residual,
        (*notes, *fit.notes),
    )


def _by_card(
    cards: Sequence[Card], field: LightField, stated: str, notes: list[str]
) -> Calibration:
    gain = np.exp(field.beta[LEVELS])
    cast = linear_rgb_to_xyz(gain @ np.linalg.inv(to_sensor()).T)
    kelvin = correlated_temperature(cast) if cast.min() > 0.0 else None
    used = stated
    if stated == "unknown" and kelvin is not None and kelvin < WARM_BELOW_K:
        used = "bulb"
        notes.append(
            f"The card looks as warm as {kelvin:.0f} K: the light is taken as a warm bulb's."
        )
    if gain.max() / gain.min() > _FAR_FROM_NEUTRAL:
        notes.append(
            "The area marked as the card has a strong cast: check that it is the card, and that "
            "the card's colour is right."
        )
    if cards[0].assumed:
        level = ", ".join(f"{v:g}" for v in cards[0].lab)
        notes.append(f"The card is taken as CIELAB {level} (a typical card, not measured).")
    if stated == "unknown" and used == "unknown":
        words = "; ".join(f"{k}: {v}" for k, v in LIGHT_NAMES.items() if k != "unknown")
        notes.append(f"Saying which light it was narrows the reading ({words}).")
    return Calibration(
        "card", LightEstimate(stated, kelvin, used), field, to_daylight(used), 0.0, tuple(notes)
    )


def checked_references(
    cards: Sequence[Card], chart: Chart | None, sheets: Sequence[Region]
) -> dict[str, Region]:
    """The references' regions by the names of their fields."""
    named = {f"cards[{i}]": card.region for i, card in enumerate(cards)}
    named |= {f"sheets[{i}]": region for i, region in enumerate(sheets)}
    if chart is not None:
        if len(chart.corners) != 4:
            raise InputError.at("chart.corners", chart.corners, "a chart has four corners")
        named["chart"] = chart.region
    return named
