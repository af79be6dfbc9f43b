"""The values of the chart in hand: inline, from a table, from a collection; at every door."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from doors.doors import run
from showthrough.colour.difference import ciede2000
from showthrough.errors import InputError
from showthrough.jobs.photos.photos import read_chip
from showthrough.photo.calibrate.chart import average_chart

PHOTOS = Path(__file__).parents[2] / "examples" / "photos"
PHOTO = PHOTOS / "chip-chart.jpg"
TRUTH = json.loads((PHOTOS / "truth.json").read_text("utf-8"))["photos"]["chip-chart.jpg"]
AVERAGE = np.round(average_chart(), 3).tolist()
OTHER = np.round(average_chart() * [0.97, 1.06, 1.06], 3).tolist()
"""An invented copy whose colours are a little darker and stronger."""


def table(rows: Any) -> str:
    lines = [f"patch {i},{L},{a},{b}" for i, (L, a, b) in enumerate(rows, 1)]
    return "\n".join(["name,L,a,b", *lines]) + "\n"


def collection(rows: Any, light: str = "D65") -> str:
    # ISO 28178: keywords, fields and data of one table.
    data = "\n".join(f"P{i} {L} {a} {b}" for i, (L, a, b) in enumerate(rows, 1))
    return (
        f'CGATS.17\nWEIGHTING_FUNCTION "ILLUMINANT, {light}"\n'
        'WEIGHTING_FUNCTION "OBSERVER, 2 degree"\n'
        "NUMBER_OF_FIELDS 4\nBEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\n"
        f"NUMBER_OF_SETS {len(rows)}\nBEGIN_DATA\n{data}\nEND_DATA\n"
    )


def chip(folder: Path | None = None, **chart: Any) -> Any:
    request = TRUTH["request"]
    chart = {"corners": request["chart"]["corners"], **chart}
    return read_chip(PHOTO.read_bytes(), {**request, "chart": chart}, folder).colour


def test_the_averages_values_given_inline_read_as_without_any() -> None:
    assert ciede2000(chip().lab, chip(values=AVERAGE).lab) < 0.05


def test_other_values_are_gone_by() -> None:
    # Told that the chart is 3 % darker and 6 % stronger, the chip beside it is too.
    plain, other = chip(), chip(values=OTHER)
    assert 0.9 < other.lab[0] / plain.lab[0] < 0.99
    assert other.lab[2] / plain.lab[2] == pytest.approx(1.06, abs=0.03)


@pytest.mark.parametrize("write", [table, collection])
def test_a_file_says_the_same_as_values_inline(write: Any, tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text(write(OTHER), encoding="utf-8")
    assert chip(tmp_path, values_file="mine.txt").lab == pytest.approx(chip(values=OTHER).lab)


def test_values_for_another_light_are_brought_to_daylight() -> None:
    by_d50 = chip(values=AVERAGE, illuminant="D50")
    assert 0.1 < ciede2000(by_d50.lab, chip().lab) < 5.0


def test_the_command_line_takes_the_file(tmp_path: Path) -> None:
    file = tmp_path / "mine.csv"
    file.write_text(table(OTHER), encoding="utf-8")
    corners = ",".join(f"{v}" for point in TRUTH["request"]["chart"]["corners"] for v in point)
    region = ",".join(map(str, TRUTH["request"]["region"]))
    line = ("chip", str(PHOTO), "--region", region, "--chart", corners, "--light", "led", "--json")
    code, out, _ = run(*line, "--chart-values", str(file))
    assert code == 0
    assert json.loads(out)["colour"]["lab"] == pytest.approx(list(chip(values=OTHER).lab))


@pytest.mark.parametrize(
    ("chart", "field", "message"),
    [
        ({"values": AVERAGE[:23]}, "chart.values", "at least 24"),
        ({"values": AVERAGE[::-1]}, "chart.values", "reading order"),
        ({"values": [[500, 0, 0], *AVERAGE[1:]]}, "chart.values[1]", "L"),
        ({"values_file": "mine.csv"}, "chart.values_file", "inline"),
        ({"values": AVERAGE, "values_file": "mine.csv"}, "chart.values", "not both"),
        ({"values": AVERAGE, "illuminant": "moon"}, "chart", "moon"),
    ],
)
def test_what_cannot_be_a_chart_is_refused(chart: Any, field: str, message: str) -> None:
    with pytest.raises(InputError) as caught:
        chip(**chart)
    told = {p.field: p.message for p in caught.value.problems}
    assert any(key.startswith(field) and message in text for key, text in told.items()), told


@pytest.mark.parametrize(
    ("text", "message"),
    [(table(OTHER[:20]), "has 24 colours, these are 20"), ("nonsense", "header"), ("", "")],
)
def test_a_file_that_holds_no_chart_is_refused(text: str, message: str, tmp_path: Path) -> None:
    (tmp_path / "mine.csv").write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        chip(tmp_path, values_file="mine.csv")
    assert all(p.field.startswith("chart.values") for p in caught.value.problems)
    assert message in str(caught.value)
