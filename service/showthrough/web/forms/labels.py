"""What each field is called on the page, its unit, its hint and the words for its choices.

Keyed by the place in a job, lists without their numbers; the own topcoat, surface and tool of
a part of the piece are called as those of the whole.
"""

from __future__ import annotations

from dataclasses import dataclass

from showthrough.film.coats import (
    ADVISED_LEAST_COATS,
    EVENNESS_CV,
    SANDING_LOSS,
    USUAL_COAT,
    USUAL_DENSITY_G_ML,
    USUAL_VOLUME_SOLIDS,
    WET_FILM_THICKNESS_UM,
)
from showthrough.film.undercoat import UNDERCOAT_SOLIDS
from showthrough.say.plan import COATS
from showthrough.say.sentence import TOOLS
from showthrough.workshop.paint.transfer import transfer_of


@dataclass(frozen=True, slots=True)
class Label:
    """What stands at a field."""

    name: str
    unit: str = ""
    hint: str = ""


_FILM_HINT = (
    "Empty: the tool's usual film ("
    + ", ".join(
        f"{TOOLS[tool]} {WET_FILM_THICKNESS_UM[tool, coat]:g}" for tool, coat in USUAL_COAT.items()
    )
    + " µm: defaults)."
)
_TRANSFER_HINT = (
    "Empty: "
    + ", ".join(f"{TOOLS[tool]} {transfer_of(tool).part.value:.0%}" for tool in USUAL_COAT)
    + " (defaults)."
)
_COLOUR_HINT = "A name, hex, lab(66 -24 55), lch, xyz, Munsell, or lrv 45."
_WITHIN_HINT = "In 95 of 100 cases, as a photo's reading says. Empty: exact (default)."
_DAY_HINT = "As 2026-05-31."
_WEEK_HINT = "As 08:00-12:00, 13:00-17:00."
_LABEL_WINS = "From the label; it wins over the defaults."

_COLOUR = {
    "": Label("Colour", hint=_COLOUR_HINT),
    "radius": Label("The reading is true within", "colour difference", _WITHIN_HINT),
    "specular": Label("Gloss in the reading (SCI, SCE)"),
    "illuminant": Label("Light of the reading"),
    "observer": Label("Observer, degrees"),
    "lab": Label("CIELAB"),
    "lch": Label("L, C, h"),
    "xyz": Label("XYZ"),
    "text": Label("Colour"),
    "hex": Label("Hex"),
    "munsell": Label("Munsell"),
    "lrv": Label("Light reflectance value"),
    "swatch": Label("Sample"),
    "spectrum.values": Label("Reflectances", hint="0 to 1, from 400 nm in steps of 10 nm."),
    "spectrum.start_nm": Label("First wavelength", "nm"),
    "spectrum.step_nm": Label("Step", "nm"),
}
_SUPPLY = {
    "cans.ml": Label("Can holds", "ml"),
    "cans.size": Label("or its size", hint="As 2.5 l, 1 qt or 12 fl oz."),
    "cans.price": Label("Price"),
    "shelf_ml": Label("On your shelf", "ml", "What each tin still holds, as 300 120."),
    "recoat_h": Label("Next coat after", "h", _LABEL_WINS),
    "handle_h": Label("Parts may be stacked after", "h"),
    "cure_d": Label("Hard after", "days"),
    "least_c": Label("Not below", "°C"),
    "label_film_um": Label("The label's times are for", "µm wet"),
}
_LABEL_FACTS = {
    "label.contrast_ratio": Label("Contrast ratio on the label", hint="Below 1, as 0.98."),
    "label.spreading_rate_m2_l": Label("at a spreading rate of", "m²/l"),
    "label.tested": Label("What was tested"),
}
_SOLIDS = Label("Volume solids", "%", f"Empty: {USUAL_VOLUME_SOLIDS:.0%}, a default.")


def _under(place: str, inner: dict[str, Label]) -> dict[str, Label]:
    return {f"{place}.{key}" if key else place: label for key, label in inner.items()}


