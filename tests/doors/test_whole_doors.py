"""The whole job through library, command line and service: one answer, one list of problems."""

from __future__ import annotations

import copy
import json
import math
import re
from datetime import datetime, timedelta

import icalendar
import pytest

from doors.doors import JSON, by_command, by_http, by_library, client, lines_of, run
from jobs.small_jobs import (
    BROWN_FINISH,
    BROWN_LAMINATE,
    WHITE,
    YELLOW_GREEN,
    patch,
    small_job,
    toml_of,
)
from jobs.whole_jobs import CANS, NOW, numbers, priced_job, whole
from reference.random_whole_jobs import random_whole_jobs
from showthrough import InputError, plan, predict, sheet
from showthrough.cli.text.prediction import prediction_text
from showthrough.cli.text.whole import whole_text
from showthrough.errors import UNSAFE
from showthrough.say.plan import MOVED
from showthrough.web.forms.paths import fields_of_job, query_of
from web.tree import read_html

VARNISH = patch(BROWN_FINISH, ground="varnish")
START = {"zone": "Europe/Berlin", "start": "2090-03-01"}  # so that no door's clock matters
GOOD = {
    "all of it": priced_job(
        YELLOW_GREEN,
        VARNISH,
        title="Linen cupboard",
        days=START,
        group=[
            {"name": "carcass", "shape": [
                {"shape": "carcass", "width": "90 cm", "depth": "40 cm", "height": "160 cm"}]},
            {"name": "legs", "area_ft2": 3, "topcoat": {"colour": "lab(20 0 0)", "cans": CANS}},
        ],
        finish={"kind": "clear"},
        rank_by="money",
        pieces=2,
    ),
    "nothing but paint and ground": small_job(WHITE, VARNISH, days=START),
    "unsound": small_job(
        WHITE, patch(ground="paint", condition="flaking"), area_m2=2.0, days=START
    ),
    "never enough": small_job(
        (82, 6, 80), patch((18, 0, 0)), application={"tool": "aerosol"}, days=START
    ),
}  # fmt: skip


@pytest.fixture(scope="module")
def http():
    return client()


@pytest.mark.parametrize("job", GOOD.values(), ids=GOOD)
def test_one_job_has_one_answer(job, http, tmp_path):
    kind, answer = by_library(plan, job)
    assert kind == "answer"
    assert by_http(http, "plan", job) == ("answer", answer)
    assert by_command("plan", job, tmp_path) == ("answer", answer)
    assert all(math.isfinite(n) for n in numbers(answer))
    assert answer["headline"]
    assert bool(answer["paint"]) == (answer["days"] is not None)


def test_what_stands_in_the_answer_stands_in_the_text(tmp_path):
    path = tmp_path / "job.toml"
    path.write_text(toml_of(GOOD["all of it"]), encoding="utf-8")
    code, text, _ = run("plan", path)
    answer = plan(GOOD["all of it"])
    assert code == 0
    flat = " ".join(text.split())
    assert answer.money.expected_cost in flat
    assert answer.money.price in flat
    assert answer.money.clause in flat
    assert " ".join(answer.headline.split()) in flat
    for product in answer.paint:
        assert product.product in flat
    code, full, _ = run("plan", path, "--full")
    assert code == 0
    for way in answer.way_costs:
        assert way.key in full


# --- what cannot be --------------------------------------------------------------------


def refused(job):
    with pytest.raises(InputError) as caught:
        plan(job, now=NOW)
    return {p.field: p.message for p in caught.value.problems}


FAULTY = {
    **small_job(WHITE, VARNISH, paint={
        "recoat_h": 0, "cans": [{"ml": 0, "price": "9.50 EUR"}, {"size": "1 qt", "price": "3 USD"}],
        "shelf_ml": [-5],
    }),
    "application": {"tool": "spray", "thinning": 3.0, "openness": "flat panel"},
    "group": [
        {"name": "a", "shape": [{"shape": "panel", "width": "8 km", "height": "1 m"}]},
        {"name": "b", "area_m2": 1e9},
        {"name": "c", "area_m2": 1.0, "area_ft2": 3.0},
        {"name": "d", "area_m2": 1.0, "shape": [
            {"shape": "panel", "width": "1 m", "height": "1 m"}]},
        {"name": "e", "shape": [{"shape": "panel", "girth": "1 m"}]},
        {"name": "f"},
    ],
    "room": {"humidity_percent": 140, "temperature_c": 20},
    "days": {"zone": "Europe/Berlin", "week": {"mon": "8 till 5"}},
    "money": {"currency": "EUR", "labour_per_hour": "cheap", "margin": "200 %"},
    "buying": {"wished": 1.5},
}  # fmt: skip


