"""Sentences for a painter: reasons and assumptions of a prediction."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from showthrough.colour.lights import WAVELENGTHS, FloatArray
from showthrough.colour.names import describe_colour, with_article
from showthrough.film.coats import (
    MOST_COATS,
    FilmBuild,
    even_order,
    thin_spot_coats,
)
from showthrough.film.hiding import Paint
from showthrough.film.undercoat import UNDERCOAT_SOLIDS, UNDERCOAT_WET_UM
from showthrough.say.chances import chance_words, plural

if TYPE_CHECKING:
    from showthrough.film.knowledge import Fact
    from showthrough.jobs.answers.prediction import Coats, HidingShown, PatchShown, WayShown
    from showthrough.jobs.case.paints import PreparedTopcoat
    from showthrough.jobs.case.prepared import PreparedJob


def topcoat_name(topcoat: PreparedTopcoat) -> str:
    """The painter's name for the topcoat, else its colour in words."""
    return topcoat.name or describe_colour(topcoat.chip_lab)


def why_no_count(likely: int | None, high: int | None, unsound: Sequence[str]) -> str | None:
    """Why a count is null, or None where all counts are there.

    ``unsound`` holds the work that an old finish needs before it carries any coat.
    """
    if unsound:
        return " ".join(unsound)
    if likely is None:
        return f"Straight onto the prepared surface {MOST_COATS} topcoats are probably not enough."
    if high is None:
        return (
            f"Straight onto the prepared surface, to be 9 in 10 sure takes more than {MOST_COATS} "
            "topcoats."
        )
    return None


def off(delta_e: float) -> str:
    """A colour difference to one decimal; two where one would hide that it is above 1."""
    if 1.0 < delta_e < 1.05:
        return f"{max(delta_e, 1.01):.2f}"
    return f"{delta_e:.1f}"


