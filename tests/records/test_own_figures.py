"""A painter's own figures in place of defaults: film, transfer, minutes, drying."""

from __future__ import annotations

import math
import re

import pytest

from jobs.small_jobs import WHITE, patch, small_job
from jobs.small_photos import FILM, READINGS
from jobs.whole_jobs import reckoned, whole
from records.painters_jobs import OLIVE, entry
from showthrough import plan, predict
from showthrough.defaults import usual
from showthrough.film.coats import WET_FILM_THICKNESS_UM
from showthrough.jobs.case.prepared import prepare
from showthrough.jobs.finished import finished_entry
from showthrough.jobs.photos.photos import read_drawdown

# Sprayed without a stated film, so that tool, transfer and drying all rest on defaults.
SPRAYED = {
    **OLIVE,
    "application": {"tool": "spray", "gun": "hvlp", "openness": "flat panel"},
    "area_m2": 2.0,
    "days": {"zone": "Europe/Berlin", "start": "2090-03-01"},
}
SPRAYED["topcoat"] = {**OLIVE["topcoat"], "cans": [{"ml": 250}, {"ml": 750}]}
USUAL_UM = WET_FILM_THICKNESS_UM["spray", "light"]
LOG = {"film_from": "tool", "wet_film_um": USUAL_UM, "film_coats": None, "area_m2": 2.0}


def with_logs(*rows, job=SPRAYED):
    return {**job, "finished": list(rows)}


def film_of(*rows):
    return predict(with_logs(*rows)).film


# --- film and transfer ---------------------------------------------------------------------


def test_a_gauge_draws_the_film_to_what_it_read_as_far_as_both_sides_are_known():
    one = entry(3, **LOG, gauge_um=60.0)
    plain, thick, sure = film_of(), film_of(one), film_of(*[one] * 20)
    assert plain.wet_film_um == USUAL_UM < thick.wet_film_um < sure.wet_film_um
    assert sure.wet_film_um == pytest.approx(60.0, rel=0.02)
    assert sure.spread < thick.spread < plain.spread
    # Solids are stated, so that wet film alone was unsure: by hand, precisions add.
    prior = math.log(usual("film.spread of wet film")) ** 2
    kept = 1.0 - math.log(1.15) ** 2 / (math.log(predict(SPRAYED).hiding.spread) ** 2 + prior)
    prior *= kept
    gain = prior / (prior + math.log(1.15) ** 2)
    assert thick.wet_film_um == pytest.approx(USUAL_UM * (60.0 / USUAL_UM) ** gain, rel=2e-3)
    assert {thick.basis, sure.basis} == {"finished jobs"}


def test_a_gauge_reads_wet_films_and_leaves_unsure_solids_as_they_were():
    # Stated solids are known; solids by default stay as unsure as they were, however often a
    # gauge is read.
    unsure = {
        **SPRAYED,
        "topcoat": {k: v for k, v in OLIVE["topcoat"].items() if k != "volume_solids"},
    }
    sure, left = (
        math.log(predict(with_logs(*[entry(3, **LOG, gauge_um=60.0)] * 50, job=job)).film.spread)
        for job in (SPRAYED, unsure)
    )
    assert math.sqrt(left**2 - sure**2) == pytest.approx(
        math.log(usual("film.spread of volume solids")), rel=0.1
    )


def test_counts_that_make_the_film_surer_make_transfer_surer():
    used = entry(4, **LOG, paint_ml=700.0)
    counted = [entry(4, **{**LOG, "film_coats": 2.5}, paint=f"p{i}", paint_spread=1.05)
               for i in range(20)]  # fmt: skip
    alone, both = (
        prepare(with_logs(*rows)).learned.transfer for rows in ([used], [used, *counted])
    )
    assert both.sigma < alone.sigma
    assert both.jobs == alone.jobs == 1


def test_an_amount_is_as_sure_as_the_transfer_that_was_learned():
    def width(*rows):
        amounts = reckoned(with_logs(*rows)).materials.products[-1].amounts
        half, nine = amounts.coat_ml_at([0.5, 0.9])
        return nine / half

    gauged = [entry(3, **LOG, gauge_um=USUAL_UM)] * 9
    used = [entry(3, **LOG, gauge_um=USUAL_UM, paint_ml=415.0)]
    assert width(*gauged, *used * 20) < width(*gauged, *used) < width(*gauged)
    assert prepare(with_logs(*gauged, *used)).learned.transfer.sigma > 0.05
    # A spread of the area and of the film is left whatever is known of transfer.
    loose = reckoned(with_logs(*gauged, *used)).materials.products[-1]
    assert loose.amounts.ml_at(0.9) > loose.amounts.ml_at(0.5)


def test_paint_used_on_the_piece_holds_whatever_stayed_on_it():
    use = {"ml": 400.0, "area_m2": 2.0, "coats": 3}
    job = {**SPRAYED, "application": {**SPRAYED["application"], "paint_used": use}}
    row = entry(6, film_from="paint used", paint="another", paint_spread=1.2)
    for rows in ([], [row] * 3):
        told = whole(with_logs(*rows, job=job)).assumptions
        assert not any(
            text.startswith("Spray gun, paint that stays on the piece, how") for text in told
        )


