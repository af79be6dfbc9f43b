"""Drying and its stops, against figures and a general psychrometric library."""

from __future__ import annotations

import math

import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from showthrough.errors import InputError
from showthrough.workshop.days.drying import (
    CHEMISTRY,
    DEFAULTS,
    Climate,
    deficit_factor,
    deficit_kpa,
    dew_point_c,
    drying_factor,
    saturation_kpa,
    stops,
)

psychrolib.SetUnitSystem(psychrolib.SI)

rooms = st.floats(1.0, 45.0)
humidities = st.floats(5.0, 100.0)


def codes(climate, chemistry="water-borne", least_c=None):
    return {stop.code for stop in stops(climate, chemistry, least_c)}


@given(rooms)
def test_saturation_agrees_with_a_psychrometric_library(temperature):
    # Source: PsychroLib (ASHRAE Handbook equations); formulas differ by tenths of a percent.
    expected = psychrolib.GetSatVapPres(temperature) / 1000.0
    assert saturation_kpa(temperature) == pytest.approx(expected, rel=4e-3)


@given(rooms, humidities)
def test_dew_point_agrees_with_a_psychrometric_library(temperature, humidity):
    dew = dew_point_c(temperature, humidity)
    if dew > 0.5:  # below freezing the library goes over ice
        expected = psychrolib.GetTDewPointFromRelHum(temperature, humidity / 100.0)
        assert dew == pytest.approx(expected, abs=0.1)


@given(rooms, humidities)
def test_at_its_dew_point_the_air_is_saturated(temperature, humidity):
    vapour = saturation_kpa(temperature) * humidity / 100.0
    assert saturation_kpa(dew_point_c(temperature, humidity)) == pytest.approx(vapour, rel=1e-9)


@pytest.mark.parametrize(
    ("temperature", "humidity", "factor"),
    [(20, 50, 1.20), (20, 65, 1.72), (15, 60, 2.06), (12, 75, 4.0), (30, 30, 0.47)],
)
def test_room_factors_as_reckoned(temperature, humidity, factor):
    # Source: computed for the project from the Magnus formula, before clipping.
    assert deficit_factor(Climate(temperature, humidity)) == pytest.approx(factor, abs=5e-3)
    clipped = drying_factor("water-borne", Climate(temperature, humidity))
    assert clipped == pytest.approx(max(factor, 0.5), abs=5e-3)


def test_the_label_is_stated_for_a_deficit_of_1_401_kpa():
    assert deficit_kpa(23.0, 50.0) == pytest.approx(1.401, abs=5e-4)


@pytest.mark.parametrize(
    ("temperature", "humidity", "dew"), [(20, 50, 9.26), (25, 60, 16.69), (30, 80, 26.17)]
)
def test_dew_points_as_reckoned(temperature, humidity, dew):
    # Source: computed for the project.
    assert dew_point_c(temperature, humidity) == pytest.approx(dew, abs=5e-3)


def test_alkyd_goes_by_temperature_and_hardly_by_humidity():
    # Common practice, no source: twice as long for each 10 degC colder.
    assert drying_factor("alkyd", Climate(13.0, 50.0)) == pytest.approx(2.0)
    assert drying_factor("alkyd", Climate(13.0, 90.0)) == drying_factor(
        "alkyd", Climate(13.0, 20.0)
    )
    assert drying_factor("alkyd", Climate(33.0)) == pytest.approx(0.5)


def test_factors_are_clipped_and_films_counted_after():
    assert drying_factor("water-borne", Climate(20.0, 100.0)) == 6.0
    assert drying_factor("water-borne", Climate(40.0, 5.0)) == 0.5
    assert drying_factor("water-borne", Climate(), 2.0) == pytest.approx(2.0**1.2)
    assert "guess" in DEFAULTS["film exponent"].source


@given(rooms, humidities, st.sampled_from(sorted(CHEMISTRY)), st.floats(0.1, 10.0))
def test_thicker_films_damper_and_colder_rooms_never_dry_sooner(air, humidity, chemistry, film):
    here = drying_factor(chemistry, Climate(air, humidity), film)
    assert drying_factor(chemistry, Climate(air, humidity), film * 1.1) > here
    assert drying_factor(chemistry, Climate(air - 1.0, humidity), film) >= here - 1e-12
    assert drying_factor(chemistry, Climate(air, humidity * 0.9), film) <= here + 1e-12


# --- stops -----------------------------------------------------------------------------


def test_a_good_room_stops_nothing():
    assert stops(Climate(), "water-borne") == ()


def test_a_surface_less_than_three_degrees_over_the_dew_point_stops():
    # Source: ISO 8502-4, ISO 12944-7 (secondary): 3 degC over the dew point.
    dew = dew_point_c(20.0, 60.0)
    assert codes(Climate(20.0, 60.0, surface_c=dew + 2.9), "alkyd") == {"dew"}
    assert codes(Climate(20.0, 60.0, surface_c=dew + 3.1), "alkyd") == set()


def test_the_night_counts_for_cold_and_for_dew():
    # Common practice, no source: 10 degC water-borne, 5 degC alkyd.
    assert codes(Climate(20.0, 30.0, night_c=9.0)) == {"cold"}
    assert codes(Climate(20.0, 30.0, night_c=9.0), "alkyd") == set()
    assert codes(Climate(20.0, 30.0, night_c=9.0), least_c=8.0) == set()
    assert codes(Climate(20.0, 60.0, night_c=12.0)) == {"dew"}
    (stop,) = stops(Climate(20.0, 30.0, night_c=9.0), "water-borne")
    assert "in the night" in stop.message
    assert (stop.value, stop.limit) == (9.0, 10.0)


def test_damp_and_hot_rooms_stop():
    assert "damp" in codes(Climate(20.0, 86.0))
    assert "damp" not in codes(Climate(20.0, 85.0))
    assert codes(Climate(36.0, 30.0)) == {"hot"}
    assert codes(Climate(30.0, 30.0, surface_c=36.0)) == {"hot"}


def test_saturated_and_dry_air_give_numbers():
    assert deficit_factor(Climate(20.0, 100.0)) == math.inf
    assert dew_point_c(20.0, 100.0) == pytest.approx(20.0)
    assert dew_point_c(20.0, 0.0) == -math.inf
    assert stops(Climate(20.0, 0.0), "alkyd") == ()


# --- what cannot be --------------------------------------------------------------------


def test_everything_wrong_with_a_room_is_told_at_once():
    with pytest.raises(InputError) as caught:
        Climate(200.0, 140.0, surface_c=math.nan, night_c="cold")
    found = {p.field: p.message for p in caught.value.problems}
    assert set(found) == {"temperature_c", "humidity_percent", "surface_c", "night_c"}
    assert "from 0 to 100" in found["humidity_percent"]
    with pytest.raises(InputError, match="above the day"):
        Climate(15.0, 50.0, night_c=20.0)


def test_unknown_chemistry_absurd_film_and_absurd_least_are_refused():
    with pytest.raises(InputError) as caught:
        drying_factor("tar", Climate(), 0.0)
    assert {p.field for p in caught.value.problems} == {"chemistry", "film_ratio"}
    with pytest.raises(InputError) as caught:
        stops(Climate(), "tar", 99.0)
    assert {p.field for p in caught.value.problems} == {"chemistry", "least_c"}


def test_practice_gives_rising_times():
    for row in CHEMISTRY.values():
        assert row.recoat_h.value <= row.handle_h.value <= row.light_use_d.value * 24.0
        assert row.light_use_d.value <= row.cure_d.value
