"""The rooms are as the map in DEVELOPERS.md has them, and their records stay as they were made."""

from __future__ import annotations

import ast
import re
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import is_dataclass
from importlib import import_module
from pathlib import Path
from pkgutil import walk_packages

import pytest

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "service" / "showthrough"
ROW = re.compile(r"\| `([a-z]+(?:/[a-z]+)?)(/?)` \| (.*) \| (nothing|`.*`) \|")


def rooms_of(package: Path, apart: Iterable[str] = ()) -> dict[str, bool]:
    """Modules and folders of a package, and whether each is a folder.

    ``apart`` are folders of a room, as room/folder, that stand elsewhere than it and so are rooms.
    """
    modules = {p.stem: False for p in package.glob("*.py") if p.stem != "__init__"}
    inner = {name: True for name in apart if (package / name / "__init__.py").exists()}
    folders = {p.parent.name: True for p in package.glob("*/__init__.py")}
    # A folder that only holds rooms is none itself.
    for name in list(folders):
        parts = {f"{name}/{part}" for part in rooms_of(package / name)}
        if parts and parts <= set(inner):
            del folders[name]
    return modules | folders | inner


def room_of(steps: Sequence[str], rooms: Collection[str]) -> str | None:
    """The innermost room on the way to a module."""
    return next((r for n in (2, 1) if (r := "/".join(steps[:n])) in rooms), None)


def read_map(text: str) -> dict[str, tuple[bool, set[str], set[str]]]:
    """Of each room: whether it is a folder, the folders in it, and what it may import."""
    part = text.split("## Map of the rooms")[1].split("\n## ", maxsplit=1)[0]
    found = {}
    for line in part.splitlines():
        if row := ROW.fullmatch(line):
            name, folder, holds, may = row.groups()
            inner = re.findall(r"`([a-z]+)/`", holds)
            others = re.findall(r"`([a-z]+(?:/[a-z]+)?)`", may)
            found[name] = (bool(folder), set(inner), set(others))
    return found


def imported(node: ast.AST, rooms: set[str]) -> Iterator[str]:
    """Rooms that code imports when it runs: what stands under TYPE_CHECKING never runs."""
    if isinstance(node, ast.If) and ast.unparse(node.test).endswith("TYPE_CHECKING"):
        for other in node.orelse:
            yield from imported(other, rooms)
        return
    paths: list[str] = []
    if isinstance(node, ast.Import):
        paths = [alias.name for alias in node.names]
    elif isinstance(node, ast.ImportFrom):
        assert node.level == 0, "imports name the whole path, which this walk reads"
        paths = [f"{node.module}.{alias.name}" for alias in node.names]
    for path in paths:
        package, *steps = path.split(".")
        if package == PACKAGE.name and (room := room_of(steps, rooms)):
            yield room
    for child in ast.iter_child_nodes(node):
        yield from imported(child, rooms)


def imports_of(package: Path, rooms: set[str]) -> dict[str, set[str]]:
    """What each room imports from the others."""
    found: dict[str, set[str]] = {room: set() for room in rooms}
    for path in package.rglob("*.py"):
        room = room_of(path.relative_to(package).with_suffix("").parts, rooms)
        if room:
            tree = ast.parse(path.read_text(encoding="utf-8"))
            found[room] |= set(imported(tree, rooms)) - {room}
    return found


def disagreements(text: str, package: Path) -> list[str]:
    """Each line of the map that is not so, in words."""
    told = read_map(text)
    rooms = rooms_of(package, [room for room in told if "/" in room])
    real = imports_of(package, set(rooms))
    wrong = [f"{room} is not in the map" for room in sorted(rooms.keys() - told)]
    wrong += [f"{room} is no room" for room in sorted(told.keys() - rooms)]
    above: set[str] = set()
    for room, (folder, inner, may) in told.items():
        if room not in rooms:
            continue
        if folder != rooms[room]:
            wrong.append(f"{room} is {'a folder' if rooms[room] else 'a module'}")
        parts = {
            name
            for name, deep in rooms_of(package / room).items()
            if deep and f"{room}/{name}" not in rooms
        }
        wrong += [f"{room}/{name} is not in the map" for name in sorted(parts - inner)]
        wrong += [f"{room}/{name} is no folder" for name in sorted(inner - parts)]
        wrong += [f"{room} imports {other}" for other in sorted(real[room] - may)]
        wrong += [f"{room} does not import {other}" for other in sorted(may - real[room])]
        wrong += [f"{room} stands above {other}" for other in sorted(may - above)]
        above.add(room)
    return wrong


def test_the_map_is_the_tree_as_it_is():
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert disagreements(text, PACKAGE) == []


@pytest.mark.parametrize("room", ["film", "jobs.case", "workshop", "palette"])
def test_no_record_of_a_room_changes_once_it_is_made(room):
    # What is kept from one question to the next must be the same for both.
    package = import_module(f"showthrough.{room}")
    names = [found.name for found in walk_packages(package.__path__, f"{package.__name__}.")]
    records = {
        thing
        for module in map(import_module, names)
        for name, thing in vars(module).items()
        if is_dataclass(thing) and thing.__module__ == module.__name__ and name[0] != "_"
    }
    assert records
    assert {record for record in records if not record.__dataclass_params__.frozen} == set()


def test_the_map_is_held_to_what_is_imported(tmp_path):
    package = tmp_path / "showthrough"
    files = {
        "__init__.py": "",
        "low.py": "from __future__ import annotations\n",
        "old.py": "import json\n",
        "high/__init__.py": "",
        "high/near.py": "def f():\n    from showthrough import low\n",
        "high/far.py": (
            "import typing\n"
            "if typing.TYPE_CHECKING:\n    from showthrough.top import name\n"
            "else:\n    import showthrough.old\n"
        ),
        "high/deep/__init__.py": "from showthrough.high.near import f\n",
        "top.py": "from showthrough.high.deep import x\nfrom showthrough.low import y\n",
    }
    for name, text in files.items():
        (package / name).parent.mkdir(parents=True, exist_ok=True)
        (package / name).write_text(text, encoding="utf-8")
    rows = {
        "low": "| `low` | the least | nothing |",
        "old": "| `old` | more | nothing |",
        "high": "| `high/` | `deep/`: all | `low`, `old` |",
        "top": "| `top` | the edge | `high`, `low` |",
    }

    def told(**changed: str) -> list[str]:
        text = "\n".join(["## Map of the rooms", *(rows | changed).values(), "", "## Next"])
        return disagreements(text, package)

    assert told() == []
    assert told(top="| `top` | the edge | `high` |") == ["top imports low"]
    assert told(old="| `old` | more | `low` |") == ["old does not import low"]
    assert told(old="") == ["old is not in the map", "high stands above old"]
    assert told(more="| `more` | nought | nothing |") == ["more is no room"]
    assert told(low="| `low/` | the least | nothing |") == ["low is a module"]
    inside = "| `high/` | all | `low`, `old` |\n| `high/deep/` | apart | `high` |"
    assert told(high=inside, top="| `top` | the edge | `high/deep`, `low` |") == []
    assert told(high=inside) == ["top imports high/deep", "top does not import high"]
    assert told(high="| `high/` | `wide/`: all | `low`, `old` |") == [
        "high/deep is not in the map",
        "high/wide is no folder",
    ]
