"""What a page with a photo asks: places marked in the picture, fields, the job carried along.

A place is typed, or marked on the picture, in percent of its width and height. The photo
itself is read from memory and kept nowhere.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Literal

from fastapi import Request

from showthrough.errors import InputError, Problem, ProblemList, shown
from showthrough.jobs.photos.references import checked
from showthrough.jobs.schema.base import Model
from showthrough.photo.sensor import LIGHT_NAMES
from showthrough.web.api.photos import MOST_BODY_BYTES
from showthrough.web.body import parts_of
from showthrough.web.forms.paths import Fields, fields_of, pairs_of

SIDES = ("left", "top", "right", "bottom")
CORNERS = ("brown", "bluish green", "black", "white")
"""Corner patches of a chart, clockwise from its first."""

_MOST_FIELDS = 400
_MOST_FIELD_BYTES = 500_000


Choices = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Field:
    """One input beside the job."""

    name: str
    path: str
    """In the request."""
    label: str
    kind: Literal["text", "colour", "number", "percent", "choice", "tick"] = "text"
    unit: str = ""
    hint: str = ""
    choices: Choices = ()
    """Value and words; the first is the default."""
    told: str = ""

    @property
    def default(self) -> str:
        """What the field holds where nothing was said."""
        return self.choices[0][0] if self.choices else ""


@dataclass(frozen=True, slots=True)
class Mend:
    """One problem, where a painter finds it."""

    field: str
    """The input that it belongs to."""
    label: str
    message: str


@dataclass(frozen=True, slots=True)
class Spot:
    """A rectangle that the page asks for."""

    name: str
    label: str
    path: str
    """In the request."""
    hint: str = ""


CARD_KINDS: Choices = (
    ("white", "a white card of unknown make (default)"),
    ("grey", "a grey card of unknown make"),
    ("black", "the black of a card"),
    ("known", "of a known colour, given below"),
)
CARDS = (Spot("card1", "Card", "cards[1].region"), Spot("card2", "Second card", "cards[2].region"))
SHEETS = (Spot("sheet1", "Plain sheet", "sheets[1]"), Spot("sheet2", "Plain sheet 2", "sheets[2]"))
CHART = Spot("chart", "24-patch chart", "chart")
REFERENCE_FIELDS: tuple[Field, ...] = (
    *(
        each
        for n in (1, 2)
        for each in (
            Field(f"card{n}_kind", f"cards[{n}].kind", "What it is", "choice", choices=CARD_KINDS),
            Field(
                f"card{n}_colour",
                f"cards[{n}].colour",
                "Its colour",
                "colour",
                hint="As printed on it or read from it: lab(95.8 -0.6 1.9), Munsell N 8, lrv 90.",
            ),
        )
    ),
    Field("chart_find", "chart.corners", "Find the chart by itself", "tick"),
    Field(
        "light",
        "light",
        "Light",
        "choice",
        choices=(
            ("", "not said (default)"),
            *((key, words) for key, words in LIGHT_NAMES.items() if key != "unknown"),
        ),
    ),
    Field(
        "processing",
        "processing",
        "How the file was made",
        "choice",
        choices=(
            ("", "by a phone or camera, as usual (default)"),
            ("plain", "by a raw converter with all processing off"),
        ),
    ),
)


@dataclass(frozen=True, slots=True)
class Sent:
    """What came with a posted form."""

    values: Mapping[str, str]
    photo: bytes | None = None
    file_name: str = "photo"
    job: Fields = field(default_factory=dict)

    def value(self, name: str, default: str = "") -> str:
        """What a field holds."""
        return self.values.get(name) or default


async def read_sent(request: Request) -> Sent:
    """The parts of a posted form.

    Raises:
        InputError: the body is too large, or no form with files.
    """
    parts = await parts_of(
        request, MOST_BODY_BYTES, files=1, fields=_MOST_FIELDS, field_bytes=_MOST_FIELD_BYTES
    )
    values, photo, name = {}, None, "photo"
    for key, value in parts:
        if isinstance(value, str):
            values[key] = value.strip()
        elif key == "photo" and value.name:
            photo, name = value.content, value.name
    return _exchanged(Sent(values, photo, name, fields_of(pairs_of(values.get("job", "")))))


def _exchanged(sent: Sent) -> Sent:
    """The same with the two marks exchanged that a button without script asks for."""
    names = sent.value("swap").split()
    if len(names) != 2:
        return sent
    held = {
        f"{one}_{side}": sent.value(f"{other}_{side}")
        for one, other in (names, names[::-1])
        for side in SIDES
    }
    return replace(sent, values={**sent.values, **held})


class Asking:
    """Builds a request from what was sent, and knows where each of its problems belongs."""

    def __init__(self, sent: Sent) -> None:
        """Start with nothing asked."""
        self.sent = sent
        self.problems = ProblemList()
        self._at: dict[str, tuple[str, str]] = {}

    def field(self, each: Field, path: str | None = None) -> Any:
        """A field's value for the request; None where nothing was said."""
        self._at[path or each.path] = (each.name, each.told or each.label)
        text = self.sent.value(each.name)
        if not text or (each.choices and text == each.default):
            return None
        if each.kind not in {"number", "percent"}:
            return text
        try:
            number = float(text.removesuffix("%"))
        except ValueError:
            return text
        if each.kind == "percent":
            return number / 100.0
        return int(number) if number.is_integer() else number

    def rectangle(self, spot: Spot, path: str | None = None) -> list[float] | None:
        """A marked rectangle as fractions; None where it is empty or wrong."""
        own = self._own(spot)
        found = self._numbers(own, [(side, f"{spot.name}_{side}") for side in SIDES])
        if found is None:
            # A place in a list of the request is not taken by what is not there.
            self._at.setdefault(path or spot.path, (spot.name, spot.label))
            return None
        self._at[path or spot.path] = (spot.name, spot.label)
        left, right = sorted((found[0], found[2]))
        top, bottom = sorted((found[1], found[3]))
        if left == right or top == bottom:
            self.problems.add(own, "", "has no area: its sides lie on one another")
            return None
        return [left, top, right, bottom]

    def _own(self, spot: Spot) -> str:
        """What problems of a place as it was typed are filed under: the request lacks it."""
        name = f"@{spot.name}"
        self._at[name] = (spot.name, spot.label)
        return name

    def chart_corners(self, own: str) -> list[list[float]] | None:
        """The four corners of a chart."""
        names = [
            (f"{way} of the {patch} corner", f"chart_{axis}{n}")
            for n, patch in enumerate(CORNERS, 1)
            for axis, way in (("x", "across"), ("y", "down"))
        ]
        found = self._numbers(own, names)
        return None if found is None else [found[i : i + 2] for i in range(0, 8, 2)]

    def _numbers(self, own: str, names: Sequence[tuple[str, str]]) -> list[float] | None:
        texts = [(words, self.sent.value(name)) for words, name in names]
        if not any(text for _, text in texts):
            return None
        out: list[float] = []
        wrong = []
        for words, text in texts:
            try:
                percent = float(text.removesuffix("%"))
            except ValueError:
                percent = float("nan")
            if 0.0 <= percent <= 100.0:
                out.append(percent / 100.0)
            elif text:
                wrong.append(f"{words} must be 0 to 100 percent of the picture, not {shown(text)}")
        missing = [words for words, text in texts if not text]
        if missing:
            wrong.append(f"{', '.join(missing)} missing: mark the whole place or none")
        if wrong:
            self.problems.add(own, "", "; ".join(wrong))
        return None if wrong else out

    def references(self, within: str = "") -> dict[str, Any]:
        """Cards, sheets, chart and light, as a request holds them; ``within`` is a prefix."""
        spec = {each.name: each for each in REFERENCE_FIELDS}
        out: dict[str, Any] = {}
        cards: list[dict[str, Any]] = []
        for n, spot in enumerate(CARDS, 1):
            # A second card alone is the first of the request.
            place = f"{within}cards[{len(cards) + 1}]"
            region = self.rectangle(spot, place)
            kind = self.sent.value(f"card{n}_kind", "white")
            each = spec[f"card{n}_colour"]
            colour = self.field(each, f"{place}.colour" if region else f"@{each.name}")
            if kind == "known" and colour is None and region is not None:
                self.problems.add(f"{place}.colour", "", "is missing: give the card’s known colour")
            if colour is not None and region is None and self._own(spot) not in self._told():
                self.problems.add(self._own(spot), "", "mark where the card of this colour lies")
            if region is not None:
                self._at[f"{place}.kind"] = (f"card{n}_kind", "What the card is")
                card: dict[str, Any] = {"region": region}
                if colour is not None:
                    card["colour"] = colour
                elif kind != "known":
                    card["kind"] = kind
                cards.append(card)
        sheets: list[list[float]] = []
        for spot in SHEETS:
            region = self.rectangle(spot, f"{within}sheets[{len(sheets) + 1}]")
            if region is not None:
                sheets.append(region)
        self._at[f"{within}chart"] = (CHART.name, CHART.label)
        corners = self.chart_corners(self._own(CHART))
        if corners is not None or self.sent.value("chart_find"):
            out["chart"] = {"corners": corners}
        light = self.field(spec["light"], f"{within}light")
        made = self.field(spec["processing"], f"{within}processing")
        held = {"cards": cards, "sheets": sheets, "light": light, "processing": made}
        return out | {key: value for key, value in held.items() if value}

    def _told(self) -> set[str]:
        return {p.field for p in self.problems.problems}

    def needs_photo(self) -> bytes:
        """The photo; where it is missing that is told beside the other problems."""
        if self.sent.photo is None:
            self.problems.add("photo", "", "choose the photo; it is not kept between readings")
        return self.sent.photo or b""

    def check(self, model: type[Model], request: Mapping[str, Any]) -> None:
        """Raise with the problems of the form and of the request together, if there are any."""
        if self.problems.problems:
            told = self._told()
            try:
                checked(model, request)
            except InputError as error:
                # A job was told by itself; areas that could not be read leave the list empty.
                self.problems.problems.extend(
                    p
                    for p in error.problems
                    if p.field not in told and p.field != "areas" and not p.field.startswith("job.")
                )
        self.problems.raise_if_any()

    def mends(self, error: InputError) -> list[Mend]:
        """Every problem with the field that it belongs to."""
        return [self._mend(problem) for problem in error.problems]

    def swapped(self, error: InputError) -> str:
        """Names of the two marks that look swapped, with a space between; empty if none do."""
        card = [self._at[p][0] for p in ("cards[1]", "photo.cards[1]") if p in self._at]
        chip = [self._at[p.field][0] for p in error.problems if p.code == "swapped"]
        return f"{chip[0]} {card[0]}" if chip and card else ""

    def _mend(self, problem: Problem) -> Mend:
        path = problem.field
        fits = [p for p in self._at if path == p or path.startswith((f"{p}.", f"{p}["))]
        if fits:
            return Mend(*self._at[max(fits, key=len)], problem.message)
        if path in {"photo", "body", self.sent.file_name}:
            return Mend("photo", "Photo", problem.message)
        return Mend("job-part", "The job", f"{path.removeprefix('job.')}: {problem.message}")
