"""Paints measured by drawdown, as files keep them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import tomli_w


def paint_toml(table: Mapping[str, Any]) -> str:
    """The text of a paint file, from the table that a drawdown answer holds."""
    head = "# A paint measured by drawdown: name this file as paint_file under [topcoat].\n"
    return head + tomli_w.dumps(dict(table))