def test_all_that_is_wrong_is_told_at_once_by_field():
    found = refused(FAULTY)
    for field in (
        "topcoat.recoat_h",
        "topcoat.cans[1].ml",
        "topcoat.shelf_ml[1]",
        "application.thinning",
        "group[1].shape[1].width",
        "group[3].area_ft2",
        "room.humidity_percent",
        "days.week.mon",
        "money.labour_per_hour",
        "money.margin",
        "buying.wished",
    ):
        assert field in found, (field, sorted(found))
    assert any(field.startswith("group[2]") for field in found)
    assert any(field.startswith("group[4]") for field in found)
    assert any(field.startswith("group[5].shape[1]") for field in found)
    assert any(field.startswith("group[6]") for field in found)


@pytest.mark.parametrize("door", ["command", "http"])
def test_the_other_doors_tell_the_same(door, http, tmp_path):
    problems = by_library(plan, FAULTY)[1]
    if door == "http":
        assert by_http(http, "plan", FAULTY) == ("problems", problems)
    else:
        assert by_command("plan", FAULTY, tmp_path) == ("problems", lines_of(problems))


SINGLE = {
    "a can of nothing": ({"topcoat": {"cans": [{"ml": 0}]}}, "topcoat.cans[1].ml"),
    "a can twice": ({"topcoat": {"cans": [{"ml": 750}, {"size": "0.75 l"}]}}, "topcoat.cans"),
    "two currencies": (
        {"topcoat": {"cans": [{"ml": 750, "price": "20 EUR"}]},
         "money": {"labour_per_hour": "9 USD"}},
        "money.currency",
    ),
    "a price without currency": (
        {"topcoat": {"cans": [{"ml": 750, "price": "20"}]}}, "topcoat.cans[1].price"),
    "no recoat time": ({"topcoat": {"recoat_h": 0}}, "topcoat.recoat_h"),
    "humidity": ({"room": {"humidity_percent": 140}}, "room.humidity_percent"),
    "a warm night": ({"room": {"temperature_c": 15, "night_c": 20}}, "room.night_c"),
    "in the past": ({"days": {"start": "2020-01-01"}}, "days.start"),
    "an hour that is left out": (
        {"days": {"zone": "Europe/Berlin", "start": "2027-03-28T02:30"}}, "days.start"),
    "an hour that comes twice": (
        {"days": {"zone": "Europe/Berlin", "start": "2027-10-31T02:30"}}, "days.start"),
    "no zone": ({"days": {"zone": "Middle/Earth"}}, "days.zone"),
    "no hour of work": ({"days": {"week": {"mon": ""}}}, "days.week"),
    "thinning": ({"application": {"tool": "spray", "thinning": 3.0}}, "application.thinning"),
    "an absurd area": ({"area_m2": 1e7}, "area_m2"),
    "both units": ({"area_m2": 1.0, "area_ft2": 10.0}, "area_ft2"),
    "a unit in a list": (
        {"unit": ["mm"], "group": [
            {"name": "a", "shape": [{"shape": "panel", "width": 8, "height": 5}]}]}, "unit"),
    "no pieces": ({"pieces": 0}, "pieces"),
    "wax in cans": ({"finish": {"kind": "wax", "cans": [{"ml": 250}]}}, "finish.cans"),
    "margin and markup": (
        {"money": {"currency": "EUR", "margin": 0.3, "markup": 0.2}}, "money.margin"),
    "a step twice": ({"product": [{"step": "seal"}, {"step": "seal"}]}, "product[2].step"),
    "an unknown shape": ({"group": [{"name": "a", "shape": [{"shape": "sphere"}]}]},
                         "group[1].shape[1].shape"),
    "a bare number without unit": (
        {"group": [{"name": "a", "shape": [{"shape": "panel", "width": 80, "height": "5 cm"}]}]},
        "group[1].shape[1].width"),
    "a group of its own in the wrong": (
        {"group": [{"name": "a", "area_m2": 1.0, "topcoat": {"colour": "lab(50 0)"}}]},
        "group[1].topcoat.colour"),
}  # fmt: skip