def test_the_film_names_the_jobs_and_no_default_beside_them():
    told = predict(with_logs(*[entry(3, **LOG, gauge_um=60.0)] * 3))
    (named,) = [text for text in told.assumptions if "Wet film" in text]
    film = f"{told.film.wet_film_um:g} µm"
    assert named == f"Wet film {film}, from 3 of your jobs, where 45 µm is usual."
    assert told.learned.jobs == 3


def test_paint_used_with_a_transfer_that_was_weighed_tells_the_film():
    # 2 m2 by 3 coats by 60 µm lie on the piece: 360 ml, and as much again in the air.
    row = entry(3, **LOG, paint_ml=720.0, transfer=0.5)
    same = entry(3, **LOG, gauge_um=60.0)
    assert film_of(row) == film_of(same)


def test_paint_used_alone_moves_film_and_transfer_so_that_the_amount_is_met():
    part = usual("transfer.hvlp flat panel")
    # Half as much again was used as film and transfer let expect; nothing stayed in the gun.
    used = 1.5 * 2.0 * 3 * USUAL_UM / part
    job = {**SPRAYED, "application": {**SPRAYED["application"], "session_loss_ml": 0.0}}
    before, after = (
        reckoned(with_logs(*rows, job=job)).materials.products[-1].amounts.coat_ml_at([0.5])[0]
        for rows in ([], [entry(3, **LOG, paint_ml=used)] * 30)
    )
    assert after / before == pytest.approx(1.5, rel=0.06)
    film = film_of(*[entry(3, **LOG, paint_ml=used)] * 30)
    assert USUAL_UM < film.wet_film_um < 1.5 * USUAL_UM


def test_paint_used_tells_of_the_film_alone_where_the_job_states_what_stays():
    # Law: what is known takes no part of what was not expected.
    used = 1.5 * 2.0 * 3 * USUAL_UM / usual("transfer.hvlp flat panel")
    job = {**SPRAYED, "application": {**SPRAYED["application"], "transfer_efficiency": 0.65}}
    told = predict(with_logs(*[entry(3, **LOG, paint_ml=used)] * 30, job=job))
    assert told.film.wet_film_um == pytest.approx(1.5 * USUAL_UM, rel=0.03)
    stays = "Spray gun, paint that stays on the piece"
    assert not any(text.startswith(stays) for text in whole(job).assumptions)
    own = whole(with_logs(entry(3, **LOG, paint_ml=used), job=job))
    assert not any(text.startswith(stays) for text in own.assumptions)


def test_transfer_names_the_jobs_and_no_default_beside_them():
    rows = [entry(3, **LOG, gauge_um=USUAL_UM, paint_ml=900.0)] * 4
    before, after = (whole(with_logs(*r)).assumptions for r in ([], rows))
    assert any(
        re.match(r"Spray gun, paint that stays on the piece: 65% .*a default", text)
        for text in before
    )
    told = [text for text in after if text.startswith("Spray gun, paint that stays")]
    assert len(told) == 1
    assert "from 4 of your jobs, where 65% is usual" in told[0]
    # By hand: 900 ml over 2 m2 in 3 coats of 45 µm stay to 30 %.
    assert 30 < float(re.search(r"piece: ([\d.]+)%", told[0])[1]) < 65


@pytest.mark.parametrize(
    "other", [{"gun": "conventional"}, {"openness": "chair or spindles"}, {"tool": "brush"}]
)
def test_paint_used_with_another_gun_or_on_another_piece_says_nothing(other):
    assert film_of(entry(3, **{**LOG, **other}, paint_ml=2000.0)) == film_of()


def test_counts_and_logs_of_the_film_are_weighed_together():
    count = entry(7, **{**LOG, "film_coats": 3.0}, paint="another", paint_spread=1.2)
    by_count, by_gauge = film_of(*[count] * 3), film_of(entry(3, **LOG, gauge_um=60.0))
    both = film_of(*[count] * 3, entry(3, **LOG, gauge_um=60.0))
    assert by_count.wet_film_um < both.wet_film_um < by_gauge.wet_film_um


# --- minutes and drying --------------------------------------------------------------------


def spent(work, factor, n=1):
    expected = finished_entry(SPRAYED, minutes={work: 20.0})["work"][0]["expected"]
    return [finished_entry(SPRAYED, minutes={work: factor * expected})] * n


def minutes_of(answer, title):
    return sum(stay.minutes for stay in answer.days.stays if title in stay.title)


def test_an_entry_sets_minutes_beside_those_expected():
    # 4 min/m2 with a gun and 25 to set up and clean: 33 min for each coat of 2 m2.
    row = finished_entry(SPRAYED, minutes={"topcoat": 50.0, "dust off": 9.0, "yodelling": 5.0})
    assert row["work"] == [
        {"work": "topcoat", "minutes": 50.0, "expected": 33.0},
        {"work": "dust off", "minutes": 9.0, "expected": 4.0},
    ]


