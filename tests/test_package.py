"""The wheel carries all that is needed at run time and works from an empty folder."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]


@pytest.fixture(scope="module")
def unpacked(tmp_path_factory):
    """The built wheel's contents, in a folder of their own."""
    out = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(out)],
        cwd=ROOT,
        check=True,
        capture_output=True,
    )
    (wheel,) = out.glob("*.whl")
    target = out / "unpacked"
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(target)
    return target


def _run(unpacked: Path, tmp_path: Path, code: str) -> str:
    # -P keeps the current folder off the path; PYTHONPATH puts the wheel before an editable one.
    done = subprocess.run(
        [sys.executable, "-P", "-c", code],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(unpacked)},
        check=False,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_the_wheel_holds_swatches_tables_and_page_but_no_tests(unpacked):
    names = {p.relative_to(unpacked).as_posix() for p in unpacked.rglob("*") if p.is_file()}
    assert {
        "showthrough/swatches/topcoats.csv",
        "showthrough/swatches/surfaces.csv",
        "showthrough/swatches/finishes.csv",
        "showthrough/colour/data/weights.csv",
    } <= names
    assert any(n.startswith("showthrough/web/") and n.endswith(".html") for n in names)
    assert any(n.startswith("showthrough/web/") and n.endswith(".css") for n in names)
    assert any(n.startswith("showthrough/sheets/templates/") and n.endswith(".css") for n in names)
    assert not any("test" in n for n in names)


def test_the_wheel_predicts_from_an_empty_folder_with_a_sample_swatch(unpacked, tmp_path):
    code = (
        "import showthrough, json\n"
        "a = showthrough.predict({'topcoat': {'colour': 'lab(66 -24 55)'},"
        " 'surface': [{'colour': 'brown laminate'}]})\n"
        "print(json.dumps([showthrough.__file__, a.coats.likely, a.needs[0].kind]))"
    )
    where, likely, need = json.loads(_run(unpacked, tmp_path, code))
    assert Path(where).is_relative_to(unpacked)
    assert likely >= 1
    assert need == "adhesion"


def test_the_wheel_serves_its_page_from_an_empty_folder(unpacked, tmp_path):
    code = (
        "from starlette.testclient import TestClient\n"
        "from showthrough.web.app import create_app\n"
        "r = TestClient(create_app(), base_url='http://127.0.0.1').get('/')\n"
        "print(r.status_code, '<html' in r.text)"
    )
    assert _run(unpacked, tmp_path, code).split() == ["200", "True"]


def test_the_wheel_prints_a_sheet_from_an_empty_folder(unpacked, tmp_path):
    code = (
        "import showthrough\n"
        "job = {'topcoat': {'colour': '#888'}, 'surface': [{'colour': '#333'}]}\n"
        "print('@page' in showthrough.sheet(job))"
    )
    assert _run(unpacked, tmp_path, code).split() == ["True"]


@pytest.mark.parametrize("use_case", ["predict", "soften", "sweep", "palette_for"])
def test_a_use_case_starts_without_the_heavy_libraries(use_case):
    code = (
        "import sys, showthrough\n"
        "job = {'topcoat': {'colour': 'lab(66 -24 55)'}, 'surface': [{'colour': '6b4a2a'}]}\n"
        f"showthrough.{use_case}(job)\n"
        "print(sorted({'scipy', 'skimage', 'PIL', 'fastapi'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    assert done.stdout.strip() == "[]"