def _with(change):
    job = copy.deepcopy(small_job(WHITE, VARNISH))
    for key, value in change.items():
        job[key] = job.get(key, {}) | value if isinstance(value, dict) else value
    return job


@pytest.mark.parametrize(("change", "field"), SINGLE.values(), ids=SINGLE)
def test_one_fault_is_told_at_its_field_in_every_door(change, field, http, tmp_path):
    job = _with(change)
    found = refused(job)
    assert field in found, found
    assert len(found) == 1
    assert found[field]
    assert by_http(http, "plan", job)[0] == "problems"
    assert by_command("plan", job, tmp_path)[0] == "problems"


def test_lengths_as_painters_write_them():
    # Definitions: 1 in is 25.4 mm. 2 ft 3 1/2 in is 698.5 mm.
    group = {"name": "a", "shape": [
        {"shape": "panel", "width": "80,5 cm", "height": "2 ft 3 1/2 in"}]}  # fmt: skip
    answer = plan(_with({"group": [group]}), now=NOW)
    assert answer.area.total_m2 == pytest.approx(0.805 * 0.6985, abs=1e-4)
    bare = {"name": "a", "shape": [{"shape": "panel", "width": 805, "height": 698.5}]}
    assert plan(_with({"group": [bare], "unit": "mm"}), now=NOW).area == answer.area


@pytest.mark.parametrize(
    "said",
    [{"application": {"tool": "spray", "openness": "chair or spindles"}},
     {"application": {"tool": "spray", "transfer_efficiency": 0.2}},
     {"application": {"tool": "spray", "session_loss_ml": 900}},
     {"topcoat": {"cans": [{"ml": 4000}]}}],
)  # fmt: skip
def test_what_is_said_counts_without_an_area_too(said):
    usual = plan(_with({"application": {"tool": "spray"}}), now=NOW).paint[-1]
    found = plan(_with({"application": {"tool": "spray"}} | said), now=NOW).paint[-1]
    assert (found.ml_50, found.cans) != (usual.ml_50, usual.cans)


# --- texts -----------------------------------------------------------------------------


def text_of(job, width=80, **more):
    return whole_text(whole(job), colour=False, width=width, **more)


def test_the_first_screen_has_at_most_45_lines_of_80_columns_and_keeps_days_and_money():
    tried = 0
    for job in (*GOOD.values(), *random_whole_jobs(40, 31)):
        try:
            answer = whole(job)
        except InputError:
            continue
        tried += 1
        lines = whole_text(answer, colour=False, width=80).splitlines()
        assert len(lines) <= 45
        assert max(map(len, lines)) <= 80
        assert ("Days" in lines) == (answer.days is not None)
        assert ("Money" in lines) == (answer.money is not None)
        assert "Take care (--full for reasons, defaults and whole cautions)" in lines
        assert not UNSAFE.search("".join(lines))
        assert "nan" not in whole_text(answer, colour=False, width=80, full=True).split()
    assert tried >= 30


def test_us_units_in_every_text():
    job = small_job(
        WHITE,
        VARNISH,
        units="us",
        area_ft2=42,
        paint={"cans": [{"size": "1 qt", "price": "24.00 USD"}, {"size": "1 gal", "price": 72}]},
        money={"currency": "USD", "labour_per_hour": 40},
    )
    answer = whole(job)
    # Definition: 1 ft is 0.3048 m.
    assert answer.area.total_m2 == pytest.approx(42 * 0.3048**2, abs=1e-4)
    assert {can.ml for can in answer.paint[-1].cans} <= {946, 3785}
    text = text_of(job)
    assert "42 ft²" in text
    assert re.search(r"\d x 1 (qt|gal)\b", text)
    assert not re.search(r"\d (ml|l|m²)\b", text)
    assert whole({**job, "units": "metric"}).money == answer.money


def test_a_tiny_area_is_not_nothing():
    assert "0.004 m²" in text_of(small_job(WHITE, VARNISH, area_m2=0.004))
    assert "0.43 ft²" in text_of(small_job(WHITE, VARNISH, area_m2=0.04, units="us"))


