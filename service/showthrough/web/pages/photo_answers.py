"""What each page with a photo asks, and what it answers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from showthrough.colour.names import describe_colour
from showthrough.jobs.case.prepared import prepare
from showthrough.jobs.photos.photos import read_chip, read_drawdown, read_surface
from showthrough.jobs.photos.preview import draw_preview
from showthrough.jobs.schema.photo import (
    ChipRequest,
    DrawdownRequest,
    PreviewRequest,
    SurfaceRequest,
)
from showthrough.say.chances import capital
from showthrough.say.reading import WHAT_NO_PHOTO_TELLS, radius_words
from showthrough.web.forms.paths import fields_of_job, job_of
from showthrough.web.forms.photo_form import Asking, Field, Spot
from showthrough.web.pages import photo_shown as drawn
from showthrough.web.samples import seen_colour

_MOST_PREVIEW_PIXELS = 1_000_000
"""The page shows one picture at a time; the command line draws the whole photo."""

Shown = dict[str, Any]


@dataclass(frozen=True, slots=True)
class PhotoPage:
    """One page with a photo."""

    address: str
    heading: str
    lead: str
    verb: str
    wanting: str
    form_part: str
    answer_part: str
    answer: Callable[[Asking], Shown]
    spots: tuple[Spot, ...] = ()
    fields: tuple[Field, ...] = ()
    takes_references: bool = True
    has_own_card: bool = False
    """Whether what is photographed has a white and a black of its own."""
    needs_job: bool = False


CHIP_SPOT = Spot(
    "chip", "Chip or lid smear", "region", "Empty, and no reference: the whole picture is the chip."
)
AREA_SPOT = Spot("area", "The surface", "area", "Empty: all of the picture.")
MOST_FIELD = Field(
    "most",
    "most",
    "Patches at most",
    "choice",
    choices=(("6", "6 (default)"), *((str(n), str(n)) for n in (2, 3, 4, 5))),
)

READING_NAMES = ("bare_black", "bare_white", "over_black", "over_white")
_READING_LABELS = (
    "Card, bare black",
    "Card, bare white",
    "Paint over black",
    "Paint over white",
)
READING_FIELDS = tuple(
    Field(name, name, label, "colour")
    for name, label in zip(READING_NAMES, _READING_LABELS, strict=True)
)
READING_SPOTS = tuple(
    Spot(f"on_{name}", label, f"regions.{name}")
    for name, label in zip(READING_NAMES, _READING_LABELS, strict=True)
)
DRAW_FIELDS = (
    Field("paint_name", "name", "Your name for the paint"),
    Field(
        "wet",
        "wet_film_um",
        "Wet film",
        "number",
        "µm",
        "From the applicator’s gap (about half of it stays) or a wet film gauge.",
    ),
    Field(
        "wet_solids",
        "volume_solids",
        "Volume solids",
        "percent",
        "%",
        "From the data sheet; by volume, not by weight.",
    ),
    Field(
        "reading_within",
        "",
        "Each reading is true within",
        "number",
        "CIEDE2000",
        "Empty: as an instrument reads (default).",
    ),
)

MOST_AREAS = 6
AREA_SPOTS = tuple(
    Spot(f"painted{n}", f"Painted area {n}", f"areas[{n}].region") for n in range(1, MOST_AREAS + 1)
)
PREVIEW_FIELDS = (
    Field("coats", "coats", "Coats", "number", "coats", "Empty: the likely count (default)."),
    Field(
        "ground_coat",
        "undercoat",
        "Drawn",
        "choice",
        choices=(
            ("both", "without and with the best undercoat (default)"),
            ("plain", "straight onto the ground"),
            ("under", "over the best undercoat"),
        ),
    ),
)


def _chip(asking: Asking) -> Shown:
    request = {"region": asking.rectangle(CHIP_SPOT)} | asking.references()
    photo = asking.needs_photo()
    asking.check(ChipRequest, request)
    answer = read_chip(photo, request, name=asking.sent.file_name)
    return {
        "answer": answer,
        "say": f"{capital(describe_colour(answer.colour.lab))} {answer.colour.hex}, "
        f"true within a colour difference of {answer.colour.radius:.1f}",
        "name": capital(describe_colour(answer.colour.lab)),
        "step": radius_words(answer.colour.radius),
        "between": drawn.between(answer.colour),
        "use": drawn.topcoat_link(asking.sent.job, answer),
        "use_under": drawn.surface_link(asking.sent.job, answer),
        "based_on": drawn.based_on(answer.colour),
    }


def _surface(asking: Asking) -> Shown:
    most = asking.field(MOST_FIELD)
    request = {"area": asking.rectangle(AREA_SPOT)} | asking.references()
    if most is not None:
        request["most"] = int(most) if most.isdecimal() else most
    photo = asking.needs_photo()
    asking.check(SurfaceRequest, request)
    answer = read_surface(photo, request, name=asking.sent.file_name)
    count = len(answer.patches)
    return {
        "answer": answer,
        "say": "One patch proposed" if count == 1 else f"{count} patches proposed",
        "kept": [p for p in asking.sent.job.items() if not p[0].startswith("surface.")],
        "rows": [fields_of_job({"surface": [row]}) for row in answer.surface],
        "notes": drawn.surface_notes(answer),
        "untold": WHAT_NO_PHOTO_TELLS,
        "based_on": drawn.based_on(answer.patches[0]),
    }


def _drawdown(asking: Asking) -> Shown:
    request = {each.path: asking.field(each) for each in DRAW_FIELDS if each.path}
    request = {key: value for key, value in request.items() if value is not None}
    typed = {each.path: asking.field(each) for each in READING_FIELDS}
    within = asking.field(DRAW_FIELDS[-1])
    for path, text in typed.items():
        if text is not None:
            request[path] = {"text": text, "radius": within} if within is not None else text
    regions = {name: asking.rectangle(s) for name, s in zip(typed, READING_SPOTS, strict=True)}
    regions = {name: region for name, region in regions.items() if region is not None}
    references = asking.references("photo.")
    photo = asking.sent.photo
    if regions or photo is not None:
        request |= {"regions": regions, "photo": references}
    asking.check(DrawdownRequest, request)
    answer = read_drawdown(request, photo, name=asking.sent.file_name)
    if answer.readings is not None:
        seen = [answer.readings[name].hex for name in READING_NAMES]
    else:
        seen = [seen_colour(str(text)) or "none" for text in typed.values()]
    return {
        "answer": answer,
        "say": f"{answer.name or 'The paint'}: {drawn.VERDICTS[answer.verdict]}",
        "seen_readings": seen,
        "constants": drawn.constants_drawing(answer),
        "file": drawn.paint_file(answer),
        "use": drawn.paint_link(asking.sent.job, answer),
    }


def _preview(asking: Asking) -> Shown:
    form = asking.sent.job
    job = job_of(form)
    areas: list[dict[str, Any]] = []
    for n, spot in enumerate(AREA_SPOTS, 1):
        region = asking.rectangle(spot, f"areas[{len(areas) + 1}]")
        if region is None:
            continue
        area: dict[str, Any] = {"region": region}
        for key in ("patch", "face"):
            text = asking.sent.value(f"painted{n}_{key}")
            if text:
                area[key] = text
        areas.append(area)
    if not areas and not asking.problems.problems:
        asking.problems.add("areas[1].region", "", "mark at least one area that is painted")
    coats = asking.field(PREVIEW_FIELDS[0])
    request: dict[str, Any] = {"job": job, "areas": areas}
    if coats is not None:
        request["coats"] = coats
    photo = asking.needs_photo()
    with asking.problems.collecting("job"):
        prepare(job)
    asking.check(PreviewRequest, request)
    wanted = asking.sent.value("ground_coat", "both")
    strips: list[Shown] = []
    notes: dict[str, None] = {}
    for under in [False, True] if wanted == "both" else [wanted == "under"]:
        made = draw_preview(
            photo,
            request | {"undercoat": under},
            name=asking.sent.file_name,
            most_pixels=_MOST_PREVIEW_PIXELS,
        )
        if under and made.answer.undercoat is None and strips:
            continue
        strips.append(drawn.stepped(made))
        notes |= dict.fromkeys(made.answer.notes)
    return {
        "answer": made.answer,
        "say": f"{' or '.join(strip['said'] for strip in strips)}, drawn",
        "strips": strips,
        "notes": list(notes),
    }


CHIP = PhotoPage(
    "/photo/chip",
    "What colour is this chip?",
    "A photo of a colour chip or a smear on the lid, best with a white or grey card beside it.",
    "Read the chip",
    "Choose a photo and mark where the chip and the card lie.",
    "photo/form_chip.html",
    "photo/answer_chip.html",
    _chip,
    (CHIP_SPOT,),
)
SURFACE = PhotoPage(
    "/photo/surface",
    "Which patches does the surface have?",
    "A photo of the bare piece, best with a white or grey card beside it.",
    "Read the surface",
    "Choose a photo of the bare piece; mark the surface and the card.",
    "photo/form_surface.html",
    "photo/answer_surface.html",
    _surface,
    (AREA_SPOT,),
    (MOST_FIELD,),
)
DRAWDOWN = PhotoPage(
    "/photo/drawdown",
    "How well does this paint hide?",
    "One film over a black and white card, dry, read in four places. It takes the place of every "
    "guess about the paint.",
    "Measure the paint",
    "Give the film and four readings, or a photo with the four places marked.",
    "photo/form_drawdown.html",
    "photo/answer_drawdown.html",
    _drawdown,
    READING_SPOTS,
    (*DRAW_FIELDS, *READING_FIELDS),
    has_own_card=True,
)
PREVIEW = PhotoPage(
    "/photo/preview",
    "How will the piece look after each coat?",
    "A photo of the bare piece, painted only where you mark it, its own light and shade kept.",
    "Draw the coats",
    "Choose a photo of the bare piece and mark what is painted.",
    "photo/form_preview.html",
    "photo/answer_preview.html",
    _preview,
    AREA_SPOTS,
    PREVIEW_FIELDS,
    takes_references=False,
    needs_job=True,
)
PHOTO_PAGES = (CHIP, SURFACE, DRAWDOWN, PREVIEW)
