"""From what a photo holds to the colours in daylight: light, cast and camera.

With a card the cast is divided out in the numbers of a typical sensor. With a
24-patch chart a root polynomial learns this camera and this light. With neither
the photo is taken at its word.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.colour.space import lab_to_xyz, linear_rgb_to_xyz, xyz_to_linear_rgb
from showthrough.errors import ImageError, InputError, ProblemList
from showthrough.photo.calibrate.chart import Chart, chart_patches
from showthrough.photo.calibrate.chart_fit import ChartFit, fit_chart, lab_of_linear, root_terms
from showthrough.photo.calibrate.ground import margin, plain_ground
from showthrough.photo.calibrate.light import chances_of, in_words, mean_way, taken_as, weighed
from showthrough.photo.calibrate.marks import check_cards
from showthrough.photo.calibrate.radius import processing_part
from showthrough.photo.calibrate.shade import (
    LEVELS,
    LightField,
    Patch,
    area_patch,
    fit_light,
    no_light,
    plain_patch,
)
from showthrough.photo.calibrate.tone import PLAIN, Tone
from showthrough.photo.calibrate.tone_fit import bend_of_cards
from showthrough.photo.picture.load import Picture
from showthrough.photo.place import MIN_PIXELS, Region
from showthrough.photo.sensor import (
    LIGHT_NAMES,
    WARM_BELOW_K,
    LightEstimate,
    beyond_file,
    checked_light,
    correlated_temperature,
    to_sensor,
)

WHITE_CARD = (95.0, 0.0, 0.0)
"""A matt white card where nothing is known of it (from memory; real ones are L* 92-97)."""

GREY_CARD = (49.5, 0.0, 0.0)
"""An 18 % grey card: L* of Y = 18 by ISO/CIE 11664-4."""

BLACK_CARD = (9.0, 0.0, 0.0)
"""The black of a drawdown card: L* of Y = 1, the most that ASTM D2805 allows."""

DRAWDOWN_WHITE = (92.0, 0.0, 1.0)
"""Its white (from memory; ASTM D2805 asks for L* 91 at least)."""

_DARKEST_KNOWN = 30.0
"""L* below which a card that was not measured tells of the tone curve alone, and roughly."""

_MEASURED, _TYPICALLY, _ROUGHLY = 0.02, 0.045, 0.3
"""Uncertainty of ln of a card's light: of a measured one, of a usual white or grey one, and of a
usual black one, which reflects 0.5 to 1 % (from memory)."""

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
_ON_TRUST = (
    "With one card it was taken on trust that the mark lies on the card and that the card has the "
    "colour stated: pale wood or yellowed paper in its place tints all colours, unnoticed. A "
    "second card (grey beside white) would show it."
)
_PLAIN_FILE = "The file is taken as plain, as stated: no tone curve and no other processing."
_FAR_FROM_NEUTRAL = 2.5

_LEVELS_APART = 15.0
"""Difference in L* from which two cards tell of the tone curve."""

_COLOURED = 15.0
"""Chroma in CIELAB from which a card is coloured; whites and greys stay well below 10."""

_STRONG_CURVE = 25.0 / 255.0
"""The strongest S-shaped bend that a phone is taken to make (from memory)."""

_UNSEEN = 0.3
"""How far a bend of the light that only card and chip tell of may be off, over the bend itself.

Under a lamp 0.7 to 1.4 picture widths away, card and chip in opposite corners of grained wood, it
was off by 0.27 (root mean square, simulated).
"""

_TOO_BRIGHT = 4.0
"""Times the file's white from which an area is no such card, whatever the phone did."""

_OTHER_LIGHT = 1.4
"""How much worse than the best kind of light the stated one may fit before it is doubted."""

PROCESSING = {
    "unknown": "not stated: a phone's, with a tone curve",
    "plain": "a plain file: raw converter, processing off",
}
"""What can be stated of how the file was made, as words a user reads."""


