"""Days: order, waiting, sharing, flips and the three dates."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reference.minute_bench import finish
from showthrough.errors import InputError
from showthrough.say.taken import taken_words
from showthrough.workshop.days.drying import CHEMISTRY, Climate, drying_factor
from showthrough.workshop.days.hours import DAYS, WorkingHours
from showthrough.workshop.days.schedule import Piece, hand_over, schedule
from showthrough.workshop.days.steps import (
    KINDS,
    Own,
    Step,
    chances_of_counts,
    count_at,
    recoat_hours,
    tasks_for,
)

LABEL = Climate()
HOURS = WorkingHours("UTC")
DAY_AND_NIGHT = WorkingHours("UTC", dict.fromkeys(DAYS, ((time(0), time(23, 59, 59, 999999)),)))
MONDAY = datetime(2027, 3, 1, 8, tzinfo=UTC)


def coat(counts=None, **more):
    return Step("coat", **{"minutes": 30, "coats": counts or {2: 1.0}, **more})


def plan(*steps, name="cupboard"):
    return Piece(name, steps)


# --- by hand ---------------------------------------------------------------------------


def test_a_small_job_by_hand():
    # Water-borne recoat 4 h and handle 24 h at the label's room (common practice, no source).
    done = schedule(
        [plan(Step("wash", minutes=60, wait_h=12), coat(), Step("hardware on", minutes=15))],
        MONDAY,
        HOURS,
        LABEL,
    )
    titles = [b.title for b in done.bookings]
    assert titles == [
        "wash",
        "coat 1 of 2",
        "light sanding before coat 2 of 2",
        "coat 2 of 2",
        "hardware on",
    ]
    begins = [b.start for b in done.bookings]
    tuesday, wednesday = MONDAY + timedelta(days=1), MONDAY + timedelta(days=2)
    assert begins == [
        MONDAY,  # 8:00 to 9:00, dry at 21:00
        tuesday,  # 8:00 to 8:30, recoat at 12:30
        tuesday + timedelta(hours=5),  # noon is from 12 to 13
        tuesday + timedelta(hours=5, minutes=3),  # to 13:33
        wednesday + timedelta(hours=5, minutes=33),  # 24 h later
    ]
    (dates,) = done.dates
    laid = tuesday + timedelta(hours=5, minutes=33)
    assert dates.recoat == laid + timedelta(hours=4)
    assert dates.refit == laid + timedelta(hours=24)
    assert dates.cure == laid + timedelta(days=28)
    assert dates.hand_over == done.hand_over == wednesday + timedelta(hours=5, minutes=48)
    assert done.bench_minutes == 60 + 30 + 3 + 30 + 15
    assert done.waiting_h == 12 + 4 + 24


def test_two_faces_that_cannot_hang_double_the_waiting():
    one = schedule([plan(coat())], MONDAY, DAY_AND_NIGHT, LABEL)
    two = schedule([plan(coat(flips=True))], MONDAY, DAY_AND_NIGHT, LABEL)
    assert one.waiting_h == 4 + 24
    assert two.waiting_h == 3 * 4 + 24
    assert two.bench_minutes == one.bench_minutes
    assert [b.title for b in two.bookings if b.kind == "coat"][:2] == [
        "coat 1 of 2, face 1 of 2",
        "coat 1 of 2, face 2 of 2",
    ]


def test_pieces_share_the_waiting():
    a, b = plan(coat({4: 1.0}), name="a"), plan(coat({4: 1.0}), name="b")
    alone = schedule([a], MONDAY, HOURS, LABEL)
    both = schedule([a, b], MONDAY, HOURS, LABEL)
    assert both.bench_minutes == 2 * alone.bench_minutes
    assert both.hand_over - alone.hand_over < timedelta(hours=4)


def test_a_cold_room_stretches_recoat_and_handling_but_no_label_is_shortened_to_cure():
    cold = Climate(15.0, 60.0)
    factor = drying_factor("water-borne", cold)
    here, there = (schedule([plan(coat())], MONDAY, DAY_AND_NIGHT, room) for room in (LABEL, cold))
    assert there.waiting_h == pytest.approx(factor * here.waiting_h, rel=1e-6)
    for done in (here, there):
        last = done.bookings[-1].end
        assert done.dates[0].cure - last == timedelta(days=28)


def test_clear_coats_wait_for_the_colour_and_shellac_hardly():
    # Common practice, no source: clear over water-borne 24 to 72 h; shellac sealer 45 min.
    tasks = tasks_for((Step("spot seal", chemistry="shellac"), coat(), Step("clear")), 0.5, LABEL)
    waits = {task.title: task.wait_h for task in tasks}
    assert waits["spot seal"] == 0.75
    assert waits["coat 1 of 2"] == 4.0
    assert 24.0 <= waits["coat 2 of 2"] <= 72.0


def test_a_slow_film_below_is_not_ready_sooner_for_a_quick_one_above():
    steps = (coat({1: 1.0}, chemistry="alkyd"), Step("seal", chemistry="shellac", minutes=10))
    done = schedule([plan(*steps)], MONDAY, DAY_AND_NIGHT, LABEL)
    alkyd = done.bookings[0].end + timedelta(hours=CHEMISTRY["alkyd"].handle_h.value)
    assert done.dates[0].refit == alkyd


def test_labels_win_over_defaults_and_defaults_are_told():
    told = [taken_words(used) for used in Step("coat", coats={2: 1.0}).used()]
    assert (
        "Coat, time until the next coat: 4 hours, a default (common practice, no source)." in told
    )
    assert any("Light sanding" in line for line in told)
    stated = Step("coat", minutes=10, recoat_h=2, handle_h=12, cure_d=14)
    assert stated.used() == ()
    (task,) = tasks_for((stated,), 0.5, LABEL)
    assert (task.minutes, task.wait_h, task.handle_h, task.cure_d) == (10, 2, 12, 14)
    assert any("16 hours (12 to 24)" in taken_words(used) for used in Step("wash").used())


def test_preparation_takes_15_to_40_minutes_a_square_metre():
    # Common practice, no source.
    # Every piece is washed, sanded, dusted and masked; filling, waxing off or scraping come on top.
    always = ("wash", "sand", "dust off", "mask")
    usual = sum(KINDS[kind].minutes.value for kind in always)
    assert 15.0 <= usual <= 40.0
    assert usual + KINDS["fill"].minutes.value + KINDS["wipe"].minutes.value <= 40.0


def test_bench_time_by_tool():
    # Common practice, no source: brush 12, roller 7, spray 4 min/m2; 25 min each gun session.
    for tool, each in (("brush", 12), ("roller", 7), ("hvlp", 4)):
        small, large = (tasks_for((Step("seal", a, tool=tool),), 0.5, LABEL)[0] for a in (1, 3))
        assert large.minutes - small.minutes == 2 * each
    assert (
        tasks_for((Step("seal", 2.0, tool="hvlp", profile=1.5),), 0.5, LABEL)[0].minutes == 12 + 25
    )


def test_a_piece_waits_for_what_must_be_done_and_dry_before():
    first = Piece("whole", (Step("hardware off", minutes=15),))
    a = Piece("a", (coat({1: 1.0}),), ("whole",))
    b = Piece("b", (coat({3: 1.0}),), ("whole",))
    last = Piece("assembly", (Step("hardware on", minutes=20),), ("a", "b"))
    done = schedule([first, a, b, last], MONDAY, HOURS, LABEL)
    assert done.bookings[0].piece == "whole"
    on = done.bookings[-1]
    handled = max(d.refit for d in done.dates if d.refit is not None)
    assert on.start >= handled
    assert [d.hand_over for d in done.dates] == [None, None, None, on.end]
    assert done.hand_over == on.end


def test_a_piece_waits_only_for_one_that_stands_before_it():
    for after in (("a",), ("c",), ("nothing",)):
        pieces = [Piece("a", (coat(),), after), Piece("c", (coat(),))]
        with pytest.raises(InputError, match="stand before"):
            schedule(pieces, MONDAY, HOURS, LABEL)


def test_what_takes_no_further_coat_yet_is_neither_handled_nor_cured():
    quick = coat({1: 1.0}, recoat_h=24, handle_h=4, cure_d=0.1)
    (dates,) = schedule([plan(quick)], MONDAY, HOURS, LABEL).dates
    assert dates.recoat <= dates.refit <= dates.cure


def test_of_pieces_that_can_begin_alike_the_first_named_comes_first_however_long_it_takes():
    slow, quick = (
        Piece(name, (Step("wash", minutes=minutes),)) for name, minutes in (("a", 90), ("b", 10))
    )
    for pieces in ([slow, quick], [quick, slow]):
        done = schedule(pieces, MONDAY, HOURS, LABEL)
        assert [b.piece for b in done.bookings] == [piece.name for piece in pieces]


def test_preparation_is_broken_off_at_noon_and_a_coat_is_not():
    # Common practice, no source: a wet edge must be kept, sanding can be gone on with.
    sanded, painted = (
        schedule([plan(step)], MONDAY + timedelta(hours=3), HOURS, LABEL).bookings[0].spans
        for step in (Step("sand", minutes=120), coat({1: 1.0}, minutes=120))
    )
    hours = [(11, 12), (13, 14)], [(13, 15)]
    for spans, expected in zip((sanded, painted), hours, strict=True):
        assert [(a.hour, b.hour) for a, b in spans] == expected


# --- counts ----------------------------------------------------------------------------


def test_hand_over_early_likely_and_in_nine_of_ten():
    job = plan(coat({2: 0.2, 3: 0.5, 5: 0.3}), Step("hardware on"))
    found = hand_over([job], MONDAY, HOURS, LABEL)
    counts = [
        sum(b.kind == "coat" for b in s.bookings) for s in (found.early, found.likely, found.late)
    ]
    assert counts == [2, 3, 5]
    assert found.early.hand_over < found.likely.hand_over < found.late.hand_over
    sure = hand_over([plan(coat())], MONDAY, HOURS, LABEL)
    assert sure.early == sure.likely == sure.late


def test_chances_of_counts_from_chances_enough():
    enough = {1: 0.1, 2: 0.4, 3: 0.9, 4: 0.995}
    found = chances_of_counts(enough, least=1)
    assert found == pytest.approx({1: 0.1, 2: 0.3, 3: 0.5, 4: 0.095, 5: 0.005})
    assert chances_of_counts(enough) == pytest.approx({2: 0.4, 3: 0.5, 4: 0.095, 5: 0.005})
    assert chances_of_counts({1: 1.0}) == {2: 1.0}
    assert chances_of_counts(dict.fromkeys(range(1, 13), 0.0)) == {12: 1.0}
    assert [count_at(found, c) for c in (0.05, 0.1, 0.5, 0.9, 1.0)] == [1, 1, 3, 3, 5]


# --- laws ------------------------------------------------------------------------------

kinds = st.sampled_from(sorted(KINDS))
steps = st.builds(
    Step,
    kind=kinds,
    area_m2=st.floats(0.1, 5.0),
    tool=st.sampled_from(["brush", "hvlp"]),
    chemistry=st.sampled_from(sorted(CHEMISTRY)),
    coats=st.integers(1, 3).map(lambda n: {n: 1.0}),
    flips=st.booleans(),
)
plans = st.lists(steps, min_size=1, max_size=6).map(tuple)


@settings(max_examples=40)
@given(st.lists(plans, min_size=1, max_size=3))
def test_nobody_does_two_things_at_once_and_every_film_gets_its_time(listed):
    pieces = [Piece(f"piece {i}", own) for i, own in enumerate(listed)]
    done = schedule(pieces, MONDAY, HOURS, LABEL)
    spans = [span for booking in done.bookings for span in booking.spans]
    assert all(before[1] <= after[0] for before, after in pairwise(spans))
    for piece, dates in zip(pieces, done.dates, strict=True):
        own = [b for b in done.bookings if b.piece == piece.name]
        tasks = tasks_for(piece.steps, 0.5, LABEL)
        assert [b.title for b in own] == [t.title for t in tasks]
        for task, before, after in zip(tasks, own, own[1:], strict=False):
            assert after.start >= before.end + timedelta(hours=task.wait_h)
        for task, booking in zip(tasks, own, strict=True):
            if task.laid:
                handled = booking.end + timedelta(hours=task.handle_h)
                assert dates.hand_over >= handled
                assert dates.refit >= handled
                assert dates.cure >= booking.end + timedelta(days=task.cure_d)
        assert dates.hand_over >= own[-1].end


@settings(max_examples=15)
@given(plans)
def test_one_piece_is_done_when_a_bench_run_minute_by_minute_is(own):
    tasks = tasks_for(own, 0.5, LABEL)
    done = schedule([plan(*own)], MONDAY, HOURS, LABEL)
    assert done.bookings[-1].end == finish(tasks, MONDAY)


@settings(max_examples=20)
@given(st.lists(st.tuples(plans, st.integers(1, 4)), min_size=2, max_size=3))
def test_fewer_coats_are_never_done_later(listed):
    # Laying tasks as they come is no best order: one task less may end later (Graham 1969).
    pieces = [
        Piece(f"p{i}", (*own, coat({n: 0.3, n + 1: 0.4, n + 3: 0.3})))
        for i, (own, n) in enumerate(listed)
    ]
    found = hand_over(pieces, MONDAY, HOURS, LABEL)
    assert found.early.hand_over <= found.likely.hand_over <= found.late.hand_over


# --- what cannot be --------------------------------------------------------------------


def test_everything_wrong_with_a_step_is_told_at_once():
    with pytest.raises(InputError) as caught:
        Step(
            "paint",
            -1.0,
            profile=0.0,
            tool="mop",
            chemistry="tar",
            coats={},
            minutes=-1,
            recoat_h=0,
            handle_h=0,
            cure_d=0,
            wait_h=-1,
            film_ratio=0,
        )
    found = {p.field: p.message for p in caught.value.problems}
    assert set(found) == {
        "kind", "area_m2", "profile", "tool", "chemistry", "coats", "minutes", "recoat_h",
        "handle_h", "cure_d", "wait_h", "film_ratio",
    }  # fmt: skip
    assert "above 0" in found["recoat_h"]


def test_no_piece_no_step_twins_and_a_start_without_zone_are_refused():
    with pytest.raises(InputError, match="from 1 to"):
        Piece("x", ())
    with pytest.raises(InputError) as caught:
        schedule([plan(coat()), plan(coat())], MONDAY.replace(tzinfo=None), HOURS, LABEL)
    assert {p.field for p in caught.value.problems} == {"pieces", "start"}
    with pytest.raises(InputError, match="from 1 to"):
        hand_over([], MONDAY, HOURS, LABEL)


@pytest.mark.parametrize("climate", [LABEL, Climate(12.0, 70.0)])
def test_a_painters_own_drying_is_a_factor_in_every_room(climate):
    # Law: jobs teach how many times the expected hours it takes, and the room is expected.
    usual, own = (recoat_hours(coat(**more), climate) for more in ({}, {"drying": Own(3, 1.5)}))
    assert own == pytest.approx(1.5 * usual, rel=1e-12)
