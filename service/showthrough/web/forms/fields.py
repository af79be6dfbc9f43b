"""The page's fields: their short names in the query, their places in a job, their labels.

The names are those of a link that a painter may pass on, as in
``/?topcoat=5GY+6/8&colour1=76523a&tool=spray``. Each default that the schema or a tool
brings is named as one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

from showthrough.film.coats import (
    ADVISED_LEAST_COATS,
    EVENNESS_CV,
    MOST_COATS,
    SANDING_LOSS,
    USUAL_COAT,
    USUAL_DENSITY_G_ML,
    USUAL_VOLUME_SOLIDS,
    WET_FILM_UM,
)
from showthrough.film.undercoat import UNDERCOAT_SOLIDS
from showthrough.workshop.grounds import GROUND_KINDS, Chemistry, Condition, Stain
from showthrough.workshop.paint.transfer import transfer_of

Kind = Literal["text", "lines", "colour", "number", "percent", "choice", "yesno", "tick"]
Choices = tuple[tuple[str, str], ...]

FEW_ROWS = 40
"""Swatches that a table shows before all are asked for."""


@dataclass(frozen=True, slots=True)
class Field:
    """One input of the page."""

    name: str
    """In the query; fields of a row are followed by the row's number."""
    path: str
    """In the job, or in the row of the job."""
    label: str
    kind: Kind = "text"
    unit: str = ""
    hint: str = ""
    choices: Choices = ()
    """Value and words; the first is the default, which a link leaves out."""
    told: str = ""
    """What a list of problems calls it, where its label is not clear by itself."""

    @property
    def default(self) -> str:
        """What the field holds where nothing was said."""
        return self.choices[0][0] if self.choices else ""


def _film_hint() -> str:
    usual = ", ".join(f"{tool} {WET_FILM_UM[tool, coat]:g}" for tool, coat in USUAL_COAT.items())
    return f"Empty: the tool's usual film ({usual} µm: defaults)."


_TRANSFER_HINT = (
    "Empty: "
    + ", ".join(f"{tool} {transfer_of(tool).part.value:.0%}" for tool in USUAL_COAT)
    + " (defaults)."
)
_SOLIDS_HINT = f"Empty: {USUAL_VOLUME_SOLIDS:.0%}, a default."
_RATE_UNIT = "m²/l"
_WITHIN_HINT = "In 95 of 100 cases, as a photo’s reading says. Empty: exact (default)."
_TESTED: Choices = (
    ("base", "the white paint it was tinted from (default, as usual)"),
    ("this colour", "this colour"),
)
_SKINS: Choices = (
    ("", "not said (default)"),
    ("coated", "finished"),
    ("bare", "bare"),
)
_YES_NO: Choices = (("", "not said (default)"), ("yes", "yes"), ("no", "no"))
_YES_NO_MAY: Choices = (*_YES_NO, ("may", "perhaps"))
_GROUND_WORDS: dict[str, str] = {
    "unknown": "an old finish, nobody knows which",
    "knots": "knots in wood",
    "mdf": "MDF",
    "mdf edge": "MDF, cut edge",
    "varnish": "varnish",
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
}
"""What a kind of ground is called where its own word does not say it."""
_GROUNDS: Choices = (
    ("", "not said (default)"),
    *((kind, _GROUND_WORDS.get(kind, kind)) for kind in GROUND_KINDS),
)
_CONDITIONS: Choices = (
    ("", "not said (default)"),
    *((condition, condition) for condition in get_args(Condition) if condition != "loose"),
    ("loose", "veneer has come loose"),
)
_STAINS: Choices = (("", "none (default)"), *((stain, stain) for stain in get_args(Stain)))
_CHEMISTRIES: Choices = (
    ("", "not said (default)"),
    *((chemistry, chemistry) for chemistry in get_args(Chemistry)),
)
_LEAD_BY: Choices = (
    ("", "not tested (default)"),
    ("kit", "home kit"),
    ("laboratory", "laboratory"),
)
_LEAD_RESULTS: Choices = (("", "not said (default)"), ("clear", "no lead"), ("lead", "lead"))

