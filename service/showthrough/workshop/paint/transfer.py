"""How much of the paint used stays on the piece, by tool and by how open the piece is.

A regulator's figures are what a rule assumes of a whole trade, not what a chair gets:
they are here to compare with and no default is taken from them.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from showthrough.defaults import Default, defaults_of, every_default

TOOLS = ("brush", "roller", "hvlp", "conventional", "aerosol")
"""Tools by what they lose: two spray guns (high volume at low pressure, and conventional)."""

SPRAY_GUNS = frozenset({"hvlp", "conventional"})
"""Those of them that a compressor or turbine drives."""

OPENNESS = ("flat panel", "carcass", "chair or spindles")
"""How much of the spray meets the piece."""


class Transfer(NamedTuple):
    """Part of the paint used that stays on the piece, and its geometric sd."""

    part: Default
    geometric_sd: Default


def _transfer(tool: str, openness: str) -> Transfer:
    part = every_default()[f"transfer.{tool} {openness}"]
    return Transfer(part, Default(part.sd or 1.0, "factor either way", part.source))


TRANSFER_DEFAULTS: Mapping[tuple[str, str], Transfer] = {
    (tool, openness): _transfer(tool, openness) for tool in TOOLS for openness in OPENNESS
}
"""By tool and openness. The geometric sds of a conventional gun and of aerosol cans are those of
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


SESSION_LOSS_ML = defaults_of("left in the tool")
"""Left in tool and cup each session, of the mixed paint."""

AEROSOL_WET_UM = every_default()["wet film.aerosol light"]
"""One light coat from an aerosol can."""

AEROSOL_SOLIDS = every_default()["film.aerosol solids"]
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
    return every_default()[f"wet film.{_FILM_TOOL.get(tool, tool)} {usual}"]
