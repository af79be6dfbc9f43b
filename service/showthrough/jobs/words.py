"""Sentences for a painter: reasons and assumptions of a prediction."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from showthrough.colour.lights import WAVELENGTHS, FloatArray
from showthrough.colour.words import colour_words, describe_colour, with_article
from showthrough.film.build import ADVISED_LEAST_COATS, MOST_COATS, CoatCounts, FilmBuild
from showthrough.film.hiding import Paint
from showthrough.film.undercoat import UNDERCOAT_SOLIDS

if TYPE_CHECKING:
    from showthrough.jobs.resolve import ReadJob
    from showthrough.jobs.result import Coats, HidingShown, PatchShown, UndercoatOption
    from showthrough.jobs.undercoats import Search


def topcoat_name(read: ReadJob, chip_lab: FloatArray) -> str:
    """The painter's name for the topcoat, else its colour in words."""
    return read.job.topcoat.name or describe_colour(chip_lab)


def why_no_count(counts: CoatCounts) -> str | None:
    """Why a count is null, or None where all counts are there."""
    if counts.likely is None:
        return (
            f"{MOST_COATS} coats are probably not enough: put an undercoat under it, or choose a "
            "paint or a colour that hides better."
        )
    if counts.high is None:
        return f"Being nine parts in ten sure would take more than {MOST_COATS} coats."
    return None


def plural(count: int, what: str) -> str:
    """1 coat, 2 coats."""
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def headline(coats: Coats) -> str:
    """The answer in one line: "4 coats likely (3 to 5)"."""
    if coats.likely is None:
        return f"More than {MOST_COATS} coats"
    top = "more" if coats.high is None else str(coats.high)
    if str(coats.low) == top:
        return f"{plural(coats.likely, 'coat')}, fairly sure"
    return f"{plural(coats.likely, 'coat')} likely ({coats.low} to {top})"


def _weak_band(paint: Paint) -> str:
    """Where a film lets most light through to the ground, in words."""
    k, s = paint.absorption, paint.scattering
    depth = np.sqrt(k * (k + 2.0 * s))
    weakest = float(WAVELENGTHS[2:29][np.argmin(depth[2:29])])
    if weakest < 490.0:
        return "blue"
    if weakest < 570.0:
        return "green"
    if weakest < 600.0:
        return "yellow"
    return "red"


def reasons(
    hiding: HidingShown,
    paint: Paint,
    chip_lab: FloatArray,
    coats: Coats,
    patches: list[PatchShown],
    search: Search,
    build: FilmBuild,
) -> list[str]:
    """Why this many coats, and what would change it."""
    out = [_hiding_reason(paint, chip_lab)]
    alone = hiding.by_colour_alone
    if alone is not None:
        out.append(
            f"By its colour alone it would be {_range(alone.low, alone.likely, alone.high)}; with "
            f"better evidence it is {_range(coats.low, coats.likely, coats.high)}."
        )
    hardest = max(patches, key=lambda p: math.inf if p.critical_um is None else p.critical_um)
    if hardest.critical_um is None:
        out.append(f"No film of this paint hides “{hardest.name}”.")
    else:
        where = f" over “{hardest.name}”" if len(patches) > 1 else ""
        out.append(
            f"To look like the chip{where} it needs {hardest.critical_um:.0f} µm of dry film; one "
            f"coat leaves about {build.dry_film_um:.0f} µm "
            f"({build.wet_film_um:g} µm wet at {build.volume_solids:.0%} solids)."
        )
        if coats.likely is not None:
            out.append(
                f"The thin spots decide: after {plural(coats.likely, 'coat')} the chance that "
                f"they too look like the chip is {coats.enough[coats.likely]:.0%}."
            )
    if coats.even_after is not None and coats.likely is not None:
        if coats.even_after < coats.likely:
            out.append(
                f"The patches stop showing against each other after "
                f"{plural(coats.even_after, 'coat')}; the full colour takes longer."
            )
        else:
            out.append(
                f"The patches show against each other until {plural(coats.even_after, 'coat')} "
                "are on."
            )
    if coats.likely is not None and coats.likely < ADVISED_LEAST_COATS:
        out.append(
            f"For a sound, washable film {ADVISED_LEAST_COATS} coats are advised all the same "
            "(common practice, no source)."
        )
    out.append(_undercoat_reason(coats, search))
    return out


def _range(low: int | None, likely: int | None, high: int | None) -> str:
    """A count with its range: "4 coats (3 to 6)"."""
    over = f"more than {MOST_COATS}"
    if likely is None:
        return f"{over} coats"
    return f"{plural(likely, 'coat')} ({low or over} to {high or over})"


