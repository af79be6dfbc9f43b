"""An answer in sentences that only the page needs; every figure is one of the answer's."""

from __future__ import annotations

from showthrough.jobs.answers.prediction import FilmShown, Prediction
from showthrough.jobs.answers.whole import WholeJob
from showthrough.say.chances import capital, chance_words, count_words

_BASIS = {
    "stated": "as you stated",
    "paint used": "from the paint used",
    "tool": "a default for the tool",
    "finished jobs": "from your finished jobs",
}
_TOOLS = {"brush": "brushed", "roller": "rolled", "spray": "sprayed", "aerosol": "from the aerosol"}


def sureness(answer: WholeJob | Prediction) -> str:
    """What one coat more would make of it."""
    if not answer.ways or answer.ways[0].topcoats is None:
        return answer.coats.reason or ""
    lead = answer.ways[0]
    if chance_words(lead.chance_one_more) == chance_words(lead.chance):
        return ""
    return f"With one topcoat more it is {chance_words(lead.chance_one_more)} sure."


def figures_line(answer: Prediction) -> str:
    """The colours as a screen shows them, and how much of the surface each patch is."""
    shares = ", ".join(
        f"{patch.name} {patch.hex} ({100 * patch.share:.3g}% of the area)"
        for patch in answer.patches
    )
    note = f"{answer.topcoat_note} " if answer.topcoat_note else ""
    return f"{note}{capital(answer.topcoat_name)} {answer.topcoat.hex} over {shares}."


def evenness(answer: Prediction) -> str:
    """When the patches stop showing against each other."""
    coats = answer.coats
    if coats.even_after is None:
        return "" if len(answer.patches) == 1 else coats.even_reason or ""
    if coats.even_after == 0:
        return "The patches look alike before you start."
    even = count_words(coats.even_after)
    return f"Straight onto the prepared surface no edge between the patches shows after {even}."


def film_line(film: FilmShown) -> str:
    """What one coat lays down."""
    return (
        f"One coat: {film.coat}, {_TOOLS[film.tool]}, {film.wet_film_um:.3g} µm wet "
        f"({_BASIS[film.basis]}) at {100 * film.volume_solids:.3g}% solids leaves "
        f"{film.dry_film_um:.3g} µm dry."
    )