def parts_words(parts: dict[str, float]) -> str:
    """A mix to the nearest twentieth: more would claim to know the painter's white and black."""
    twentieths = {word: round(20.0 * part) for word, part in parts.items()}
    shared = math.gcd(*twentieths.values()) or 1
    counts = ((n // shared, word) for word, n in twentieths.items() if n)
    return ", ".join(f"{plural(n, 'part')} {word}" for n, word in counts)


def _weak_band(paint: Paint) -> str:
    """Where a film lets most light through to the ground, in words."""
    k, s = paint.absorption, paint.scattering
    depth = np.sqrt(k * (k + 2.0 * s))
    weakest = float(WAVELENGTHS[2:29][np.argmin(depth[2:29])])
    return next((word for end, word in _BANDS if weakest < end), "red")


_BANDS = ((490.0, "blue"), (570.0, "green"), (600.0, "yellow"))
"""Wavelengths, nm, at which the light of a colour ends."""


def reasons(
    hiding: HidingShown,
    paint: Paint,
    chip_lab: FloatArray,
    coats: Coats,
    patches: list[PatchShown],
    ways: Sequence[WayShown],
    build: FilmBuild,
    own_um: float,
    *,
    delta_e: float,
    learned: float,
) -> list[str]:
    """Why this many coats, and what would change it.

    ``own_um`` is the film that hides black and white: what the paint can do, whatever it goes
    over. ``delta_e`` is the greatest CIEDE2000 of a patch to the chip. Finished jobs made the film
    that hides so many times as thick as ``learned`` says.
    """
    hardest = max(patches, key=lambda p: math.inf if p.critical_um is None else p.critical_um)
    cover = _hiding_reason(paint, chip_lab, own_um / learned)
    little = _little_to_cover(own_um, delta_e, patches)
    out = [f"{cover}{little}{_own_jobs(learned)} {trust(hiding)}"]
    out += _narrowing(hiding, coats)
    alone = hiding.by_colour_alone
    if alone is not None:
        out.append(
            f"By its colour alone it would be {_range(alone.low, alone.likely, alone.high)}; with "
            f"better evidence it is {_range(coats.low, coats.likely, coats.high)}."
        )
    if hardest.critical_um is None:
        out.append(f"No film of this paint hides “{hardest.name}”.")
    else:
        where = f" over “{hardest.name}”" if len(patches) > 1 else ""
        out.append(
            f"To look like the chip{where} the thinnest tenth needs {hardest.critical_um:.0f} µm "
            f"of dry film. One coat leaves {build.dry_film_thickness_um:.0f} µm on average "
            f"({build.wet_film_thickness_um:g} µm wet at {build.volume_solids:.0%} solids), "
            "and less there."
        )
        if coats.likely is not None:
            thin = (
                float(thin_spot_coats(coats.likely, 0.0, build.evenness_cv))
                * build.dry_film_thickness_um
            )
            leave = "leaves" if coats.likely == 1 else "leave"
            out.append(
                f"With no shade under them {plural(coats.likely, 'topcoat')} {leave} about "
                f"{thin:.0f} µm in the thinnest tenth; the chance that this is enough is "
                f"{chance_words(coats.enough[coats.likely])}."
            )
    evenness = _evenness(coats, len(patches))
    if evenness:
        out.append(evenness)
    if coats.likely is not None and coats.likely < coats.advised_least:
        out.append(
            f"For a sound, washable film {coats.advised_least} topcoats are planned all the same "
            "(common practice, no source)."
        )
    if ways:
        out.append(_undercoat_reason(ways))
    return out


def _evenness(coats: Coats, patches: int) -> str:
    """When the patches no longer show, and why that may be later than the full colour."""
    order = even_order(coats.likely, coats.even_after, patches)
    if order == "alone" or (order == "never" and coats.likely is None):
        return ""
    if order == "never":
        return (
            f"Each patch passes for the chip by itself after {plural(coats.likely or 0, 'coat')}, "
            f"but side by side they still differ after {MOST_COATS}."
        )
    even = plural(coats.even_after or 0, "coat")
    if order in {"before", "together"}:
        rest = "; the full colour takes longer" if order == "before" else ", with the full colour"
        return f"With no shade under it the patches stop showing side by side after {even}{rest}."
    return (
        f"Each patch passes for the chip by itself after {plural(coats.likely or 0, 'coat')}, one "
        "a little to one side of it and another to the other; side by side they differ until "
        f"{even} are on."
    )


def _range(low: int | None, likely: int | None, high: int | None) -> str:
    """A count with its range: "4 coats (3 to 6)"."""
    over = f"more than {MOST_COATS}"
    if likely is None:
        return f"{over} coats"
    return f"{plural(likely, 'coat')} ({low or over} to {high or over})"


_POOR_UM, _MIDDLING_UM = 40.0, 30.0
"""Films, over black or white, from which a paint is said to cover poorly, and middling well."""

_ALREADY = 2.0
"""CIEDE2000 up to which a surface is said to have the topcoat's colour already."""

_DARK_L = 35.0
_LIGHT_L, _LIGHT_CHROMA = 80.0, 20.0


def _little_to_cover(own: float, delta_e: float, patches: Sequence[PatchShown]) -> str:
    """What the surface makes of it, where that is less than the paint itself lets expect."""
    if delta_e <= _ALREADY:
        return " The surface has this colour already."
    films = [math.inf if patch.critical_um is None else patch.critical_um for patch in patches]
    if own > _MIDDLING_UM and max(films) < 0.5 * own:
        return " Over this surface there is little to cover."
    return ""


def _hiding_reason(paint: Paint, chip_lab: FloatArray, own_um: float) -> str:
    """How well a paint of this kind covers and why: no judgement on the surface, nor on one can."""
    kind = with_article(describe_colour(chip_lab)).capitalize()
    pale = chip_lab[0] > _LIGHT_L and float(np.hypot(*chip_lab[1:])) < _LIGHT_CHROMA
    if own_um > _POOR_UM:
        text = (
            f"{kind} covers slowly: it has nothing dark in it, so what is dark greys it for long"
            if pale
            else f"{kind} covers poorly: most of the {_weak_band(paint)} light that falls on it "
            "goes through and brings back the colour of what lies under it"
        )
    elif own_um > _MIDDLING_UM:
        text = (
            f"{kind} covers middling well; what shows through is mostly {_weak_band(paint)} light"
        )
    elif chip_lab[0] < _DARK_L:
        text = f"{kind} covers well: even a thin film swallows nearly all light"
    else:
        text = f"{kind} covers well: little light of any colour gets through it and back"
    return f"{text}."


_TOLD = 1.1
"""A factor of the film that hides from which a painter is told of it."""


def _own_jobs(learned: float) -> str:
    """What finished jobs make of the paint, where it is another than others of its kind."""
    if 1.0 / _TOLD < learned < _TOLD:
        return ""
    more = "more" if learned > 1.0 else "fewer"
    return (
        f" In your own jobs it took {more} coats than that lets expect: the film that hides is "
        f"reckoned {learned:.1f} times as thick."
    )


_DRAWDOWN = "a film over a black and white card (a drawdown)"

_BEYOND_COLOUR = {
    "drawdown": f"{_DRAWDOWN}, measured",
    "spectrum": f"{_DRAWDOWN}, measured with spectra",
}


def rests_on(paint: Paint) -> str:
    """What a paint's hiding power is known from, to stand after "rests on"."""
    if paint.evidence == "jobs":
        return f"your finished jobs, and before them on {paint.facts.in_words()}"
    return _BEYOND_COLOUR.get(paint.evidence) or paint.facts.in_words()


def trust(hiding: HidingShown) -> str:
    """What the hiding power rests on, and how far the film that hides may be out."""
    factor = f"{max(hiding.spread, 1.01):.2f}" if hiding.spread < _WIDE else f"{hiding.spread:.1f}"
    return (
        f"Hiding power rests on {hiding.rests_on}: one time in three the film that hides is more "
        f"than {factor} times thinner or thicker (a factor of one standard deviation)."
    )


_WIDE = 1.5
"""A factor of one standard deviation that a painter had better see narrowed."""

QUESTIONS: dict[Fact, str] = {
    "pigment": "whether its pigments are opaque (iron or chrome oxide, carbon, earths) or "
    "transparent (bright organic pigments, ultramarine)",
    "body": "whether it is tinted from a white or pale paint or mixed from a paint with little "
    "white",
    "tio2_share": "how much titanium dioxide the dry film of the paint that was tinted holds",
}
_ANSWERS: dict[str | float, str] = {
    "opaque": "with opaque ones",
    "transparent": "with transparent ones",
    "pastel": "from a white or pale paint",
    "deep": "from one with little white",
}


def _narrowing(hiding: HidingShown, coats: Coats) -> list[str]:
    """What a painter could find out about the paint, and what it would make of the count."""
    fact = hiding.would_narrow
    out = []
    if fact is not None:
        each = (
            f"{_range(a.low, a.likely, a.high)} {_ANSWERS.get(a.answer) or f'at {a.answer:.0%}'}"
            for a in fact.answers
        )
        now = _range(coats.low, coats.likely, coats.high)
        out.append(
            f"If you knew {fact.question}, it would be {' or '.join(each)} in place of {now}."
        )
    if hiding.evidence == "colour" and hiding.spread >= _WIDE:
        out.append(f"Surest is to measure it: {_DRAWDOWN}.")
    return out


_WORTH_SAYING = 0.2
"""Expected coats below which a saving is none to a painter."""


def _undercoat_reason(ways: Sequence[WayShown]) -> str:
    """What a coat under the topcoat would save, as the ways have it."""
    coloured = [way for way in ways if way.hex is not None]
    best = max(coloured, key=lambda way: way.saves, default=None)
    if best is None or best.saves < _WORTH_SAYING:
        return "No shade under the topcoat saves a coat here."
    shown = ways[0] if ways[0].hex is not None and ways[0].saves >= _WORTH_SAYING else best
    return (
        f"With {shown.name} {shown.expected_coats:.1f} coats are to be expected in all, "
        f"{shown.saves:.1f} fewer than with the simplest way."
    )


def assumptions(job: PreparedJob) -> list[str]:
    """What the answer takes for granted, beside film and label."""
    undercoat = (
        f"One coat of undercoat is taken to be {UNDERCOAT_WET_UM:g} µm wet at "
        f"{UNDERCOAT_SOLIDS:.0%} solids, and to hide as its colour lets one guess: defaults."
    )
    out = [undercoat]
    if job.topcoat.paint.evidence == "colour":
        out.append(
            "Hiding is guessed: a label's contrast ratio narrows the guess, and a film over a "
            "black and white card (a drawdown) replaces it."
        )
    for patch in job.substrates:
        out.extend(f"“{patch.name}”: {note}" for note in patch.colour.notes)
        if patch.ground.kind == "unknown":
            taken = "bare wood" if patch.skin == "bare" else "an old finish of unknown kind"
            out.append(f"“{patch.name}” is taken to be {taken}; say what it is if it is not.")
    if job.drinks.any():
        out.append(
            f"What is porous drinks {float(job.drinks.max()):.0%} of the first coat where it is "
            "not sealed first: a default."
        )
    if len(job.groups) > 1 and job.part is not None:
        out.append(f"Of {len(job.groups)} groups this is “{job.part.name}”, the largest one.")
    if len(job.substrates) > 1 and not any(s.share_stated for s in job.substrates):
        out.append("No shares were given, so the patches are taken to be equally large.")
    return out