def _hiding_reason(paint: Paint, chip_lab: FloatArray) -> str:
    kind = describe_colour(chip_lab)
    strength = 0.32 / max(paint.scattering_per_um, 1e-6)
    if strength > 4.0:
        text = (
            f"A clean {kind} hides poorly: it lets {_weak_band(paint)} light through to the ground"
        )
    elif strength > 1.8:
        text = (
            f"A {kind} hides middling well; most of what shows through is {_weak_band(paint)} light"
        )
    elif chip_lab[0] > 80.0:
        text = (
            "A light colour like this hides by scattering alone, so a dark ground greys it for long"
        )
    else:
        text = f"A {kind} hides well: it both scatters and absorbs in every part of the light"
    known = {
        "colour": " (guessed from the colour alone: a factor of about 1.4 either way)",
        "label": " (from the label)",
        "drawdown": " (measured on a drawdown)",
        "spectrum": " (measured on a drawdown with spectra)",
        "jobs": " (learnt from finished jobs)",
    }
    return text + known[paint.evidence] + "."


def _undercoat_reason(coats: Coats, search: Search) -> str:
    best = search.options[0]
    saving = [o for o in search.options if o.undercoats and (o.saved or 0) > 0]
    if not saving:
        if coats.likely is None and best.total is not None:
            return f"With {_called(best)}, {plural(best.topcoats or 0, 'topcoat')} should do."
        return "No undercoat saves a coat here."
    option = saving[0]
    text = (
        f"With {_called(option)} first, {plural(option.topcoats or 0, 'topcoat')} should do: "
        f"{plural(option.saved or 0, 'coat')} saved in all"
    )
    curve = search.curve
    if option.kind == "grey" and curve.good_from is not None and curve.good_from != curve.good_to:
        text += (
            f" (any grey from N {curve.good_from:g} to N {curve.good_to:g} needs as few topcoats)"
        )
    return text + "."


def _called(option: UndercoatOption) -> str:
    if option.kind == "owned":
        return f"“{option.name}”"
    return with_article(option.name) if option.undercoats else option.name


_OF_100 = ", of 100 from black to white"
"""What a step of L* is, for a painter."""


def undercoat_why(kind: str, undercoat_lab: FloatArray, chip_lab: FloatArray) -> str:
    """Why an undercoat of this shade helps, or does not."""
    lighter = float(undercoat_lab[0] - chip_lab[0])
    words = colour_words(chip_lab)
    what = with_article(words.text).capitalize()
    if kind == "grey":
        if abs(lighter) <= 6.0:
            return f"{what} shows least over a grey about as light as itself."
        if lighter > 0.0:
            return (
                f"{what} is clear as glass in part of the light and dark in the rest, so what it "
                f"lets through must be lighter: this grey is {lighter:.0f} steps lighter than the "
                f"topcoat{_OF_100}."
            )
        return (
            f"{what} keeps its depth over a grey {-lighter:.0f} steps darker than itself{_OF_100}."
        )
    if kind == "white":
        return (
            "White is on every shelf; it suits light and clear colours and works against dark ones."
        )
    if kind == "tint":
        return "Mixed from the topcoat itself, so that what shows through already has its colour."
    step = "lighter" if lighter > 0.0 else "darker"
    return f"A can that you have; it is {abs(lighter):.0f} steps {step} than the topcoat{_OF_100}."


def assumptions(
    read: ReadJob, paint: Paint, lost: FloatArray, undercoat_wet_um: float
) -> list[str]:
    """What the answer takes for granted, beside film and label."""
    undercoat = (
        f"One coat of undercoat is taken to be {undercoat_wet_um:g} µm wet at "
        f"{UNDERCOAT_SOLIDS:.0%} solids, and to hide as its colour lets one guess: defaults."
    )
    out = [undercoat]
    if paint.evidence == "colour":
        out.append(
            "Hiding is guessed from the colour; one time in three the true film is more than 1.4 "
            "times thinner or thicker. A label's contrast ratio narrows it, and a film over a "
            "black and white card (a drawdown) replaces it."
        )
    for patch, colour in zip(read.job.surface, read.patches, strict=True):
        out.extend(f"“{patch.name}”: {note}" for note in colour.notes)
        if patch.ground is None:
            taken = "bare wood" if patch.skin == "bare" else "sound varnish"
            out.append(f"“{patch.name}” is taken to be {taken}; say what it is if it is not.")
    if (lost > 0.0).any():
        out.append(
            f"Porous spots drink {float(lost.max()):.0%} of the first coat: a default; sealing "
            "them first avoids it."
        )
    if len(read.patches) > 1 and all(p.share is None for p in read.job.surface):
        out.append("No shares were given, so the patches are taken to be equally large.")
    sheen = read.job.topcoat.sheen
    if sheen == "matt":
        out.append(
            "A matt film adds up to about 4 % of surface light: dark colours dry lighter and "
            "greyer than a satin chip."
        )
    elif sheen == "gloss":
        out.append("Gloss looks deeper and darker than a matt chip of the same paint.")
    return out
