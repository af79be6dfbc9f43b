"""All swatches over a surface: each row as a plain prediction says, and as a scalar reference."""

from __future__ import annotations

import csv
import io
import itertools
import math

import numpy as np
import pytest

from jobs.small_jobs import (
    BROWN_FINISH,
    BROWN_LAMINATE,
    GREYISH_GREEN,
    YELLOW_GREEN,
    patch,
    small_job,
)
from reference import scalar_film
from reference.random_pairs import colours
from showthrough import InputError, palette_for, predict
from showthrough.colour.difference import ciede2000
from showthrough.colour.files.swatches import (
    Swatch,
    parse_swatches,
    read_swatches,
    shipped_swatches,
)
from showthrough.colour.reading import Reading
from showthrough.colour.spectrum import PAINT_BOUNDS
from showthrough.jobs.sweep.sweep import SORT_KEYS, sweep, sweep_csv

TWO_PATCHES = (
    patch(BROWN_FINISH, "finish"),
    patch((69, 12, 31), "worn edge", skin="bare", porous=True),
)
JOB = small_job(YELLOW_GREEN, *TWO_PATCHES)


@pytest.fixture(scope="module")
def samples():
    return sweep(JOB)


def swatches_of(labs):
    return tuple(
        Swatch(f"swatch {i + 1}", Reading(lab=tuple(map(float, lab)))) for i, lab in enumerate(labs)
    )


# --- rows ------------------------------------------------------------------------------


def test_every_sample_topcoat_has_its_row(samples):
    names = {s.name for s in shipped_swatches("topcoats")}
    assert {row.name for row in samples.rows} == names
    assert len(samples.rows) == len(names)


def test_a_row_says_what_a_plain_prediction_says(samples):
    for row in samples.rows[::7]:
        answer = predict({**JOB, "topcoat": {**JOB["topcoat"], "colour": {"swatch": row.name}}})
        assert row.coats == answer.coats.likely
        assert row.chance == pytest.approx(answer.coats.enough[row.coats], abs=1e-4)
        assert row.lab == answer.topcoat.lab
        assert row.hex == answer.topcoat.hex


def test_over_its_undercoat_a_row_needs_what_a_plain_prediction_says(samples):
    for row in samples.rows[::7]:
        answer = predict({**JOB, "topcoat": {**JOB["topcoat"], "colour": {"swatch": row.name}}})
        greys = {f"grey N {p.munsell_value:g}": p.topcoats for p in answer.grey_curve.points}
        white = next(o.topcoats for o in answer.undercoats if o.kind == "white")
        over = {**greys, "white": white}
        # Two topcoats are the least for a sound film (common practice, no source).
        at_least = {name: max(count, 2) for name, count in over.items() if count is not None}
        assert max(row.topcoats_over_it, 2) == at_least[row.undercoat]
        assert at_least[row.undercoat] == min(at_least[n] for n in samples.undercoats_tried)
        assert row.total == max(row.topcoats_over_it, 2) + 1
        assert row.saved == max(row.coats, 2) - row.total


def test_twelve_undercoats_are_tried(samples):
    assert len(set(samples.undercoats_tried)) == 12


def test_distances_are_to_the_wished_colour(samples):
    wished = np.array(YELLOW_GREEN, dtype=float)
    for row in samples.rows:
        assert row.difference == pytest.approx(
            float(ciede2000(np.array(row.lab), wished)), abs=0.02
        )


def test_harmony_is_that_of_the_finish_that_gains_most(samples):
    for row in samples.rows[::15]:
        answer = predict({**JOB, "topcoat": {**JOB["topcoat"], "colour": {"swatch": row.name}}})
        best = max(answer.finishes, key=lambda f: f.advantage)
        assert best.name in row.finish
        assert row.advantage == pytest.approx(best.advantage, abs=1e-4)
        assert row.harmony == pytest.approx(best.harmony, abs=1e-4)


