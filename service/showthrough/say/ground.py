"""What the ground needs, in sentences."""

from __future__ import annotations

from showthrough.say.chances import listed, plural
from showthrough.workshop.grounds import Need


def need_sentence(need: Need) -> str:
    """One need: which patches, why, and the coat that meets it."""
    coats = f"{plural(need.coats, 'coat')} of {need.product.name}"
    where = "all over" if need.all_over else "there alone"
    instead = f" Or {need.instead}, never both." if need.instead else ""
    return f"{listed(need.patches)}: {need.why}. {coats.capitalize()} {where}.{instead}"
