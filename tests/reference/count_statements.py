"""Prints the statements of the service, by room: ``python tests/reference/count_statements.py``.

A statement is one of Python's own syntax tree, so docstrings count and lay-out does not.
"""

from __future__ import annotations

import ast
import sys
from collections import Counter
from pathlib import Path

PACKAGE = Path(__file__).resolve().parents[2] / "service" / "showthrough"


def statements(package: Path) -> Counter[str]:
    """Statements in each room."""
    found: Counter[str] = Counter()
    for path in package.rglob("*.py"):
        nodes = ast.walk(ast.parse(path.read_text("utf-8")))
        room = path.relative_to(package).parts[0].removesuffix(".py")
        found[room] += sum(isinstance(node, ast.stmt) for node in nodes)
    return found


if __name__ == "__main__":
    by_room = statements(PACKAGE)
    for room, count in by_room.most_common():
        sys.stdout.write(f"{room:<10} {count:6}\n")
    sys.stdout.write(f"{'in all':<10} {by_room.total():6}\n")