JOB_FIELDS: tuple[Field, ...] = (
    Field("title", "title", "What is to be painted"),
    Field("child", "child", "For a child, or a toy", "tick"),
    Field("antique", "antique", "Antique, or of value", "tick"),
    Field("tried", "test_piece.coats", "Topcoats tried on a test piece", "number", "coats"),
    Field(
        "tried_enough",
        "test_piece.enough",
        "Were they enough?",
        "yesno",
        choices=_YES_NO,
        told="Test piece, enough",
    ),
    Field("topcoat", "topcoat.colour", "Colour", "colour", told="Topcoat, colour"),
    Field("called", "topcoat.name", "Your name for it", hint="Empty: its colour in words."),
    Field("solids", "topcoat.volume_solids", "Volume solids", "percent", "%", _SOLIDS_HINT),
    Field(
        "sheen",
        "topcoat.sheen",
        "Sheen",
        "choice",
        choices=(
            ("", "not said (default)"),
            ("matt", "matt"),
            ("eggshell", "eggshell"),
            ("satin", "satin"),
            ("gloss", "gloss"),
        ),
    ),
    Field(
        "pigment",
        "topcoat.pigment",
        "Its coloured pigments",
        "choice",
        hint="Opaque: iron or chrome oxide, carbon, earths. Transparent: bright organic pigments, "
        "ultramarine.",
        choices=(
            ("", "not known (default)"),
            ("opaque", "opaque"),
            ("transparent", "transparent"),
        ),
    ),
    Field(
        "body",
        "topcoat.body",
        "Mixed from",
        "choice",
        choices=(
            ("", "not known (default)"),
            ("pastel", "a white or pale paint"),
            ("deep", "a paint with little white, for strong colours"),
        ),
        told="Topcoat, mixed from",
    ),
    Field(
        "tio2",
        "topcoat.tio2_share",
        "Titanium dioxide in its dry film",
        "percent",
        "%",
        "By volume, of the paint that was tinted; 1 to 35. Empty: not known (default).",
    ),
    Field(
        "chemistry",
        "topcoat.chemistry",
        "Kind of paint",
        "choice",
        hint="Decides the waiting between coats, and what comes through.",
        choices=_CHEMISTRIES,
        told="Topcoat, kind of paint",
    ),
    Field("holds", "topcoat.bonds", "Its label says that it holds on slick grounds", "tick"),
    Field(
        "sci",
        "topcoat.colour.specular",
        "The reading holds the gloss (specular included, SCI)",
        "tick",
    ),
    Field(
        "topcoat_within",
        "topcoat.colour.radius",
        "The reading is true within",
        "number",
        "colour difference",
        _WITHIN_HINT,
        told="Topcoat, uncertainty of the reading",
    ),
    Field(
        "paint",
        "topcoat.paint",
        "Measured paint",
        "lines",
        hint="The text of a paint file, as a drawdown gives it. Then no colour is needed above.",
    ),
    Field(
        "ratio",
        "topcoat.label.contrast_ratio",
        "Contrast ratio",
        "number",
        hint="From 0.5 to below 1, as 0.98.",
        told="Label, contrast ratio",
    ),
    Field(
        "rate",
        "topcoat.label.spreading_rate_m2_l",
        "at a spreading rate of",
        "number",
        _RATE_UNIT,
        told="Label, spreading rate",
    ),
    Field("tested", "topcoat.label.tested", "What was tested", "choice", choices=_TESTED),
    Field(
        "tool",
        "application.tool",
        "Tool",
        "choice",
        choices=(
            ("brush", "brush (default)"),
            ("roller", "foam roller"),
            ("spray", "spray gun"),
            ("aerosol", "aerosol can"),
        ),
    ),
    Field(
        "coat",
        "application.coat",
        "Coat",
        "choice",
        choices=(
            ("", "usual (default)"),
            ("light", "light"),
            ("full", "full"),
        ),
    ),
    Field(
        "least",
        "application.least_topcoats",
        "Topcoats at the least",
        "number",
        "coats",
        f"1 to 4, for a sound film. Empty: {ADVISED_LEAST_COATS}, a default.",
    ),
    Field("film", "application.wet_film_um", "Wet film of a coat", "number", "µm", _film_hint()),
    Field("ml", "application.paint_used.ml", "Paint used", "number", "ml"),
    Field(
        "grams",
        "application.paint_used.g",
        "or by weight",
        "number",
        "g",
        told="Paint used, by weight",
    ),
    Field(
        "area",
        "application.paint_used.area_m2",
        "over",
        "number",
        "m²",
        told="Paint used, area",
    ),
    Field(
        "used_coats",
        "application.paint_used.coats",
        "in",
        "number",
        "coats",
        "Empty: 1 (default).",
        told="Paint used, coats",
    ),
    Field(
        "density",
        "application.paint_used.density_g_ml",
        "Weight of the wet paint",
        "number",
        "g/ml",
        f"Goes with grams. Empty: {USUAL_DENSITY_G_ML:g}, a default.",
    ),
    Field(
        "stays",
        "application.transfer_efficiency",
        "Part of the paint that stays on the piece",
        "percent",
        "%",
        _TRANSFER_HINT,
    ),
    Field(
        "sanding",
        "application.sanding_loss",
        "Taken by scuff sanding between coats",
        "percent",
        "%",
        f"Empty: {SANDING_LOSS:.0%}, a default.",
    ),
    Field(
        "uneven",
        "application.evenness_cv",
        "Film varies within a coat by",
        "percent",
        "%",
        f"Empty: {EVENNESS_CV:.0%}, a default.",
    ),
)