def test_what_cannot_be_bought_is_not_told_as_nothing_to_buy():
    # A red that may need more than 12 coats: half of all jobs have an amount, 9 in 10 none.
    job = small_job((42, 58, 38), VARNISH, area_m2=1.0, application={"tool": "brush"})
    answer = whole(job)
    products = [p for p in answer.paint if p.ml_90 is None]
    text = " ".join(text_of(job).split())
    for product in products:
        assert f"{product.product}: " in text
        assert "no number of cans is sure enough" in text
    own = {"name": "left-over white", "colour": "lab(95 0 2)", "bonds": True}
    job = small_job(WHITE, patch(BROWN_LAMINATE, ground="laminate"), area_m2=3.0, undercoat=[own])
    text = " ".join(text_of(job).split())
    assert "nothing to buy" not in text
    assert "see how much of it is left" in text


def test_cautions_of_every_group_come_poison_first_and_reminders_last():
    steel = {"name": "steel", "colour": "lab(50 0 0)", "ground": "steel"}
    job = small_job(
        WHITE,
        patch((70, 8, 28), ground="wood", skin="bare"),
        group=[
            {"name": "top", "area_m2": 2.0},
            {"name": "legs", "area_m2": 0.5, "surface": [steel]},
            {"name": "door", "area_m2": 0.4, "surface": [VARNISH]},
        ],
        application={"tool": "brush"},
        finish={"kind": "clear", "tool": "spray", "chemistry": "lacquer"},
    )
    answer = whole(job)
    assert "lead" in answer.cautions_short[0]
    assert answer.cautions_short[-1].startswith("Reminders")
    assert answer.cautions[-1].startswith("These are reminders")
    # The clear coat is sprayed and burns, though the colour is brushed and does not.
    assert any("Spray mist" in line for line in answer.cautions_short)
    assert any("flame" in line for line in answer.cautions_short)


# --- diary -----------------------------------------------------------------------------


def events(text):
    return [
        (str(e["SUMMARY"]), e["DTSTART"].dt)
        for e in icalendar.Calendar.from_ical(text).walk("VEVENT")
    ]


def test_the_diary_of_command_and_service_is_the_librarys(http, tmp_path):
    job = GOOD["all of it"]
    body = http.post(
        "/api/plan", content=json.dumps(job), headers=JSON | {"accept": "text/calendar"}
    )
    assert body.status_code == 200
    assert body.headers["content-type"].startswith("text/calendar")
    path, out = tmp_path / "job.toml", tmp_path / "job.ics"
    path.write_text(toml_of(job), encoding="utf-8")
    code, _, err = run("plan", path, "--ics", out)
    assert (code, err) == (0, "")
    found = events(out.read_bytes())
    assert found == events(body.text)
    assert any("hand-over" in title for title, _ in found)
    assert run("plan", path, "--ics", out)[0] != 0  # nothing is written over unasked
    assert run("plan", path, "--ics", out, "--replace")[0] == 0


def test_no_diary_without_a_count(http, tmp_path):
    job = GOOD["unsound"]
    body = http.post(
        "/api/plan", content=json.dumps(job), headers=JSON | {"accept": "text/calendar"}
    )
    assert body.status_code == 422
    assert "hold" in body.json()["problems"][0]["message"]
    path = tmp_path / "job.toml"
    path.write_text(toml_of(job), encoding="utf-8")
    code, _, err = run("plan", path, "--ics", tmp_path / "job.ics")
    assert code == 2
    assert "Traceback" not in err
    assert not (tmp_path / "job.ics").exists()


def test_that_no_paint_is_quite_the_wished_colour_is_said_on_every_first_screen():
    # CIELAB beyond what a film of that lightness reflects is moved (colour/spectrum.py).
    moved = small_job((50.0, -180.0, 90.0), VARNISH)
    assert predict(moved).topcoat_note
    assert plan(moved).topcoat_note
    texts = (
        prediction_text(predict(moved), colour=False, width=200),
        whole_text(plan(moved), colour=False, width=200),
        client().get(f"/?{query_of(fields_of_job(moved))}").text,
        sheet(moved, pages="bench"),
    )
    assert [MOVED in text for text in texts] == [True] * 4
    plain = small_job(WHITE, VARNISH)
    assert MOVED not in prediction_text(predict(plain), colour=False, width=200)
    assert MOVED not in whole_text(plan(plain), colour=False, width=200)


