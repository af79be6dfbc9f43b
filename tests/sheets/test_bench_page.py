"""The bench page: every step and product of the plan, the board as the ladder has it, blanks."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest

from jobs.small_jobs import WHITE, patch, small_job
from sheets.sheet_jobs import GROUPS, JOBS, LINEN, MANY, NOW, UNSOUND, US, pages_of, squeezed
from showthrough import plan
from showthrough.say.plan import step_parts
from showthrough.sheets.bench import bench_of
from web.tree import Element

_BACKGROUND = re.compile(r"background:(#[0-9a-f]{6})")


def bench(job) -> Element:
    return pages_of(job, pages="bench")["bench"]


def steps(page: Element) -> list[Element]:
    (found,) = page.all("ol", lambda each: each.has_class("steps"))
    return found.all("li")


def board(page: Element) -> Element:
    (found,) = page.all("figure")
    return found


def bands(page: Element) -> list[list[tuple[str, float]]]:
    """Colour and width of each field, band by band; none for a gap."""
    out = []
    for band in board(page).all("div", lambda each: each.has_class("band")):
        row = []
        for field in band.all("i"):
            grow = re.search(r"flex-grow:([\d.]+)", field.attrs["style"])
            row.append((_BACKGROUND.search(field.attrs["style"])[1], float(grow[1])))
        out.append(row)
    return out


# --- the plan ----------------------------------------------------------------------------


@pytest.mark.parametrize("job", JOBS.values(), ids=JOBS)
def test_every_step_of_the_plan_has_a_row_with_its_number_and_words(job):
    answer = plan(job, now=NOW)
    rows = [row for row in steps(bench(job)) if row.all("b")[0].text]
    assert [row.all("b")[0].text for row in rows] == [str(s.number) for s in answer.steps]
    for row, step in zip(rows, answer.steps, strict=True):
        name, what = step_parts(step)
        assert squeezed(name) in row.text
        assert squeezed(what).lower() in row.text.lower()
        assert all(group in row.text for group in step.groups)


@pytest.mark.parametrize("job", JOBS.values(), ids=JOBS)
def test_every_coat_can_be_ticked_and_one_more_is_spared(job):
    answer = plan(job, now=NOW)
    ticks = sum(1 for row in steps(bench(job)) if row.all("span", lambda e: e.has_class("tick")))
    films = {"prime", "bind", "block", "bond", "seal", "spot seal", "undercoat", "topcoat", "clear"}
    coats = sum(s.coats or 1 for s in answer.steps if s.kind in films)
    others = sum(1 for s in answer.steps if s.kind not in films)
    spare = sum(1 for s in answer.steps if s.kind == "topcoat")
    assert ticks == coats + others + spare


@pytest.mark.parametrize("job", JOBS.values(), ids=JOBS)
def test_every_stay_at_the_bench_stands_beside_its_step_in_local_time(job):
    answer = plan(job, now=NOW)
    rows = bench_of(answer)["rows"]
    assert not any(row.title == "Also" for row in rows)
    told = " ".join(time for row in rows for time in row.times)
    for stay in [] if answer.days is None else answer.days.stays:
        assert stay.start[11:16] in told
        assert f", {stay.minutes} min" in told
    stays = [] if answer.days is None else answer.days.stays
    assert sum(len(re.findall(r"\d min\b", time)) for row in rows for time in row.times) == len(
        stays
    )


def test_a_stay_that_is_no_step_is_not_lost():
    answer = plan(LINEN, now=NOW)
    strange = answer.days.stays[0].model_copy(update={"title": "sweep the floor"})
    days = answer.days.model_copy(update={"stays": [*answer.days.stays, strange]})
    rows = bench_of(answer.model_copy(update={"days": days}))["rows"]
    assert "sweep the floor" in rows[-1].times[0]


def test_times_are_those_of_the_jobs_zone():
    # Berlin is an hour ahead of UTC in winter; work there begins at 8 (the example's hours).
    rows = steps(bench(LINEN))
    assert rows[0].text.startswith("1 Lead test")
    assert "Mon 1 Mar 08:00" in rows[0].text


@pytest.mark.parametrize("job", JOBS.values(), ids=JOBS)
def test_every_product_is_on_the_bench_page(job):
    answer = plan(job, now=NOW)
    text = bench(job).text
    assert all(squeezed(product.product) in text for product in answer.paint)


@pytest.mark.parametrize("job", JOBS.values(), ids=JOBS)
def test_no_money_is_on_the_bench_page(job):
    answer = plan(job, now=NOW)
    text = bench(job).text
    if answer.money is not None:
        assert answer.money.currency not in text
        assert answer.money.price not in text
        assert answer.money.expected_cost not in text


def test_amounts_of_a_us_job_are_in_its_units():
    text = bench(US).text
    assert "ft²" in text
    assert "qt" in text
    assert " ml" not in text
    assert "wet film, mil" in text
    assert "temperature, °F" in text


# --- the board ---------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["linen cupboard", "groups", "us", "own can"])
def test_the_boards_colours_are_those_of_the_ladder(name):
    answer = plan(JOBS[name], now=NOW)
    page = bench(JOBS[name])
    shares = [round(p.share, 4) for p in answer.patches]
    way = answer.ways[0]
    expected = [[p.hex for p in answer.patches]]
    under = [[p.thin.hex for p in way.ladder[0].patches]] if way.hex else []
    coats = [[p.thin.hex for p in step.patches] for step in way.ladder[1 : way.topcoats + 1]]
    found = bands(page)
    assert [[hex_ for hex_, _ in row] for row in found] == expected + under + coats
    assert all([share for _, share in row] == pytest.approx(shares, abs=1e-3) for row in found)
    (wanted,) = board(page).all("div", lambda each: each.has_class("wanted"))
    assert _BACKGROUND.search(wanted.attrs["style"])[1] == answer.topcoat.hex


def test_each_band_tells_its_chance_and_one_is_enough():
    answer = plan(LINEN, now=NOW)
    texts = [
        band.text for band in board(bench(LINEN)).all("div", lambda each: each.has_class("band"))
    ]
    way = answer.ways[0]
    assert texts[-1].startswith(f"{way.topcoats} topcoats")
    # The same chance as the way itself states, in tenths.
    assert f"about {round(10 * way.chance)} in 10" in texts[-1]
    assert board(bench(LINEN)).text.count("enough") == 1


@pytest.mark.parametrize("job", [LINEN, GROUPS, US, MANY])
def test_the_chances_of_the_leading_way_rise_to_what_the_way_states(job):
    answer = plan(job, now=NOW)
    way = answer.ways[0]
    assert list(answer.enough) == list(range(1, 13))
    assert all(a <= b for a, b in pairwise(answer.enough.values()))
    assert answer.enough[way.topcoats] == way.chance
    assert answer.enough[min(way.topcoats + 1, 12)] == way.chance_one_more


def test_of_many_coats_the_first_three_and_the_last_two_are_drawn():
    answer = plan(MANY, now=NOW)
    way = answer.ways[0]
    assert way.topcoats > 6
    found = bands(bench(MANY))
    coats = [[p.thin.hex for p in way.ladder[n].patches] for n in (1, 2, 3)]
    last = [[p.thin.hex for p in way.ladder[way.topcoats + n].patches] for n in (-1, 0)]
    assert [[hex_ for hex_, _ in row] for row in found[-6:]] == [*coats, [], *last]


def contrast(one: str, two: str) -> float:
    """Contrast ratio of WCAG 2.1 (W3C), from sRGB."""

    def luminance(hex_: str) -> float:
        channels = [int(hex_[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    light, dark = sorted((luminance(one), luminance(two)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("lightness", range(8, 100, 7))
def test_a_label_on_paint_can_be_read(lightness):
    # WCAG 2.1 AA for bold text of this size asks for 3; ink or white always gives over 4.
    job = small_job((lightness, 0, 0), patch((50, 0, 0)), application={"tool": "brush"})
    for band in bench_of(plan(job, now=NOW))["board"].bands:
        (field,) = band.fields
        assert contrast(band.ink, field["hex"]) > 4.0


def test_a_label_is_read_against_the_patch_that_it_lies_on():
    job = small_job(
        WHITE, patch((20, 0, 0), "dark", share=0.6), patch((95, 0, 0), "light", share=0.4)
    )
    ground = bench_of(plan(job, now=NOW))["board"].bands[0]
    assert contrast(ground.ink, ground.fields[0]["hex"]) > 4.0


# --- without a count, and what is to be written down -------------------------------------


def test_an_unsound_finish_has_preparation_and_the_reason_and_no_count():
    page = bench(UNSOUND)
    assert "old finish does not hold" in page.text
    assert "no amount of paint, no date and no price" in page.text
    assert "Strip" in page.text
    assert "Stop when" not in page.text
    assert "topcoat" not in board(page).text
    assert len(bands(page)) == 1
    assert "old finish does not hold" in pages_of(UNSOUND)["shopping"].text
    assert "The date follows" in pages_of(UNSOUND)["customer"].text


@pytest.mark.parametrize(
    "blank",
    [
        "wet film",
        "temperature",
        "humidity",
        "batch",
        "begun, date",
        "finished, date",
        "even after",
        "stopped at",
        "who",
        "it looked even",
        "the colour was right",
        "did not look",
    ],
)
def test_what_happened_can_be_written_down(blank):
    page = bench(LINEN)
    labels = [
        each.text
        for each in page.all("span", lambda e: e.has_class("blank") or e.has_class("tick"))
    ]
    assert any(label.startswith(blank) for label in labels)


def test_the_stop_rule_is_on_the_bench_page():
    assert "Stop when, dry and seen from a metre in two lights, no edge shows." in bench(LINEN).text
