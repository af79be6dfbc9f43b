"""How much of the paint used stays on the piece, by tool and by how open the piece is.

A regulator's figures are what a rule assumes of a whole trade, not what a chair gets:
they are here to compare with and no default is taken from them.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from showthrough.film.coats import WET_FILM_UM
from showthrough.workshop.defaults import COMMON_PRACTICE, MEMORY, Default

TOOLS = ("brush", "roller", "hvlp", "conventional", "aerosol")
"""Tools by what they lose: two spray guns (high volume at low pressure, and conventional)."""

SPRAY_GUNS = frozenset({"hvlp", "conventional"})
"""Those of them that a compressor or turbine drives."""

OPENNESS = ("flat panel", "carcass", "chair or spindles")
"""How much of the spray meets the piece."""

_LOW_HIGH = {"brush": (0.90, 0.97), "roller": (0.90, 0.97)}
_PARTS = {
    "brush": (0.95, 0.95, 0.95),
    "roller": (0.95, 0.95, 0.95),
    "hvlp": (0.65, 0.50, 0.25),
    "conventional": (0.35, 0.25, 0.15),
    "aerosol": (0.50, 0.35, 0.20),
}
_SPREADS = (1.2, 1.3, 1.5)
_HAND_SPREAD = 1.03
"""Of brush and roller (from memory)."""


class Transfer(NamedTuple):
    """Part of the paint used that stays on the piece, and its spread."""

    part: Default
    spread: Default


def _table() -> dict[tuple[str, str], Transfer]:
    rows = {}
    for tool in TOOLS:
        low, high = _LOW_HIGH.get(tool, (None, None))
        for part, sprayed, open_as in zip(_PARTS[tool], _SPREADS, OPENNESS, strict=True):
            spread = _HAND_SPREAD if tool in _LOW_HIGH else sprayed
            rows[tool, open_as] = Transfer(
                Default(part, "of the paint used", COMMON_PRACTICE, low, high),
                Default(spread, "factor either way", COMMON_PRACTICE),
            )
    return rows


TRANSFER_DEFAULTS: Mapping[tuple[str, str], Transfer] = _table()
"""By tool and openness. The spreads of a conventional gun and of aerosol cans are those of
the other gun on the same kind of piece."""

USUAL_OPENNESS = OPENNESS[0]
"""What is taken where the painter does not say."""


def tool_class(tool: str, gun: str | None = None) -> str:
    """A tool by what it loses: one of ``TOOLS``; a spray gun of no stated kind is ``hvlp``."""
    return (gun or "hvlp") if tool == "spray" else tool


def transfer_of(tool: str, gun: str | None = None, openness: str | None = None) -> Transfer:
    """Part of the paint used that stays on the piece.

    Args:
        tool: brush, roller, spray or aerosol.
        gun: hvlp or conventional; None takes the first.
        openness: one of ``OPENNESS``; None takes a flat panel.
    """
    return TRANSFER_DEFAULTS[tool_class(tool, gun), openness or USUAL_OPENNESS]


REGULATORY: Mapping[str, Default] = {
    "air or airless spray": Default(0.25, "of the solids", "40 CFR 60.313 table 1"),
    "manual electrostatic spray": Default(0.60, "of the solids", "40 CFR 60.313 table 1"),
    "dip coating": Default(0.90, "of the solids", "40 CFR 60.313 table 1"),
}
"""What a US rule assumes for metal furniture; for comparison only."""

SESSION_LOSS_ML: Mapping[str, Default] = {
    "brush": Default(15.0, "ml", COMMON_PRACTICE),
    "roller": Default(100.0, "ml", COMMON_PRACTICE + " (foam roller 40, tray 60)"),
    "hvlp": Default(45.0, "ml", COMMON_PRACTICE + ", without a hose", 30.0, 60.0),
    "conventional": Default(45.0, "ml", COMMON_PRACTICE + ", without a hose", 30.0, 60.0),
    "aerosol": Default(0.0, "ml", COMMON_PRACTICE),
}
"""Left in tool and cup each session, of the mixed paint."""

AEROSOL_WET_UM = Default(100.0, "µm of can content on the piece", COMMON_PRACTICE)
"""One light coat from an aerosol can."""

AEROSOL_SOLIDS = Default(0.13, "of the can content", COMMON_PRACTICE)
"""Volume solids of the can content, propellant included: 13 µm dry each light coat."""

_FILM_TOOL = {"hvlp": "spray", "conventional": "spray"}


def usual_wet_film(tool: str, coat: str = "") -> Default:
    """Wet film of one coat where the painter does not say, µm (thinned, as it lies).

    Args:
        tool: one of ``TOOLS``.
        coat: light or full; "" is light for guns and aerosol cans, full otherwise.
    """
    if tool == "aerosol":
        return AEROSOL_WET_UM
    usual = coat or ("light" if tool in _FILM_TOOL else "full")
    return Default(WET_FILM_UM[_FILM_TOOL.get(tool, tool), usual], "µm wet", MEMORY)