def test_only_the_finishes_of_the_job_are_asked():
    answer = sweep({**JOB, "finishes": ["619"]})
    assert {row.finish for row in answer.rows} == {answer.rows[0].finish}
    assert "619" in answer.rows[0].finish


def test_on_a_ground_that_needs_a_coat_savings_are_counted_with_it():
    ground = patch(BROWN_LAMINATE, ground="laminate")
    answer = sweep(small_job(YELLOW_GREEN, ground))
    assert any("needs a coat" in note for note in answer.notes)
    for row in answer.rows[::10]:
        answer = predict(small_job({"swatch": row.name}, ground))
        clear = next(o for o in answer.undercoats if o.kind == "clear")
        assert max(row.coats, answer.coats.advised_least) == clear.topcoats
        assert row.saved == clear.total - row.total


# --- the scalar reference --------------------------------------------------------------


def luminance_of_value(value):
    """ASTM D1535: luminance (perfect diffuser 100) of a Munsell value."""
    coefficients = (1.1914, -0.22533, 0.23352, -0.020484, 0.00081939)
    return math.fsum(c * value ** (i + 1) for i, c in enumerate(coefficients))


def scalar_undercoats():
    """Reflectances of the twelve undercoats: greys on the value scale, and white."""
    greys = [[luminance_of_value(2.0 + 0.75 * i) / 100.0] * scalar_film.BANDS for i in range(11)]
    return [*greys, scalar_film.smoothest_spectrum((96.0, -0.5, 2.0), scalar_film.PAINT)]


def scalar_row(lab, grounds, lost, undercoats, dry_um, undercoat_um):
    """Likely count over the plain patches, and the least over any undercoat."""
    spectrum = scalar_film.smoothest_spectrum(lab, scalar_film.PAINT)
    absorption, scattering = scalar_film.constants(spectrum)

    def count(over, losses):
        return max(
            scalar_film.coats(
                scalar_film.hiding_film(absorption, scattering, ground, lab), dry_um, lost=loss
            )
            for ground, loss in zip(over, losses, strict=True)
        )

    laid = []
    for reflectance in undercoats:
        k, s = scalar_film.constants(reflectance)
        laid.append(
            [
                [
                    scalar_film.inside(r)
                    for r in scalar_film.film_spectrum(k, s, undercoat_um * (1.0 - loss), ground)
                ]
                for ground, loss in zip(grounds, lost, strict=True)
            ]
        )
    # What drinks is sealed before the topcoat (trade practice); it drinks of an undercoat.
    return count(grounds, [0.0, 0.0]), min(count(over, [0.0, 0.0]) for over in laid)


def test_counts_are_those_of_the_scalar_reference_on_a_random_thousand_pairs():
    # 40 swatches x 2 patches x (the plain ground and 12 undercoats) = 1040 pairs.
    found, _ = colours(np.random.default_rng(5), 40, PAINT_BOUNDS, 75.0)
    kept = [tuple(map(float, lab)) for lab in found]
    rows = {row.name: row for row in sweep(JOB, swatches_of(kept)).rows}
    finish = scalar_film.smoothest_spectrum(BROWN_FINISH, scalar_film.SURFACE)
    grounds = [
        [scalar_film.inside(r) for r in finish],
        scalar_film.smoothest_spectrum((69, 12, 31), scalar_film.SURFACE),
    ]
    undercoats = scalar_undercoats()
    counts = set()
    for i, lab in enumerate(kept):
        # A light sprayed coat of 45 µm at 38 % solids; an undercoat of 90 µm at 40 %.
        plain, over = scalar_row(lab, grounds, [0.0, 0.3], undercoats, 17.1, 36.0)
        row = rows[f"swatch {i + 1}"]
        assert (row.coats or math.inf) == (plain if plain <= 12 else math.inf)
        assert (row.topcoats_over_it or math.inf) == (over if over <= 12 else math.inf)
        counts |= {plain, over}
    assert len(counts) > 5


# --- order -----------------------------------------------------------------------------