# --- what a painter who tried it stumbled over -----------------------------------------


def two_groups(**more):
    """A large and a small group of one ground, white over a dark finish, priced."""
    return priced_job(
        WHITE,
        VARNISH,
        application={"tool": "brush"},
        group=[{"name": "carcass", "area_m2": 3.0}, {"name": "drawers", "area_m2": 0.7}],
        product=[{"step": "undercoat", "cans": [{"ml": 750, "price": "25.00"}]}],
        **more,
    )


def test_money_and_days_rank_what_the_whole_job_comes_to_not_each_group_alone():
    by = {key: whole(two_groups(rank_by=key)) for key in ("coats", "money", "days")}
    costs = {key: float(answer.money.expected_cost) for key, answer in by.items()}
    assert costs["money"] <= min(costs.values())
    done = {key: answer.days.hand_over.likely for key, answer in by.items()}
    assert done["days"] <= min(done.values())
    told = predict(two_groups(rank_by="money"))
    assert [g.ways[0].key for g in told.groups] == [g.ways[0].key for g in by["money"].groups]


def test_a_test_piece_that_was_told_is_not_asked_for_again():
    unsure = small_job((42.0, 58.0, 38.0), VARNISH)
    assert predict(unsure).plan[1].kind == "test piece"  # the lead test comes first
    told = {**unsure, "test_piece": {"coats": 2, "enough": False}}
    assert "test piece" not in [step.kind for step in predict(told).plan]


def test_thinner_is_told_with_the_paint_that_it_goes_into():
    thinned = small_job(WHITE, VARNISH, area_m2=3, application={"tool": "brush", "thinning": 0.1})
    (product,) = (p for p in whole(thinned).paint if "topcoat" in p.used_for)
    assert product.thinner_ml > 0.0
    assert "of thinner" in text_of(thinned)
    assert "of thinner" not in text_of(small_job(WHITE, VARNISH, area_m2=3))


def test_what_concerns_a_child_is_never_cut_from_a_first_screen():
    job = small_job(
        WHITE,
        patch(BROWN_FINISH, "top", ground="paint", stain="nicotine", share=0.6),
        patch((82, 5, 24), "bare", ground="mahogany", share=0.4),
        child=True,
        antique=True,
        application={"tool": "aerosol"},
    )
    for text in (text_of(job), prediction_text(predict(job), colour=False, width=80)):
        assert "Child's piece" in text


def test_wax_waits_until_the_film_below_bears_handling():
    slow = small_job(
        WHITE,
        VARNISH,
        area_m2=2,
        finish={"kind": "wax"},
        room={"temperature_c": 12, "humidity_percent": 80},
        days={"start": "2027-01-11", "zone": "UTC"},
    )
    answer = whole(slow)
    wax = next(stay for stay in answer.days.stays if stay.title.startswith("wax"))
    # Dates are told to the minute, rounded up; a stay begins on the minute before.
    late = datetime.fromisoformat(answer.days.refit) - datetime.fromisoformat(wax.start)
    assert late <= timedelta(minutes=1)
    cure = next(step for step in answer.steps if step.kind == "cure")
    assert "wax" not in cure.why
    assert "wax and load" not in text_of(slow)


def test_what_a_recipe_does_without_is_not_bought():
    pine = patch((55, 20, 42), "pine varnish", ground="varnish")
    told = {"test_piece": {"coats": 3, "enough": False}}
    job = small_job((42.0, 58.0, 38.0), pine, area_m2=1.7, application={"tool": "brush"}, **told)
    answer = whole(job)
    (mix,) = (step for step in answer.steps if step.kind == "mix")
    bought = [p.product for p in answer.paint if p.product.endswith("for the mix")]
    assert bought
    for word in ("white", "black"):
        assert (f"{word} paint for the mix" in bought) == (word in mix.product)