LABELS: dict[str, Label] = {
    "title": Label("What is it?", hint="As linen cupboard, two doors."),
    "child": Label("For a child, or a toy"),
    "antique": Label("Antique, or of value"),
    "test_piece.coats": Label("Topcoats tried on a test piece", "coats"),
    "test_piece.enough": Label("Were they enough?"),
    **_under("topcoat.colour", _COLOUR | {"": Label("New colour", hint=_COLOUR_HINT)}),
    "topcoat.name": Label("Your name for it", hint="Empty: its colour in words."),
    "topcoat.volume_solids": _SOLIDS,
    "topcoat.pigment": Label("What gives the paint its colour?"),
    "topcoat.body": Label("What kind of paint is it?"),
    "topcoat.tio2_share": Label(
        "Titanium dioxide in the dry film",
        "%",
        "By volume, of the paint that was tinted; 1 to 35. Empty: not known (default).",
    ),
    "topcoat.chemistry": Label("Kind of paint", hint="Decides waiting, and what comes through."),
    "topcoat.sheen": Label("Sheen"),
    "topcoat.bonds": Label("Its label says that it holds on slick grounds"),
    "topcoat.paint": Label(
        "Measured paint", hint="The text of a paint file. Then no colour is needed."
    ),
    **_under("topcoat", _LABEL_FACTS),
    **_under("topcoat", _SUPPLY),
    "surface.name": Label("Name"),
    **_under("surface.colour", _COLOUR | {"": Label("What is there now", hint=_COLOUR_HINT)}),
    "surface.share": Label("Part of the piece", "%", "Of all patches, or of none."),
    "surface.skin": Label("Finished or bare"),
    "surface.ground": Label("What is it?"),
    "surface.condition": Label("State of the old finish"),
    "surface.stain": Label("Stained by"),
    "surface.porous": Label("Drinks paint"),
    "surface.bleeds": Label("Bleeds through"),
    "surface.sanded_through": Label("Sanded through"),
    "surface.edge": Label("Cut edge of a board"),
    "surface.lead_test.by": Label("Tested for lead by"),
    "surface.lead_test.result": Label("It found"),
    "surface.lead_test.date": Label("On the day", hint=_DAY_HINT),
    "application.tool": Label("How do you put it on?"),
    "application.coat": Label("How heavy is one coat?"),
    "application.wet_film_um": Label("Wet film of a coat", "µm", _FILM_HINT),
    "application.paint_used.ml": Label("Paint used", "ml"),
    "application.paint_used.g": Label("or by weight", "g"),
    "application.paint_used.area_m2": Label("over", "m²"),
    "application.paint_used.coats": Label("in", "coats", "Empty: 1 (default)."),
    "application.paint_used.density_g_ml": Label(
        "Weight of the wet paint", "g/ml", f"With grams. Empty: {USUAL_DENSITY_G_ML:g}, a default."
    ),
    "application.transfer_efficiency": Label(
        "Part of the paint that stays on the piece", "%", _TRANSFER_HINT
    ),
    "application.gun": Label("Gun"),
    "application.openness": Label("How open is the piece to a spray?"),
    "application.thinning": Label("Thinner to one part of paint", "parts"),
    "application.session_loss_ml": Label("Left in tool and cup each session", "ml"),
    "application.flips": Label("Its two faces must dry one after the other"),
    "application.least_topcoats": Label(
        "Topcoats at the least",
        "coats",
        f"1 to 4, for a sound film. Empty: {ADVISED_LEAST_COATS}, a default.",
    ),
    "application.sanding_loss": Label(
        "Taken by scuff sanding between coats", "%", f"Empty: {SANDING_LOSS:.0%}, a default."
    ),
    "application.evenness_cv": Label(
        "Film varies within a coat by", "%", f"Empty: {EVENNESS_CV:.0%}, a default."
    ),
    "undercoat.name": Label("Its name"),
    **_under("undercoat.colour", _COLOUR),
    "undercoat.volume_solids": Label(
        "Volume solids", "%", f"Empty: {UNDERCOAT_SOLIDS:.0%}, a default."
    ),
    "undercoat.wet_film_um": Label("Wet film", "µm", "Empty: a full coat, a default."),
    **_under("undercoat", _LABEL_FACTS),
    "undercoat.bonds": Label("Label: holds on slick grounds"),
    "undercoat.blocks": Label("Label: blocks stains"),
    "undercoat.shelf_ml": Label("It still holds", "ml"),
    "finishes": Label("Finishes to choose from", hint="Codes or names. Empty: all (default)."),
    "second_colour.name": Label("Name"),
    **_under("second_colour.colour", _COLOUR),
    "second_colour.kind": Label("What is it?"),
    "group.name": Label("Name of this part", hint="As carcass, doors, legs."),
    "group.area_m2": Label("Its area", "m²"),
    "group.area_ft2": Label("Its area", "ft²"),
    "group.shape.shape": Label("Shape"),
    **{
        f"group.shape.{key}": Label(name, hint=hint)
        for key, name, hint in (
            ("width", "Width", "As 80 cm, 2 ft 3 1/2 in."),
            ("height", "Height", ""),
            ("depth", "Depth", ""),
            ("thickness", "Thickness", ""),
            ("side", "Side", ""),
            ("length", "Length", ""),
            ("side_top", "Side at the top", ""),
            ("side_foot", "Side at the foot", ""),
            ("diameter", "Diameter", ""),
            ("diameter_top", "Diameter at the top", ""),
            ("diameter_foot", "Diameter at the foot", ""),
            ("girth", "Girth, with a strip of paper", ""),
            ("count", "How many", ""),
            ("faces", "Faces painted", "1 or 2. Empty: 1 (default)."),
            ("profile", "Painted area over flat area", ""),
        )
    },
    "area_m2": Label("Painted area", "m²"),
    "area_ft2": Label("Painted area", "ft²"),
    "unit": Label("Lengths without a unit are in"),
    "units": Label("Tell amounts in"),
    "pieces": Label("Pieces alike", "pieces"),
    "finish.kind": Label("What goes over the topcoat?"),
    "finish.coats": Label("Coats of it", "coats", "Empty: 2 of clear, 1 of wax (defaults)."),
    "finish.chemistry": Label("Kind of clear coat"),
    "finish.tool": Label("Put on with"),
    "finish.wet_film_um": Label("Wet film of it", "µm"),
    **_under("finish", _SUPPLY),
    "product.step": Label("What it is for"),
    "product.chemistry": Label("Kind of paint"),
    **_under("product", _SUPPLY),
    "room.temperature_c": Label("Air", "°C"),
    "room.humidity_percent": Label("Humidity", "% RH"),
    "room.surface_c": Label("The piece, if not as the air", "°C"),
    "room.night_c": Label("Coldest at night", "°C"),
    "days.start": Label("Work begins", hint="As 2027-03-01 or 2027-03-01T08:00. Empty: now."),
    "days.zone": Label("Time zone", hint="As Europe/Berlin."),
    **{
        f"days.week.{key}": Label(name, hint=_WEEK_HINT if key == "mon" else "")
        for key, name in (
            ("mon", "Monday"),
            ("tue", "Tuesday"),
            ("wed", "Wednesday"),
            ("thu", "Thursday"),
            ("fri", "Friday"),
            ("sat", "Saturday"),
            ("sun", "Sunday"),
        )
    },
    "days.days_off": Label("Days off", hint="As 2027-03-01, 2027-03-08."),
    "money.currency": Label("Currency", hint="Three capital letters."),
    "money.labour_per_hour": Label("Labour, each hour"),
    "money.purchase": Label("You paid for the piece"),
    "money.hardware": Label("Hardware"),
    "money.sheet": Label("One sheet of abrasive"),
    "money.booth": Label("Booth"),
    "money.disposal": Label("Disposal"),
    "money.delivery": Label("Delivery"),
    "money.fees": Label("Fees"),
    "money.margin": Label("Margin", hint="Part of the price, as 40% or 0.4."),
    "money.markup": Label("or markup", hint="Part of the cost, as 40% or 0.4."),
    "money.fee_rate": Label("Selling fee", hint="Part of the price."),
    "money.tax_rate": Label("Tax", hint="As 19%."),
    "money.charge": Label("Paint is charged"),
    "buying.wished": Label("How sure the cans should be", "%", "50 to 99. Empty: 90%, a default."),
    "buying.keep_ml": Label("Kept for repairs", "ml"),
    "rank_by": Label("Ways are ordered by"),
}

