"""What is imported is declared: a clean install has it, whatever else happens to bring it."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from collections.abc import Iterator, Mapping
from importlib.metadata import packages_distributions
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
SHIPPED = sorted((ROOT / "service").rglob("*.py"))
TESTS = sorted((ROOT / "tests").rglob("*.py"))

# Distributions of imports that may be absent here: the code does without them, or a script by hand
# asks for them.
MAY_BE_ABSENT = {
    "colour_checker_detection": ["colour-checker-detection"],
    "cosmic_ray": ["cosmic-ray"],
}
# Looked up once: it reads the file list of everything that is installed.
BRINGS: Mapping[str, list[str]] = {**MAY_BE_ABSENT, **packages_distributions()}


def plain(name: str) -> str:
    """A distribution's normal name (PEP 503)."""
    return re.sub(r"[-_.]+", "-", name).lower()


def declared(*groups: str) -> set[str]:
    """Distributions of ``dependencies`` and of the extras named."""
    lines = [*PROJECT["dependencies"]]
    for group in groups:
        lines += PROJECT["optional-dependencies"][group]
    return {plain(re.match(r"[\w.-]+", line)[0]) for line in lines}


def imported(text: str) -> Iterator[str]:
    """Top names that a module imports, wherever in it, by statement or by word."""
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            yield from (alias.name.partition(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
            yield node.module.partition(".")[0]
        elif isinstance(node, ast.Call) and node.args and isinstance(node.args[0], ast.Constant):
            called = node.func.attr if isinstance(node.func, ast.Attribute) else ""
            if called in {"import_module", "importorskip"}:
                yield str(node.args[0].value).partition(".")[0]


def undeclared(texts: Mapping[str, str], own: set[str], allowed: set[str]) -> dict[str, set[str]]:
    """Imports by place that no allowed distribution brings."""
    wrong: dict[str, set[str]] = {}
    for place, text in texts.items():
        for name in imported(text):
            if name in own or name in sys.stdlib_module_names:
                continue
            if allowed.isdisjoint(plain(d) for d in BRINGS.get(name, ())):
                wrong.setdefault(place, set()).add(name)
    return wrong


def texts_of(paths: list[Path]) -> dict[str, str]:
    return {p.relative_to(ROOT).as_posix(): p.read_text(encoding="utf-8") for p in paths}


def own_names() -> set[str]:
    """The package, and the folders and files that pytest's path makes importable in tests."""
    return {p.stem for p in (ROOT / "tests").iterdir() if p.is_dir() or p.suffix == ".py"}


def test_the_package_imports_what_its_dependencies_and_run_time_extras_declare():
    extras = [name for name in PROJECT["optional-dependencies"] if name != "test"]
    assert undeclared(texts_of(SHIPPED), {"showthrough"}, declared(*extras)) == {}


def test_the_tests_import_what_some_group_declares():
    allowed = declared(*PROJECT["optional-dependencies"])
    assert undeclared(texts_of(TESTS), {"showthrough"} | own_names(), allowed) == {}


def test_every_dependency_of_the_package_is_imported_by_it():
    # python-multipart is imported by the framework when a form is read (FastAPI's documentation).
    needed = {
        plain(distribution)
        for text in texts_of(SHIPPED).values()
        for name in imported(text)
        for distribution in BRINGS.get(name, ())
    }
    assert declared() - needed == {"python-multipart"}


def test_an_import_that_is_not_declared_is_found_wherever_it_stands():
    texts = {
        "top.py": "import json, pytest\nimport showthrough.film\n",
        "inside.py": "def f():\n    from hypothesis.strategies import text\n",
        "by_word.py": "import importlib\nimportlib.import_module('pluggy._hooks')\n",
        "nowhere.py": "import no_such_thing_at_all\n",
        "fine.py": "from numpy.linalg import norm\nfrom . import near\n",
    }
    assert undeclared(texts, {"showthrough"}, declared()) == {
        "top.py": {"pytest"},
        "inside.py": {"hypothesis"},
        "by_word.py": {"pluggy"},
        "nowhere.py": {"no_such_thing_at_all"},
    }


def test_a_dependency_left_out_is_missed():
    found = undeclared(
        texts_of(SHIPPED), {"showthrough"}, declared("chart", "postgresql") - {"scipy"}
    )
    assert found
    assert set().union(*found.values()) == {"scipy"}


def test_the_walk_sees_the_package_and_the_tests():
    # An empty walk would let everything pass.
    assert {"numpy", "pydantic", "scipy", "skimage"} <= {
        name for text in texts_of(SHIPPED).values() for name in imported(text)
    }
    assert "hypothesis" in {name for text in texts_of(TESTS).values() for name in imported(text)}
