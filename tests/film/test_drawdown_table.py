"""A measured paint kept as a plain table, and read back."""

from __future__ import annotations

import json
import tomllib

import numpy as np
import pytest
import tomli_w

from showthrough.colour.reading import Reading
from showthrough.errors import IllConditionedError, InputError
from showthrough.film.drawdown.film import Surface
from showthrough.film.drawdown.measure import examine_drawdown
from showthrough.film.drawdown.readings import CardReading, DrawdownReadings
from showthrough.film.drawdown.table import paint_from_table, paint_to_table
from showthrough.film.hiding import Paint, paint_from_colour

FOUR = ((9.0, 0.0, 0.0), (94.0, -0.5, 1.5), (62.0, -20.0, 38.0), (67.0, -23.0, 50.0))


def measured(over_black=FOUR[2], **more):
    labs = (*FOUR[:2], over_black, FOUR[3])
    readings = [CardReading(Reading(lab=lab)) for lab in labs]
    return examine_drawdown(DrawdownReadings(*readings, 100.0, 0.4, **more), draws=8)


def whole_table():
    return paint_to_table(Paint(np.full(31, 0.05), np.full(31, 0.2), 1.2, "drawdown"))


def problems(table):
    with pytest.raises(InputError) as caught:
        paint_from_table(table)
    return {p.field: p.message for p in caught.value.problems}


def test_a_drawdown_comes_back_from_a_toml_file_as_the_same_paint():
    drawdown = measured()
    text = tomli_w.dumps(paint_to_table(drawdown, "cupboard green"))
    back = paint_from_table(tomllib.loads(text))
    paint = drawdown.paint()
    # Six significant digits are kept.
    np.testing.assert_allclose(back.absorption, paint.absorption, rtol=5e-6)
    np.testing.assert_allclose(back.scattering, paint.scattering, rtol=5e-6)
    assert back.geometric_sd == pytest.approx(paint.geometric_sd, rel=5e-6)
    assert back.evidence == "drawdown"


def test_the_table_of_a_drawdown_keeps_what_was_measured_and_said():
    drawdown = measured()
    table = json.loads(json.dumps(paint_to_table(drawdown, "cupboard green")))
    assert table["format"] == 1
    assert table["name"] == "cupboard green"
    assert table["measured"]["wet_film_um"] == 100.0
    assert table["measured"]["contrast_ratio"] == pytest.approx(drawdown.contrast_ratio, rel=1e-5)
    assert len(table["measured"]["scattering_spread"]) == 31
    assert table["notes"] == list(drawdown.notes)


def test_a_paint_known_by_its_colour_can_be_kept_too():
    paint = paint_from_colour(np.full(31, 0.4))
    assert paint_from_table(paint_to_table(paint)).evidence == "colour"


def test_a_draw_that_cannot_stand_for_a_paint_is_not_kept():
    with pytest.raises(IllConditionedError, match="draw it thinner"):
        paint_to_table(measured(over_black=(66.8, -23.0, 50.0)))
    with pytest.raises(InputError, match="measure the draw with those"):
        paint_to_table(measured(surface=Surface(0.04, 0.6)))


def test_everything_wrong_with_a_table_is_told_at_once():
    table = whole_table()
    table["evidence"] = "hearsay"
    table["spread"] = 0.5
    table["absorption"][3] = -1
    table["scattering"] = table["scattering"][:30]
    table["bands"]["step_nm"] = 20
    table["surface"] = {"k1": 0.04, "k2": 0.6, "k3": 0}
    table["colour"] = "green"
    found = problems(table)
    assert set(found) == {
        "evidence",
        "spread",
        "absorption",
        "scattering",
        "bands.step_nm",
        "surface.k2",
        "surface.k3",
        "colour",
    }
    assert "-1 at 430 nm" in found["absorption"]
    assert "30 given" in found["scattering"]


def test_everything_that_is_missing_is_told_at_once():
    assert set(problems({"name": "nothing"})) == {
        "format",
        "evidence",
        "spread",
        "bands",
        "surface",
        "absorption",
        "scattering",
    }


@pytest.mark.parametrize("version", [2, 0, "1", True, None])
def test_only_the_known_format_is_read(version):
    found = problems({**whole_table(), "format": version})
    assert list(found) == ["format"]


@pytest.mark.parametrize("value", [float("nan"), float("inf"), "0.2", None, True, 0, 1e9])
def test_scattering_must_be_numbers_that_paint_can_have(value):
    table = whole_table()
    table["scattering"][0] = value
    assert set(problems(table)) == {"scattering"}


@pytest.mark.parametrize("table", ["paint", [1, 2], 3])
def test_what_is_no_table_is_refused(table):
    with pytest.raises(InputError, match="a table of named values"):
        paint_from_table(table)


@pytest.mark.parametrize("key", ["bands", "surface", "absorption"])
def test_parts_of_the_wrong_kind_are_named(key):
    assert set(problems({**whole_table(), key: "wrong"})) == {key}