def test_the_cure_that_the_step_tells_is_the_one_that_the_date_is_reckoned_with():
    # Common practice, no source: alkyd paint is washed and loaded after 7 days, water-borne after
    # 21 to 30; a water-borne sealer under it does not make it wait for those.
    oak = patch((70, 8, 28), "bare oak", ground="oak", skin="bare", porous=True)
    job = small_job(WHITE, oak, area_m2=1, paint={"chemistry": "alkyd"})
    answer = whole(job)
    last = max(stay.end for stay in answer.days.stays if "topcoat" in stay.title)
    days = datetime.fromisoformat(answer.days.cure) - datetime.fromisoformat(last)
    assert timedelta(days=6) < days < timedelta(days=8)
    assert "7 days" in next(s.product for s in answer.steps if s.kind == "cure")


def test_a_spot_that_a_coat_over_all_seals_is_not_said_to_need_a_coat_alone():
    filler = patch((80, 5, 24), "filled ring", ground="filler", skin="bare", porous=True, share=0.1)
    brown = patch(BROWN_FINISH, "brown finish", ground="varnish", share=0.9)
    answer = predict(small_job(YELLOW_GREEN, brown, filler))
    assert "spot seal" not in [step.kind for step in answer.plan]
    (need,) = answer.needs
    assert "unless a coat over all seals it too" in need.sentence


def test_one_group_without_a_count_leaves_the_whole_job_without_amounts_and_dates():
    loose = {"name": "old", "colour": "6b4a2a", "ground": "paint", "condition": "flaking"}
    groups = [{"name": "top", "area_m2": 2.0}, {"name": "legs", "area_m2": 0.5, "surface": [loose]}]
    answer = whole(priced_job(WHITE, VARNISH, group=groups))
    assert (answer.paint, answer.days, answer.money) == ([], None, None)
    assert any("legs" in why for why in answer.why_not)


def test_abrasive_between_coats_is_for_one_sanding_fewer_than_coats():
    # Common practice, no source: a sheet for 0.5 m2 and grit; four coats are sanded three times.
    paint = {"tool": "brush", "least_topcoats": 4}
    answer = whole(small_job((60.0, 0.0, 0.0), VARNISH, area_m2=1.0, application=paint))
    assert answer.ways[0].topcoats == 4
    assert answer.other.sheets[320] == 6


def test_without_an_area_amounts_are_those_of_one_square_metre():
    bare, one = (whole(small_job(WHITE, VARNISH, **more)) for more in ({}, {"area_m2": 1.0}))
    assert (bare.area.total_m2, bare.area.stated) == (1.0, False)
    for free, said in zip(bare.paint, one.paint, strict=True):
        assert free.ml_50 == pytest.approx(said.ml_50, rel=0.03)


def test_one_tin_on_the_shelf_may_be_one_number_in_every_door(http, tmp_path):
    one = priced_job(area_m2=2.0, paint={"shelf_ml": 300}, days={"start": "2027-03-01"})
    listed = priced_job(area_m2=2.0, paint={"shelf_ml": [300]}, days={"start": "2027-03-01"})
    outcome, answer = by_library(plan, listed)
    assert outcome == "answer"
    assert by_library(plan, one) == (outcome, answer)
    assert by_http(http, "plan", one) == (outcome, answer)
    assert by_command("plan", one, tmp_path) == (outcome, answer)
    assert fields_of_job(one) == fields_of_job(listed)
    text = priced_job(paint={"shelf_ml": "300"})
    (problem,) = by_library(plan, text)[1]
    assert "write 300 without quotes" in problem["message"]


@pytest.mark.parametrize(("units", "shown"), [("metric", "240.00 m²"), ("us", "2583 ft²")])
def test_an_area_of_a_whole_house_is_doubted_once_on_every_screen(units, shown, http):
    # One foot is 304.8 mm: 240 m² is 2583.3 ft².
    large = priced_job(area_m2=240.0, units=units)
    answer = plan(large, now=NOW)
    (doubt,) = [each for each in answer.questions if "decimal point" in each]
    assert doubt.startswith(f"{shown} is far more than furniture has")
    assert " ".join(whole_text(answer, colour=False, width=80).split()).count(doubt) == 1
    page = read_html(http.get(f"/?{query_of(fields_of_job(large))}").text)
    assert doubt in page.one("main").text
    sheet_page = read_html(http.get(f"/?{query_of(fields_of_job(large))}&word=area").text)
    assert doubt in sheet_page.one("sheet").text
    each = plan(priced_job(area_m2=24.0, pieces=10, units=units), now=NOW)
    assert not any("decimal point" in told for told in each.questions)
