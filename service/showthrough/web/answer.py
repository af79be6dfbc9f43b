"""An answer in the shapes that the page draws: words of the headline, rows of the ladder.

Nothing is reckoned here: every figure is one of the prediction's.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from showthrough.jobs.answers.prediction import (
    FilmShown,
    LadderStep,
    PatchStep,
    Prediction,
)
from showthrough.say.chances import chance_words, count_words, listed

_BASIS = {
    "stated": "as you stated",
    "paint used": "from the paint used",
    "tool": "a default for the tool",
    "finished jobs": "from your finished jobs",
}
_TOOLS = {"brush": "brushed", "roller": "rolled", "spray": "sprayed", "aerosol": "from the aerosol"}


def capital(text: str) -> str:
    """The text with a capital first letter, the rest as it is."""
    return text[:1].upper() + text[1:]


def signed(value: float) -> str:
    """Two decimals with their sign; a true minus, and no sign on nothing."""
    text = f"{abs(value):.2f}"
    if text == "0.00":
        return text
    return f"\N{MINUS SIGN}{text}" if value < 0.0 else f"+{text}"


def sureness(answer: Prediction) -> str:
    """How sure the plan is, and what one coat more would make of it."""
    if not answer.ways or answer.ways[0].topcoats is None:
        return answer.coats.reason or ""
    lead = answer.ways[0]
    if chance_words(lead.chance_one_more) == chance_words(lead.chance):
        return ""
    return f"With one topcoat more it is {chance_words(lead.chance_one_more)} sure."


def job_line(answer: Prediction) -> str:
    """What is painted over what; the printed sheet has no form beside it."""
    names = [patch.name for patch in answer.patches]
    if len(names) > _FEW_NAMES:
        return f"{capital(answer.topcoat_name)} over {len(names)} patches."
    return f"{capital(answer.topcoat_name)} over {listed(names)}."


_FEW_NAMES = 4


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


@dataclass(frozen=True, slots=True)
class LadderRow:
    """One row of fields."""

    label: str
    note: str
    step: LadderStep

    def farthest(self, film: str) -> float:
        """Largest difference to the chip in this row; ``film`` is mean or thin."""

        def off(patch: PatchStep) -> float:
            return (patch.mean if film == "mean" else patch.thin).difference

        return max(off(patch) for patch in self.step.patches)


@dataclass(frozen=True, slots=True)
class Ladder:
    """The surface fading into the chip."""

    name: str
    title: str
    lead: str
    rows: tuple[LadderRow, ...]


def ladder_rows(steps: Sequence[LadderStep], ground: str, likely: int | None) -> list[LadderRow]:
    """Rows of a ladder; ``ground`` is what its first row shows."""
    return [
        LadderRow(
            ground if step.coat == 0 else count_words(step.coat),
            "likely" if step.coat == likely else "",
            step,
        )
        for step in steps
    ]


def ladders(answer: Prediction) -> list[Ladder]:
    """The ladder straight onto the prepared surface, and over the undercoat that saves most."""
    likely = answer.coats.likely
    rows = ladder_rows(answer.ladder, "ground", likely)
    needed = answer.coats.ground_coats
    title = "Over the clear coat that the surface needs" if needed else "Straight onto the surface"
    what = "topcoat" if needed else "coat"
    out = [Ladder("plain", title, f"{count_words(likely, what)} likely", tuple(rows))]
    if answer.undercoat_ladder and answer.best_undercoat is not None:
        best = answer.undercoats[answer.best_undercoat - 1]
        under = ladder_rows(answer.undercoat_ladder, "undercoat", best.topcoats)
        lead = f"{count_words(best.topcoats, 'topcoat')}, {best.total} coats in all"
        out.append(Ladder("under", f"Over the {best.name}", lead, (rows[0], *under)))
    return out
