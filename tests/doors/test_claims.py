"""What the package says of itself holds: names, imports, README, examples in docstrings."""

from __future__ import annotations

import ast
import doctest
import importlib
import json
import os
import pkgutil
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

import showthrough
from doors.doors import run
from doors.test_cli import commands

ROOT = Path(__file__).parents[2]
README = ROOT / "README.md"

PUBLIC = [
    "Colour",
    "HalfWay",
    "InputError",
    "Prediction",
    "Reading",
    "ShowthroughError",
    "WholeJob",
    "calendar",
    "ciede2000",
    "colour_of",
    "format_colour",
    "half_way",
    "paint_of_colour",
    "palette_for",
    "parse_colour",
    "plan",
    "plan_file",
    "predict",
    "predict_file",
    "sheet",
    "soften",
    "sweep",
]
HEAVY = ("colour", "skimage", "scipy", "fastapi", "pydantic", "PIL", "matplotlib", "starlette")


def loaded_after(code):
    """Top-level modules of a fresh interpreter after some code, and what it printed."""
    probe = (
        "import json, sys; print(json.dumps(sorted({m.partition('.')[0] for m in sys.modules})))"
    )
    done = subprocess.run(
        [sys.executable, "-c", f"{code}\n{probe}"],
        check=True,
        capture_output=True,
        text=True,
        env=os.environ,
    )
    return set(json.loads(done.stdout.splitlines()[-1]))


# --- the public library ----------------------------------------------------------------


def test_the_public_names_are_exactly_these():
    assert showthrough.__all__ == PUBLIC
    assert set(dir(showthrough)) == {*PUBLIC, "__version__"}


@pytest.mark.parametrize("name", PUBLIC)
def test_every_public_name_is_there_and_says_what_it_is(name):
    assert getattr(showthrough, name).__doc__


def test_a_name_that_is_not_there_is_an_attribute_error():
    with pytest.raises(AttributeError, match="no attribute 'colours'"):
        _ = showthrough.colours


def test_type_checkers_see_the_same_names():
    tree = ast.parse(Path(showthrough.__file__).read_text(encoding="utf-8"))
    (block,) = (
        node
        for node in tree.body
        if isinstance(node, ast.If) and getattr(node.test, "id", "") == "TYPE_CHECKING"
    )
    seen = [name.asname for node in block.body for name in node.names]
    assert sorted(seen) == sorted(PUBLIC)


@pytest.mark.parametrize("first", ["predict", "palette_for", "ciede2000"])
def test_public_names_stay_what_they_are_whatever_is_used_first(first):
    # A subpackage of the same name would take a function's place once it is imported.
    loaded_after(
        "import types, showthrough as s\n"
        f"s.{first}\n"
        "s.predict({'topcoat': {'colour': '#888'}, 'surface': [{'colour': '#333'}]})\n"
        "hidden = [n for n in s.__all__ if isinstance(getattr(s, n), types.ModuleType)]\n"
        "assert not hidden, hidden"
    )


# --- what import costs -----------------------------------------------------------------


def test_importing_the_package_imports_nothing_heavy_not_even_numpy():
    loaded = loaded_after("import showthrough")
    assert loaded.isdisjoint(HEAVY)
    assert "numpy" not in loaded


def test_colours_alone_need_numpy_and_nothing_else():
    loaded = loaded_after("from showthrough import parse_colour, colour_of, ciede2000, Reading")
    assert "numpy" in loaded
    assert loaded.isdisjoint(HEAVY)


def test_a_prediction_needs_pydantic_and_nothing_else_that_is_heavy():
    code = (
        "import contextlib, io\n"
        "from showthrough.cli.main import main\n"
        "with contextlib.redirect_stdout(io.StringIO()):\n"
        "    assert main(['predict', 'lab(66 -24 55)', '6b4a2a', '--json']) == 0"
    )
    loaded = loaded_after(code)
    assert "pydantic" in loaded
    assert loaded.isdisjoint(set(HEAVY) - {"pydantic"})


def test_the_help_of_the_command_line_needs_not_even_numpy():
    code = (
        "import contextlib, io\n"
        "from showthrough.cli.main import main\n"
        "with contextlib.redirect_stdout(io.StringIO()):\n"
        "    main([])"
    )
    assert loaded_after(code).isdisjoint({*HEAVY, "numpy"})


def test_the_probe_would_see_a_heavy_import():
    assert "pydantic" in loaded_after("import showthrough, pydantic")


# --- the README ------------------------------------------------------------------------


@pytest.fixture(scope="module")
def readme():
    return README.read_text(encoding="utf-8")


@pytest.mark.parametrize("command", commands())
def test_every_command_is_in_the_readme(command, readme):
    assert re.search(rf"\bshowthrough {command}\b", readme), command


def test_every_command_line_in_the_readme_can_be_read(readme):
    found = 0
    for block in re.findall(r"```sh\n(.*?)```", readme, re.DOTALL):
        for line in block.splitlines():
            words = shlex.split(line, comments=True)
            if words[:1] != ["showthrough"]:
                continue
            found += 1
            code, out, err = run(*words[1:], "--help")
            assert code == 0, (line, err)
            options = [w.partition("=")[0] for w in words if w.startswith("--")]
            assert all(option in out for option in options), line
    assert found >= 7


def test_the_python_of_the_readme_runs(readme, capsys):
    (code,) = re.findall(r"```python\n(.*?)```", readme, re.DOTALL)
    exec(compile(code, "README.md", "exec"), {})  # noqa: S102 - our own text
    assert capsys.readouterr().out.startswith("4 ")


def test_the_table_in_the_readme_is_what_the_command_prints(readme):
    (table,) = re.findall(r"<!-- practice -->\n(.*?)<!-- /practice -->", readme, re.DOTALL)
    assert run("practice", "--markdown")[1] == table


def test_the_plan_in_the_readme_is_what_the_command_prints(readme, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    (plan,) = re.findall(r"```text\n(.*?)```", readme, re.DOTALL)
    assert run("predict", ROOT / "examples" / "linen-cupboard.toml")[1] == plan


def test_files_that_the_readme_names_are_there(readme):
    for name in re.findall(r"\b(?:examples|swatches)/[\w./-]+\w", readme):
        assert (ROOT / name).exists(), name


# --- docstrings ------------------------------------------------------------------------


def with_examples():
    """Every module whose text holds an example."""
    names = ["showthrough"]
    for found in pkgutil.walk_packages(showthrough.__path__, "showthrough."):
        path = Path(importlib.util.find_spec(found.name).origin)
        if ">>>" in path.read_text(encoding="utf-8"):
            names.append(found.name)
    return names


@pytest.mark.parametrize("name", with_examples())
def test_examples_in_docstrings_run(name):
    outcome = doctest.testmod(importlib.import_module(name))
    assert outcome.attempted > 0
    assert outcome.failed == 0