@dataclass(frozen=True, slots=True)
class Card:
    """An even white or grey card of known colour."""

    region: Region
    lab: tuple[float, float, float] = WHITE_CARD
    """CIELAB D65 / 2 degrees."""
    assumed: bool = True
    """Whether the colour is a typical one and not this card's own."""

    @property
    def rough(self) -> bool:
        """Whether its colour is known too roughly for anything but the tone curve."""
        return self.assumed and self.lab[0] < _DARKEST_KNOWN

    @property
    def misses(self) -> float:
        """Uncertainty of ln of its light beside another card, for the search of a tone curve."""
        return _ROUGHLY if self.rough else _TYPICALLY if self.assumed else _MEASURED

    @property
    def own(self) -> FloatArray:
        """The card's colour as numbers of the typical sensor in full light, shape (3,)."""
        return np.asarray(xyz_to_linear_rgb(lab_to_xyz(self.lab)) @ to_sensor().T, dtype=float)

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
    processing: str = "unknown"
    """What was said of how the file was made, a key of ``PROCESSING``."""
    tone: Tone = PLAIN
    """How the phone bent the picture, as found; none where nothing tells."""
    bend_spread: float = 0.0
    """With cards: how far an S-shaped bend may still be off, 95 of 100."""
    two_levels: bool = False
    """Whether cards of unlike lightness told of the bend."""
    anchor: FloatArray | None = None
    """With cards: sensor numbers of the main one in even light, shape (3,)."""

    @property
    def rests_on(self) -> str:
        """What tells of the phone's bends: card, cards (of unlike lightness), chart or none."""
        return "cards" if self.two_levels else self.basis

    def flatten(self, sensor: FloatArray, x: FloatArray, y: FloatArray) -> FloatArray:
        """Sensor numbers (..., 3) in even light; with a reference also free of its cast."""
        sensor = self.tone.of_sensor(sensor)
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

    def bent(self, even: FloatArray) -> FloatArray:
        """Sensor numbers of a colour, shape (3,), had the phone bent it ``bend_spread`` more."""
        if self.anchor is None or self.field is None or not self.bend_spread:
            return even
        more, white = Tone((0.0, self.bend_spread)), np.exp(self.field.beta[LEVELS])
        moved, held = more.of_sensor(np.stack([even * white, self.anchor * white]))
        return np.asarray(moved / held * self.anchor, dtype=float)

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
    processing: str = "unknown",
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
        processing: how the file was made, a key of ``PROCESSING``.
        chips: regions that are to be read. Where one is even, it shows how the light
            slopes there, which one reference alone cannot.

    Raises:
        InputError: A reference cannot be used; all problems are listed.
    """
    problems = ProblemList()
    stated = "unknown"
    with problems.collecting():
        stated = checked_light(light)
    with problems.collecting():
        checked_processing(processing)
    shown = _Shown(picture, cards, chart, sheets, chips)
    found = _seen(shown, problems)
    problems.raise_if_any()
    plain = PLAIN if processing == "plain" else None
    notes = [_PLAIN_FILE] if processing == "plain" else []
    if chart is not None:
        return _by_chart(shown, chart, found, stated, plain, notes)
    if cards:
        return _by_card(shown, found, stated, plain, notes)
    field: LightField | None = None
    if found.patches:
        field, told = fit_light(found.patches, found.labels, picture.size)
        notes += told
    return Calibration(
        "none",
        LightEstimate(stated, None, stated),
        field,
        np.eye(3),
        0.0,
        (*notes, _UNCALIBRATED),
        processing,
    )


def serves(picture: Picture, card: Card) -> bool:
    """Whether an area is even, and bright but not too bright, so that it may be this card."""
    if card.region.window(picture.size).inside.sum() < MIN_PIXELS:
        return False
    try:
        patch = area_patch(picture, card.region, "card", card.own)
    except ImageError:
        return False
    return float(np.exp(np.median(patch.log_light))) < _TOO_BRIGHT


def checked_processing(processing: str) -> None:
    """Raises InputError for a word that is not known."""
    if processing not in PROCESSING:
        raise InputError.at(
            "processing",
            processing,
            f"processing {processing!r} is not known; use one of {', '.join(PROCESSING)}",
        )


@dataclass(frozen=True, slots=True)
class _Shown:
    """A picture and what was marked in it."""

    picture: Picture
    cards: Sequence[Card]
    chart: Chart | None
    sheets: Sequence[Region]
    chips: Sequence[Region]


@dataclass(frozen=True, slots=True)
class _Seen:
    """Even areas of a picture."""

    patches: list[Patch]
    labels: list[str]
    given: int
    """How many of them were marked as reference; the first ones."""
    ground: bool
    """Whether there is plain ground among them."""


def _seen(shown: _Shown, problems: ProblemList) -> _Seen:
    """All that tells how the light lies."""
    patches, labels = _references(shown, problems)
    given, ground = len(patches), list[Patch]()
    if not problems.problems and (given or shown.chart):
        beside = [plain_patch(shown.picture, chip) for chip in shown.chips]
        patches += [patch for patch in beside if patch is not None]
        ground = [] if shown.sheets else _ground(shown)
        patches += ground
    labels += ["chips"] * (len(patches) - given)
    return _Seen(patches, labels, given, bool(ground))


def _again(shown: _Shown, tone: Tone) -> tuple[_Shown, _Seen]:
    """The same of the picture before the phone bent it."""
    straight = replace(shown, picture=tone.straightened(shown.picture))
    return straight, _seen(straight, ProblemList())


def _references(shown: _Shown, problems: ProblemList) -> tuple[list[Patch], list[str]]:
    """Cards and sheets as even areas, and their names; what cannot be used is a problem."""
    targets: list[tuple[Region, str, FloatArray | None]] = []
    for i, card in enumerate(shown.cards):
        own = card.own
        if not np.isfinite(card.lab).all() or not 5.0 <= card.lab[0] <= 100.0 or own.min() <= 0:
            problems.add(
                f"cards[{i}].lab",
                card.lab,
                "the card's colour must be a CIELAB colour that a card can have, L* 5 to 100",
            )
            continue
        targets.append((card.region, f"cards[{i}]", None if shown.chart else own))
    targets += [(region, f"sheets[{i}]", None) for i, region in enumerate(shown.sheets)]
    patches, labels = [], []
    for region, label, known in targets:
        with problems.collecting():
            patches.append(area_patch(shown.picture, region, label, known))
            labels.append(label)
    return patches, labels


def _ground(shown: _Shown) -> list[Patch]:
    """The plain ground around references and chips; nothing where there are no chips."""
    if not shown.chips:
        return []
    clear = margin(None, shown.picture.size)
    marks = [(r, clear) for r in [*(card.region for card in shown.cards), *shown.chips]]
    if shown.chart is not None:
        wider = margin(shown.chart.region, shown.picture.size)
        marks.append((shown.chart.region, wider))
    return plain_ground(shown.picture, marks)


def _by_chart(
    shown: _Shown, chart: Chart, seen: _Seen, stated: str, plain: Tone | None, notes: list[str]
) -> Calibration:
    origin, chips = chart.region.centre, chart_patches(shown.picture, chart)

    def fitted(seen: _Seen) -> tuple[ChartFit, list[str]]:
        shade, told = no_light(origin, shown.picture.size), list[str]()
        if seen.patches:
            shade, told = fit_light(seen.patches, seen.labels, shown.picture.size, origin)
        return fit_chart(shown.picture, chart, shade, plain, chips), told

    fit, told = fitted(seen)
    if plain is None and seen.patches:
        # Through the curve that was found the ground shows the light as it lay.
        seen = _again(shown, fit.tone)[1]
        fit, told = fitted(seen)
    notes = [*notes, *told]
    if seen.given == 0:
        notes.append(_BY_GROUND if seen.ground else _BY_CHART)
    if plain is None:
        bend = 255.0 * float(np.abs(fit.tone.shift()).max())
        notes.append(
            f"A tone curve was fitted to the chart and taken off: up to {bend:.0f} of 255 levels "
            "(up to about 12 are noise, and no curve of the phone's)."
        )
    used, told = _light_of(fit.like, stated)
    notes += told
    return Calibration(
        "chart",
        LightEstimate(stated, None, used),
        fit.field,
        fit.matrix,
        fit.residual,
        (*notes, *fit.notes),
        "unknown" if plain is None else "plain",
        fit.tone,
    )


def _light_of(like: dict[str, float], stated: str) -> tuple[str, list[str]]:
    """The kind of light that a reading by several known colours is made for, and what to say.

    Args:
        like: how badly a typical camera under each kind of light fits them.
        stated: what the user said.
    """
    daylight = min(like[kind] for kind in ("sun", "cloud", "shade"))
    kinds = {"daylight": daylight, "led": like["led"], "bulb": like["bulb"]}
    best = min(kinds, key=lambda kind: kinds[kind])
    if stated == "unknown":
        words = LIGHT_NAMES[best]
        return best, [f"The light was not stated; its colours are those of {words}."]
    if (kinds | like)[stated] > _OTHER_LIGHT * kinds[best]:
        said, looks = LIGHT_NAMES[stated], LIGHT_NAMES[best]
        return stated, [f"Stated was {said}; the colours look like {looks}: check which it was."]
    return stated, []


def _by_card(
    shown: _Shown, seen: _Seen, stated: str, plain: Tone | None, notes: list[str]
) -> Calibration:
    cards, own = shown.cards, [card.own for card in shown.cards]
    unlike = _coloured(cards)
    sure = [i for i, card in enumerate(cards) if not (card.rough or unlike[i])]
    check_cards(
        shown.picture,
        [(cards[i].region, own[i], cards[i].assumed) for i in sure],
        [seen.patches[i] for i in sure],
    )
    tone, spread = plain or PLAIN, 0.0
    if plain is None:
        tone, spread = _bend(shown, seen, unlike)
        if not tone.none:
            seen = _again(shown, tone)[1]
    patches = [
        replace(patch, known=patch.known and (i >= len(cards) or i in sure))
        for i, patch in enumerate(seen.patches)
    ]
    field, told = fit_light(patches, seen.labels, shown.picture.size)
    if not (seen.ground or shown.sheets):
        field = replace(field, unseen=_UNSEEN)
    notes = [*notes, *told]
    if not tone.none:
        bend = float(np.abs(tone.shift()).max())
        notes.append(
            f"The two cards show that the phone bent the contrast by about {255 * bend:.0f} of 255 "
            "levels: an S-shaped curve of that strength was taken off."
        )
    if seen.given == 1:
        notes.append(_BY_GROUND if seen.ground else _BY_CARD)
    if len(cards) == 1:
        notes.append(_ON_TRUST)
    light, told = _light_by_cards(shown, patches, unlike, field, stated, plain)
    notes += told
    return Calibration(
        "card",
        light,
        field,
        mean_way(light.chances),
        0.0,
        tuple(notes),
        "unknown" if plain is None else "plain",
        tone,
        spread,
        plain is None and spread < _STRONG_CURVE,
        own[unlike.index(False)],
    )


def _light_by_cards(
    shown: _Shown,
    patches: Sequence[Patch],
    unlike: Sequence[bool],
    field: LightField,
    stated: str,
    plain: Tone | None,
) -> tuple[LightEstimate, list[str]]:
    """Which light it may have been, and what to say of it and of the main card."""
    cards, notes = shown.cards, list[str]()
    gain = np.exp(field.beta[LEVELS])
    cast = linear_rgb_to_xyz(gain @ np.linalg.inv(to_sensor()).T)
    kelvin = correlated_temperature(cast) if cast.min() > 0.0 else None
    chances = chances_of(stated, shown.picture.light)
    if stated == "unknown" and kelvin is not None and kelvin < WARM_BELOW_K:
        chances = {"bulb": 1.0}
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
    doubt = 0.0 if plain is not None else processing_part("cards", 0.0, 0.0, 0.0)
    for patch, card, coloured in zip(patches, cards, unlike, strict=False):
        if coloured:
            seen = np.median(patch.log_light - np.log(field.gain(*patch.place.T)), axis=0)
            chances = weighed(chances, np.exp(seen) * card.own, np.array(card.lab), doubt)
    used = taken_as(chances, stated)
    if stated == "unknown":
        notes.append(in_words(chances))
    if used == "unknown":
        words = "; ".join(v for k, v in LIGHT_NAMES.items() if k != "unknown")
        notes.append(f"Saying which light it was narrows the reading ({words}).")
    return LightEstimate(stated, kelvin, used, chances), notes


def _coloured(cards: Sequence[Card]) -> list[bool]:
    """Which cards are coloured ones beside a neutral one: what they show hangs on the light."""
    chroma = [float(np.hypot(*card.lab[1:])) for card in cards]
    return [least < _COLOURED <= c for least in [min(chroma)] for c in chroma]


def _bend(shown: _Shown, seen: _Seen, unlike: Sequence[bool]) -> tuple[Tone, float]:
    """The S-shaped curve that cards of unlike lightness tell, and how far it may be off."""
    both = list(zip(shown.cards, seen.patches, unlike, strict=False))
    told = [(card, patch) for card, patch, coloured in both if not coloured]
    lightness = [card.lab[0] for card, _ in told]
    if max(lightness) - min(lightness) < _LEVELS_APART:
        return PLAIN, _STRONG_CURVE
    # Levels of cards are what is asked for: the light is found without them.
    free = [replace(patch, known=False) for patch in seen.patches]
    field, _ = fit_light(free, seen.labels, shown.picture.size, _middle(seen.patches[0]))
    strength, spread = bend_of_cards(
        [patch for _, patch in told],
        [card.own for card, _ in told],
        field,
        [card.misses for card, _ in told],
    )
    return Tone((0.0, strength)), 2.0 * spread


def _middle(patch: Patch) -> tuple[float, float]:
    """The middle of an even area."""
    x, y = patch.place.mean(axis=0)
    return float(x), float(y)


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