@pytest.mark.parametrize("key", SORT_KEYS)
def test_rows_stand_in_the_order_that_is_asked_for(key):
    rows = sweep(JOB, sort=key).rows
    columns = {
        "coats": [row.coats or 13 for row in rows],
        "total": [row.total or 14 for row in rows],
        "difference": [row.difference for row in rows],
        "harmony": [-row.advantage for row in rows],
        "name": [row.name for row in rows],
    }
    assert columns[key] == sorted(columns[key])
    for first, second in itertools.pairwise(zip(columns[key], rows, strict=True)):
        if first[0] == second[0]:
            assert first[1].difference <= second[1].difference


def test_an_order_that_is_none_lists_those_there_are():
    with pytest.raises(InputError) as caught:
        sweep(JOB, sort="price")
    (problem,) = caught.value.problems
    assert problem.field == "sort"
    assert all(key in problem.message for key in SORT_KEYS)


def test_a_wrong_order_hides_no_problem_of_job_and_swatches():
    bad = parse_swatches("name,L,a,b\nneon,60,200,10\n")
    with pytest.raises(InputError) as caught:
        sweep(small_job("#12"), bad, sort="price")
    assert {p.field for p in caught.value.problems} == {"sort", "topcoat.colour", "swatches[1]"}


def test_a_sweep_of_nothing_or_of_far_too_many_is_refused():
    many = swatches_of([(50.0, 0.0, 0.0)] * 10_001)
    for swatches in ((), many):
        with pytest.raises(InputError, match="1 to 10000 swatches"):
            sweep(JOB, swatches)


# --- what comes in ---------------------------------------------------------------------

MIXED = "name,L,a,b\nfine,50,0,0\nodd,x,0,0\nneon,60,200,10\ntint,65,-10,10\n"


def test_impossible_swatches_are_left_out_and_told():
    answer = sweep(JOB, read_swatches(MIXED))
    assert {row.name for row in answer.rows} == {"fine", "tint"}
    odd, neon = answer.left_out
    assert (odd.name, odd.reason) == ("odd", "row 3.L: 'x' is not a number")
    assert neon.name == "neon"
    assert "chroma 200 is more than any paint" in neon.reason
    alone = sweep(JOB, parse_swatches("name,L,a,b\nfine,50,0,0\ntint,65,-10,10\n"))
    assert alone.rows == answer.rows
    assert alone.left_out == []


def test_a_strict_sweep_refuses_them_all_at_once():
    with pytest.raises(InputError) as caught:
        sweep(JOB, read_swatches(MIXED), strict=True)
    assert [p.field for p in caught.value.problems] == ["swatches.row 3.L", "swatches[2]"]


def test_where_no_swatch_is_left_the_sweep_is_refused():
    with pytest.raises(InputError) as caught:
        sweep(JOB, read_swatches("name,L,a,b\nodd,x,0,0\nneon,60,200,10\n"))
    assert [p.field for p in caught.value.problems] == ["swatches.row 2.L", "swatches[1]"]


def test_of_very_many_impossible_swatches_the_first_are_told():
    many = swatches_of([(50.0, 150.0 + i / 100, 0.0) for i in range(500)])
    with pytest.raises(InputError, match="and 480 more like these"):
        sweep(JOB, many)
    answer = sweep(JOB, (*many, *swatches_of([GREYISH_GREEN])))
    assert len(answer.left_out) == 500


def test_a_collection_of_iso_28178_is_swept_and_its_assumed_light_is_said():
    rows = [f"A{i} {30 + i} 5 10" for i in range(30)]
    text = "\n".join([
        "BEGIN_DATA_FORMAT", "SAMPLE_LOC LAB_L LAB_A LAB_B", "END_DATA_FORMAT",
        "BEGIN_DATA", *rows, "END_DATA",
    ])  # fmt: skip
    answer = sweep(JOB, read_swatches(text))
    assert {row.name for row in answer.rows} == {f"A{i}" for i in range(30)}
    assert sum("D50 is taken (ISO 13655)" in note for note in answer.notes) == 1
    by_name = {row.name: row for row in answer.rows}
    job = small_job({"lab": [45, 5, 10], "illuminant": "D50"}, *TWO_PATCHES)
    assert by_name["A15"].coats == predict(job).coats.likely


