"""First names for the patches of a surface, which the user may change."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from showthrough.colour.names import describe_colour
from showthrough.colour.space import lab_to_lch

_ALL_OVER = 0.72
"""Spread of a patch over that of the surface from which it runs all over the surface."""

_CLEARLY = 6.0
"""Difference in L* that makes a patch pale or dark beside the rest."""

_WOOD_HUES = (35.0, 100.0)
_WOOD_CHROMA = (6.0, 50.0)
"""Bare woods lie within these (published colours of woods, rounded)."""


def patch_names(
    labs: Sequence[tuple[float, float, float]], shares: Sequence[float], spreads: Sequence[float]
) -> list[str]:
    """A name for each patch.

    Args:
        labs: CIELAB of the patches.
        shares: shares of the surface.
        spreads: how far each reaches over the surface, 1 = all over.
    """
    wide = [i for i, spread in enumerate(spreads) if spread >= _ALL_OVER]
    if not wide:
        wide = [int(np.argmax(shares))]
    names = dict(zip(wide, _ground_names([labs[i] for i in wide]), strict=True))
    ground = sum(labs[i][0] * shares[i] for i in wide) / sum(shares[i] for i in wide)
    for i, lab in enumerate(labs):
        if i not in names:
            names[i] = _local_name(lab, lab[0] - ground)
    return _told_apart([names[i] for i in range(len(labs))])


def _wooden(lab: tuple[float, float, float]) -> bool:
    _, chroma, hue = lab_to_lch(lab)
    return bool(
        _WOOD_HUES[0] <= hue <= _WOOD_HUES[1] and _WOOD_CHROMA[0] <= chroma <= _WOOD_CHROMA[1]
    )


def _ground_names(labs: Sequence[tuple[float, float, float]]) -> list[str]:
    """Names of patches that run all over the surface, by lightness."""
    if len(labs) == 1:
        return ["main surface"]
    noun = "grain" if all(_wooden(lab) for lab in labs) else "part"
    order = np.argsort([-lab[0] for lab in labs], kind="stable")
    names = [""] * len(labs)
    for rank, i in enumerate(order):
        word = "light" if rank == 0 else "dark" if rank == len(labs) - 1 else "middle"
        names[i] = f"{word} {noun}"
    return names


def _local_name(lab: tuple[float, float, float], above: float) -> str:
    """Name of a patch that lies in one place."""
    if not _wooden(lab) and float(np.hypot(lab[1], lab[2])) >= _WOOD_CHROMA[0]:
        return f"{describe_colour(lab)} patch"
    if above > _CLEARLY:
        return "filler or pale patch"
    if above < -_CLEARLY:
        return "dark patch"
    return "other patch"


def _told_apart(names: list[str]) -> list[str]:
    """The same names with a number where one comes twice."""
    seen: dict[str, int] = {}
    told = []
    for name in names:
        seen[name] = seen.get(name, 0) + 1
        told.append(name if seen[name] == 1 else f"{name} {seen[name]}")
    return told
