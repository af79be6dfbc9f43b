"""A measured paint as a text that a form and a link can hold."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from showthrough.files import toml_table


def paint_table_of(text: str) -> Any:
    """The table that a paint file's text holds; the text itself where it holds none."""
    try:
        return toml_table(text)
    except ValueError:
        return text


def paint_text(table: Mapping[str, Any]) -> str:
    """A measured paint as the text of a paint file, short enough for a link.

    What was measured beside K and S is left out: nothing is reckoned from it.
    """
    out = []
    for key, value in table.items():
        if isinstance(value, list) and key != "notes":
            out.append(f"{key}=[{','.join(f'{v:g}' for v in value)}]")
        elif isinstance(value, Mapping) and key != "measured":
            out.append(f"{key}={{{','.join(f'{k}={v:g}' for k, v in value.items())}}}")
        elif isinstance(value, str) and value:
            # What JSON escapes, TOML escapes in the same way.
            out.append(f"{key}={json.dumps(value, ensure_ascii=False)}")
        elif isinstance(value, int | float):
            out.append(f"{key}={value:g}")
    return "\n".join(out)