@pytest.mark.parametrize("key", SORT_KEYS)
def test_without_finishes_none_is_ranked_and_all_else_stands(key, samples):
    answer = sweep({**JOB, "finishes": []}, sort=key)
    assert any("list of finishes is empty" in note for note in answer.notes)
    assert {(r.finish, r.harmony, r.advantage) for r in answer.rows} == {(None, None, None)}
    with_finishes = {row.name: (row.coats, row.total, row.chance) for row in samples.rows}
    assert {r.name: (r.coats, r.total, r.chance) for r in answer.rows} == with_finishes
    (cells, *_) = csv.DictReader(io.StringIO(sweep_csv(answer)))
    assert (cells["finish"], cells["harmony"]) == ("", "")


def test_a_palette_without_finishes_ranks_the_rest():
    answer = palette_for({**JOB, "finishes": []})
    assert answer.finishes == []
    assert answer.triples == []
    assert answer.second_colours
    assert "No finish was given" in answer.finishes_summary


# --- out -------------------------------------------------------------------------------


def test_csv_reads_back_as_the_rows(samples):
    table = list(csv.DictReader(io.StringIO(sweep_csv(samples))))
    assert len(table) == len(samples.rows)
    for cells, row in zip(table, samples.rows, strict=True):
        assert cells["name"] == row.name
        assert (float(cells["L"]), float(cells["a"]), float(cells["b"])) == row.lab
        for key in ("hex", "undercoat", "finish"):
            assert cells[key] == (getattr(row, key) or "")
        for key in ("coats", "topcoats_over_it", "total", "saved"):
            value = getattr(row, key)
            assert cells[key] == ("" if value is None else str(value))
        for key in ("chance", "difference", "harmony", "advantage"):
            assert float(cells[key]) == getattr(row, key)


def test_csv_of_a_sweep_is_a_swatch_file_again(samples):
    again = parse_swatches(sweep_csv(samples))
    assert [s.name for s in again] == [row.name for row in samples.rows]
    assert [s.reading.lab for s in again] == [row.lab for row in samples.rows]


@pytest.mark.parametrize("name", ["=1+1", "+cmd", "-2", "@sum"])
def test_a_name_that_a_spreadsheet_takes_for_a_formula_is_kept_a_text(name):
    mine = parse_swatches(f"name,L,a,b\n{name},50,0,0\n")
    (cells,) = csv.DictReader(io.StringIO(sweep_csv(sweep(JOB, mine))))
    assert cells["name"] == f"'{name}"


def test_names_with_commas_quotes_and_signs_come_through_csv():
    names = ['a "fine" grey, pale', "grau – hell", "серый"]
    labs = [(50.0, 0.0, 0.0), (60.0, 0.0, 0.0), (70.0, 0.0, 0.0)]
    mine = tuple(Swatch(name, Reading(lab=lab)) for name, lab in zip(names, labs, strict=True))
    table = csv.DictReader(io.StringIO(sweep_csv(sweep(JOB, mine))))
    assert {cells["name"] for cells in table} == set(names)


def test_progress_runs_up_to_all_swatches():
    told = []
    sweep(JOB, progress=lambda done, of: told.append((done, of)))
    number = len(shipped_swatches("topcoats"))
    assert {of for _, of in told} == {number}
    assert [done for done, _ in told] == sorted(done for done, _ in told)
    assert told[-1] == (number, number)


def test_a_swatch_that_nothing_hides_is_null_and_last():
    mine = swatches_of([(82.0, 6.0, 80.0), GREYISH_GREEN])
    thin = small_job(GREYISH_GREEN, patch((18, 0, 0)), application={"tool": "aerosol"})
    first, last = sweep(thin, mine).rows
    assert first.coats is not None
    assert (last.coats, last.saved, last.chance) == (None, None, 0.0)