@pytest.mark.parametrize(("n", "between"), [(1, (1.2, 1.75)), (30, (1.9, 2.0))])
def test_minutes_of_the_own_log_replace_the_defaults(n, between):
    before, after = (whole(with_logs(*rows)) for rows in ([], spent("topcoat", 2.0, n)))
    factor = minutes_of(after, "topcoat") / minutes_of(before, "topcoat")
    assert between[0] < factor <= between[1]
    assert before.coats == after.coats
    assert after.learned is None
    told = [text for text in after.assumptions if text.startswith("Spray gun: ")]
    assert any(f"from {n} of your jobs, where 4 is usual" in text for text in told)
    assert not any(
        re.match(r"Spray gun: [\d.]+ minutes per m² and coat, a default", text) for text in told
    )


def test_minutes_with_another_tool_say_nothing_of_this_one():
    brushed = {**SPRAYED, "application": {"tool": "brush"}}
    rows = [finished_entry(brushed, minutes={"topcoat": 500.0, "dust off": 40.0})] * 3
    before, after = whole(SPRAYED), whole(with_logs(*rows))
    assert minutes_of(after, "topcoat") == minutes_of(before, "topcoat")
    assert minutes_of(after, "dust") > minutes_of(before, "dust")


def test_hours_until_the_next_coat_replace_the_default():
    slow = finished_entry(SPRAYED, dried_h=8.0)
    assert slow["expected_h"] == 4.0  # water-borne, thinly, in the room of its label
    before, after = (whole(with_logs(*rows)) for rows in ([], [slow] * 20))
    assert after.days.waiting_hours > before.days.waiting_hours
    assert any("from 20 of your jobs, where 4 is usual" in text for text in after.assumptions)
    assert not any(
        "Topcoat, time until the next" in t and "default" in t for t in after.assumptions
    )
    (wait,) = (s.product for s in after.plan if s.kind == "denib")
    assert re.search(r"(1\.9|2\.0) times as long from 20 of your jobs", wait)
    known = {**SPRAYED, "topcoat": {**SPRAYED["topcoat"], "chemistry": "water-borne"}}
    rows = [finished_entry(known, dried_h=8.0)] * 20
    told = whole(with_logs(*rows, job=known))
    (wait,) = (s.product for s in told.plan if s.kind == "denib")
    assert re.search(r"wait 4 hours \(from 20 of your jobs 7\.[89] h\)", wait)
    (fact,) = [text for text in told.assumptions if text.startswith("Water-borne paint")]
    assert re.search(r"wait 7\.[89] hours between coats \(from 20 of your jobs\)", fact)


def test_the_topcoats_hours_say_nothing_of_what_lies_under_it():
    rows = [finished_entry(SPRAYED, dried_h=8.0)] * 20
    assert any(text.startswith("Undercoat, time until the next coat: 4 hours, a default")
               for text in whole(with_logs(*rows)).assumptions)  # fmt: skip


def test_drying_of_another_chemistry_says_nothing():
    rows = [finished_entry(SPRAYED, dried_h=20.0) | {"chemistry": "alkyd"}] * 5
    assert whole(with_logs(*rows)) == whole(SPRAYED)


def test_what_teaches_no_coats_leaves_the_prediction_bit_for_bit():
    rows = [finished_entry(SPRAYED, dried_h=4.1, minutes={"topcoat": 90.0})]
    rows[0].pop("film_coats")
    before, after = predict(SPRAYED), predict(with_logs(*rows))
    assert after.learned is None
    assert after.model_copy(update={"plan": []}) == before.model_copy(update={"plan": []})


# --- a paint that was measured ---------------------------------------------------------------


def test_a_paint_measured_by_drawdown_stays_as_measured_and_teaches_the_hand():
    job = small_job(WHITE, patch(), application={"tool": "brush"})
    paint = read_drawdown(FILM | READINGS).paint
    job["topcoat"] = {"name": "Invented Olive", "paint": paint, "volume_solids": 0.38}
    row = finished_entry(job, coats=1)
    assert row["measured"] is True
    need = predict(job).patches[0].critical_um / predict(job).film.dry_film_um
    many = math.ceil(3.0 * need + 2.0)
    taught = predict({**job, "finished": [{**row, "film_coats": need, "coats": many}] * 4})
    before = predict(job)
    for key in ("evidence", "spread", "scattering_per_um", "measured", "rests_on"):
        assert getattr(taught.hiding, key) == getattr(before.hiding, key)
    assert taught.patches[0].critical_um == before.patches[0].critical_um
    assert taught.film.wet_film_um < before.film.wet_film_um
    assert prepare({**job, "finished": [row] * 4}).learned.hiding_factor == 1.0


def test_plan_of_a_piece_learns_as_its_prediction_does():
    rows = [entry(7, **{**LOG, "film_coats": 3.0})] * 5
    assert plan(with_logs(*rows)).coats == predict(with_logs(*rows)).coats