_NOT_SAID = "not said (default)"

CHOICE_WORDS: dict[str, dict[str, str]] = {
    "application.tool": TOOLS,
    "finish.tool": TOOLS,
    "application.coat": {"": "usual", "light": "light", "full": "heavy"},
    "application.gun": {"hvlp": "much air, low pressure", "conventional": "conventional"},
    "topcoat.body": {"pastel": "mostly white", "": "not known", "deep": "no white in it"},
    "topcoat.pigment": {
        "opaque": "earth pigment",
        "": "not known",
        "transparent": "bright organic",
    },
    "topcoat.colour.specular": {"": "without it (default)", "included": "with it (SCI)"},
    "surface.condition": {"loose": "veneer has come loose"},
    "surface.skin": {"coated": "finished", "bare": "bare"},
    "surface.bleeds": {"may": "perhaps"},
    "surface.ground": {
        "": "an old finish or not said",
        "unknown": "an old finish, nobody knows which",
        "knots": "knots in wood",
        "mdf": "MDF",
        "mdf edge": "MDF, cut edge",
        "shellac": "shellac or French polish",
        "sealed": "sealer or primer",
        "paint": "old paint, matt or satin",
        "gloss": "old gloss paint",
        "two-pack": "two-pack finish",
        "mineral paint": "chalky mineral paint",
        "waxed": "waxed wood",
        "oiled": "oiled wood",
        "polished": "silicone or furniture polish",
        "metal": "metal, which one is not known",
        "steel": "steel or iron",
        "galvanised": "galvanised steel",
    },
    "surface.lead_test.by": {"": "not tested (default)", "kit": "a home kit"},
    "surface.lead_test.result": {"clear": "no lead", "lead": "lead"},
    "label.tested": {"base": "the white paint it was tinted from", "this colour": "this colour"},
    "units": {"metric": "metres and litres", "us": "US feet and gallons"},
    "finish.kind": {"clear": "clear coat", "none": "nothing"},
    "second_colour.kind": {"": "paint", "wood": "wood left in sight", "paint": "paint"},
    "product.step": COATS | {"prime": "primer on metal", "spot seal": "sealer for spots"},
    "money.charge": {"cans": "by the can opened", "paint used": "by the ml used"},
    "group.shape.shape": {"": "none"},
}

_NESTED = ("group.topcoat", "group.surface", "group.application", "group.finish")


def pattern_of(path: str) -> str:
    """A path without the numbers of its lists; of a part's own paint as of the job's."""
    plain = ".".join(step for step in path.split(".") if not step.isdecimal())
    return plain.removeprefix("group.") if plain.startswith(_NESTED) else plain


def label_of(path: str) -> Label:
    """What a field is called; a place without a name of its own by its key."""
    pattern = pattern_of(path)
    found = LABELS.get(pattern)
    return found or Label(pattern.rsplit(".", maxsplit=1)[-1].replace("_", " "))


def choice_words(path: str, value: str) -> str:
    """The words for one choice of a field; "" is the one that says nothing."""
    pattern = pattern_of(path)
    for key in (pattern, *(p for p in CHOICE_WORDS if pattern.endswith(f".{p}"))):
        found = CHOICE_WORDS.get(key, {}).get(value)
        if found is not None:
            return found
    return value.replace("_", " ") or _NOT_SAID