PATCH_FIELDS: tuple[Field, ...] = (
    Field("patch", "name", "Name"),
    Field("colour", "colour", "Colour", "colour"),
    Field("share", "share", "Share", "percent", "%", "Of all, or of none."),
    Field("skin", "skin", "Finished or bare", "choice", choices=_SKINS),
    Field("ground", "ground", "What it is", "choice", choices=_GROUNDS),
    Field("porous", "porous", "Drinks paint", "yesno", choices=_YES_NO),
    Field("bleeds", "bleeds", "Bleeds through", "yesno", choices=_YES_NO_MAY),
    Field("condition", "condition", "State of the old finish", "choice", choices=_CONDITIONS),
    Field("stain", "stain", "Stained by", "choice", choices=_STAINS),
    Field("sanded", "sanded_through", "sanded through", "tick"),
    Field("edge", "edge", "cut edge of a board", "tick"),
    Field("lead_by", "lead_test.by", "Tested for lead by", "choice", choices=_LEAD_BY),
    Field(
        "lead_result",
        "lead_test.result",
        "It found",
        "choice",
        choices=_LEAD_RESULTS,
        told="Lead test, result",
    ),
    Field(
        "lead_date",
        "lead_test.date",
        "On the day",
        hint="As 2026-05-31.",
        told="Lead test, date",
    ),
    Field(
        "colour_within",
        "colour.radius",
        "The reading is true within",
        "number",
        "colour difference",
        _WITHIN_HINT,
        told="Uncertainty of the reading",
    ),
)

UNDER_FIELDS: tuple[Field, ...] = (
    Field("under", "name", "Name"),
    Field("under_colour", "colour", "Colour", "colour"),
    Field(
        "under_solids",
        "volume_solids",
        "Volume solids",
        "percent",
        "%",
        f"Empty: {UNDERCOAT_SOLIDS:.0%}, a default.",
    ),
    Field(
        "under_film",
        "wet_film_um",
        "Wet film",
        "number",
        "µm",
        "Empty: a full coat of the tool, a default.",
    ),
    Field("under_ratio", "label.contrast_ratio", "Contrast ratio", "number"),
    Field(
        "under_rate",
        "label.spreading_rate_m2_l",
        "at",
        "number",
        _RATE_UNIT,
        told="Spreading rate",
    ),
    Field("under_tested", "label.tested", "What was tested", "choice", choices=_TESTED),
    Field("under_bonds", "bonds", "label: holds on slick grounds", "tick"),
    Field("under_blocks", "blocks", "label: blocks stains", "tick"),
)

SECOND_FIELDS: tuple[Field, ...] = (
    Field("second", "name", "Name", hint="Empty: its colour as typed."),
    Field("second_colour", "colour", "Colour", "colour"),
    Field(
        "second_kind",
        "kind",
        "What it is",
        "choice",
        choices=(("paint", "paint (default)"), ("wood", "wood left in sight")),
    ),
)

OPTION_FIELDS: tuple[Field, ...] = (
    Field(
        "budget",
        "budget",
        "Coats that you want to spend",
        "number",
        "coats",
        f"1 to {MOST_COATS}. Empty: one coat fewer and two fewer are looked for.",
    ),
    Field(
        "swatches",
        "swatches_csv",
        "Your own swatches",
        "lines",
        hint="A table as text: a first line name,L,a,b or name,hex, then a line for each colour; "
        "or a collection in the CGATS text of ISO 28178. "
        "Empty: the sample topcoats (default).",
    ),
    Field(
        "sort",
        "sort",
        "Sorted by",
        "choice",
        choices=(
            ("coats", "coats (default)"),
            ("total", "coats with an undercoat"),
            ("difference", "difference from the wished colour"),
            ("harmony", "harmony with handles and hinges"),
            ("name", "name"),
        ),
    ),
    Field(
        "rows",
        "rows",
        "Swatches shown",
        "choice",
        choices=(("", f"first {FEW_ROWS} (default)"), ("all", "all")),
    ),
)
"""What a page asks beside the job; each page takes some of them."""

BY_NAME: dict[str, Field] = {
    field.name: field
    for field in (*JOB_FIELDS, *PATCH_FIELDS, *UNDER_FIELDS, *SECOND_FIELDS, *OPTION_FIELDS)
}

ROWS: dict[str, tuple[str, tuple[Field, ...]]] = {
    "patch": ("surface", PATCH_FIELDS),
    "under": ("undercoat", UNDER_FIELDS),
    "second": ("second_colour", SECOND_FIELDS),
}
"""Kinds of rows: the job's list and its fields."""

SURFACE = "surface"
"""Where problems of the patches together are told."""

FINISHES = "finishes"
FINISH_TICK = "finish"
