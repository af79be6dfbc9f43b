"""Groups of a whole job: each as if alone, shared work once, and everything in its order."""

from __future__ import annotations

import random

import pytest

from jobs.small_jobs import (
    BROWN_FINISH,
    BRUSH,
    GREYISH_GREEN,
    LIGHT_SPRAY,
    WHITE,
    YELLOW_GREEN,
    patch,
    small_job,
)
from jobs.whole_jobs import MONEY, whole
from reference.random_jobs import random_job
from reference.random_whole_jobs import random_whole_jobs
from showthrough import InputError, predict

VARNISH = patch(BROWN_FINISH, ground="varnish")
STEEL = {"name": "steel", "colour": "lab(50 0 0)", "ground": "steel"}
PINE = {"name": "pine", "colour": "lab(70 8 28)", "ground": "wood", "skin": "bare"}
TABLE = small_job(
    GREYISH_GREEN,
    PINE,
    application=BRUSH,
    group=[
        {"name": "top", "area_m2": 1.68},
        {
            "name": "legs",
            "area_m2": 0.56,
            "surface": [STEEL],
            "topcoat": {"name": "black", "colour": "lab(20 0 0)"},
            "application": {"tool": "spray", "openness": "chair or spindles"},
        },
    ],
)
SHARED = ("topcoat", "topcoat_name", "coats", "ways", "plan")


def kinds(answer, group=None):
    return [s.kind for s in answer.steps if group is None or group in (s.groups or [group])]


@pytest.mark.parametrize(("unit", "width"), [("mm", 508), ("cm", 50.8), ("m", 0.508), ("in", 20)])
def test_bare_lengths_are_in_the_unit_that_the_job_names(unit, width):
    # Definition: an inch is 25.4 mm.
    front = {"shape": "panel", "width": width, "height": "1 m"}
    groups = [{"name": "front", "shape": [front]}]
    job = small_job(WHITE, VARNISH, group=groups)
    assert whole({**job, "unit": unit}).area.total_m2 == pytest.approx(0.508)


def test_the_largest_group_leads():
    answer = whole(TABLE)
    top, legs = answer.groups
    for key in SHARED:
        assert getattr(answer, key) == getattr(top, key)
    TABLE["group"].reverse()
    try:
        turned = whole(TABLE)
    finally:
        TABLE["group"].reverse()
    for key in SHARED:
        assert getattr(turned, key) == getattr(top, key)
    assert [g.name for g in turned.groups] == ["legs", "top"]
    assert turned.groups[0] == legs


def _laid(own, job):
    """A group's own words; of the same tool the job's film and evenness too, unless it says."""
    if own["tool"] != job["tool"]:
        return own
    film = {"wet_film_um", "coat", "paint_used"}
    return {k: v for k, v in job.items() if k not in film or not film & set(own)} | own


@pytest.mark.parametrize("seed", range(12))
def test_a_group_gives_what_a_job_made_of_it_alone_gives(seed):
    rng = random.Random(seed)  # noqa: S311 - a repeatable sequence
    job = random_job(rng)
    job.pop("finishes", None)
    groups = [{"name": "plain", "area_m2": 1.0}]
    for i, keys in enumerate((("topcoat",), ("surface",), ("topcoat", "surface", "application"))):
        own = random_job(rng)
        groups.append({"name": f"own {i}", "area_m2": 0.5, **{k: own[k] for k in keys}})
    answer = whole({**job, "group": groups})
    for row, shown in zip(groups, answer.groups, strict=True):
        own = {k: v for k, v in row.items() if k not in {"name", "area_m2"}}
        if "application" in own:
            own["application"] = _laid(own["application"], job["application"])
        alone = whole({**job, **own, "area_m2": row["area_m2"]})
        for key in SHARED:
            assert getattr(shown, key) == getattr(alone, key), (row["name"], key)


def test_a_group_takes_from_the_job_what_it_leaves_out():
    job = small_job(
        YELLOW_GREEN,
        VARNISH,
        application={**LIGHT_SPRAY, "least_topcoats": 3, "openness": "carcass", "flips": True},
        finish={"kind": "wax"},
        group=[
            {"name": "plain", "area_m2": 1.0},
            {"name": "thick", "area_m2": 0.5, "application": {"wet_film_um": 90}},
            {"name": "brushed", "area_m2": 0.4, "application": {"tool": "brush"}},
            {
                "name": "weighed",
                "area_m2": 0.3,
                "application": {"paint_used": {"ml": 200, "area_m2": 1.9}},
            },
            {"name": "bare of wax", "area_m2": 0.2, "finish": {"kind": "none"}},
        ],
    )
    groups = {g.name: g for g in whole(job).groups}

    def alone(**application):
        return predict({**job, "group": [], "application": application})

    rest = {"least_topcoats": 3, "openness": "carcass"}
    assert groups["thick"].coats == alone(tool="spray", wet_film_um=90, **rest).coats
    # A film of the spray gun says nothing of a brush; how many coats wear well does.
    assert groups["brushed"].coats == alone(tool="brush", **rest).coats
    used = {"ml": 200, "area_m2": 1.9}
    assert groups["weighed"].coats == alone(tool="spray", paint_used=used, **rest).coats
    waxed = {name: any(s.kind == "wax" for s in g.plan) for name, g in groups.items()}
    assert waxed == {name: name != "bare of wax" for name in groups}


def test_a_test_piece_tells_nothing_of_a_group_in_another_paint_tool_or_ground():
    rows = {
        "plain": {},
        "paint": {"topcoat": {"colour": "lab(42 50 30)"}},
        "tool": {"application": {"tool": "roller"}},
        "ground": {"surface": [patch((20, 5, 5), ground="paint")]},
    }
    groups = [{"name": name, "area_m2": 1.0, **own} for name, own in rows.items()]
    job = small_job(YELLOW_GREEN, VARNISH, group=groups)
    untried, tried = whole(job), whole({**job, "test_piece": {"coats": 2, "enough": False}})
    same = {a.name: a.coats == b.coats for a, b in zip(untried.groups, tried.groups, strict=True)}
    assert same == {"plain": False, "paint": True, "tool": True, "ground": True}


def test_a_job_without_groups_is_one_group():
    bare = small_job(YELLOW_GREEN, VARNISH)
    alone = whole({**bare, "area_m2": 1.9, "money": MONEY}).model_dump()
    named = {**bare, "money": MONEY, "group": [{"name": "whole piece", "area_m2": 1.9}]}
    assert whole(named).model_dump() == alone
    assert [g["name"] for g in alone["groups"]] == ["whole piece"]


def test_shared_work_stands_once():
    job = {**TABLE, "surface": [VARNISH], "group": [TABLE["group"][0], {**TABLE["group"][1]}]}
    job["group"][1] = {k: v for k, v in job["group"][1].items() if k != "surface"}
    answer = whole(job)
    steps = [s for s in answer.steps if s.kind in {"hardware off", "lead test", "wash", "refit"}]
    assert [s.kind for s in steps] == ["lead test", "hardware off", "wash", "refit"]
    assert all(not s.groups for s in steps)
    titles = [stay.title for stay in answer.days.stays]
    for once in ("hardware off", "lead test", "hardware on"):
        assert titles.count(once) == 1


# Common practice, no source: nothing is painted before its own preparation, no dust is made
# beside a fresh topcoat, and what goes back on goes on last.
_PREPARATION = {
    "lead test", "strip", "feather", "wash", "degrease", "rust off", "solvent wipe", "sand",
    "raise grain", "knock back", "key", "dust off", "wax off", "silicone off", "brush off",
}  # fmt: skip
_LAID = {"prime", "bind", "block", "bond", "seal", "spot seal", "undercoat", "topcoat", "clear"}


def test_all_dust_is_made_before_any_coat():
    for job in (TABLE, *random_whole_jobs(25, 5)):
        try:
            steps = whole(job).steps
        except InputError:
            continue
        told = [s.kind for s in steps]
        laid = [i for i, kind in enumerate(told) if kind in _LAID]
        prepared = [i for i, kind in enumerate(told) if kind in _PREPARATION]
        if laid and prepared:
            assert max(prepared) < min(laid)
        if laid:
            assert told.count("refit") == told.count("hardware off") == 1
            after = told[told.index("refit") :]
            assert set(after) == {"refit", "cure"}
            assert told.index("hardware off") < min(laid)
        first = [i for i, kind in enumerate(told) if kind == "lead test"]
        assert all(told[i] in {"lead test", "lead safety"}
                   for i in range(max(first, default=0)))  # fmt: skip


def test_each_groups_own_plan_stands_in_the_whole_list_in_its_order():
    for job in (TABLE, *random_whole_jobs(25, 6)):
        try:
            answer = whole(job)
        except InputError:
            continue
        assert [s.number for s in answer.steps] == list(range(1, len(answer.steps) + 1))
        for group in answer.groups:
            own = [(s.kind, s.product, s.coats) for s in group.plan]
            listed = [
                (s.kind, s.product, s.coats)
                for s in answer.steps
                if group.name in (s.groups or [group.name])
                and s.kind not in {"hardware off", "refit", "mask"}
            ]
            assert listed == own


def test_groups_beyond_the_limit_and_named_twice_are_refused_together():
    many = [{"name": f"g{i % 24}", "area_m2": 1.0} for i in range(26)]
    with pytest.raises(InputError) as caught:
        whole({**small_job(), "group": many})
    fields = {p.field for p in caught.value.problems}
    assert "group" in fields
    with pytest.raises(InputError) as caught:
        whole({**small_job(), "group": [{"name": "a", "area_m2": 1}, {"name": "a", "area_m2": 1}]})
    (problem,) = caught.value.problems
    assert (problem.field, problem.value) == ("group", "a")


def test_as_many_groups_as_are_allowed_may_all_differ():
    groups = [
        {"name": f"g{i}", "area_m2": 0.2, "topcoat": {"colour": f"lab({30 + 2 * i} 2 3)"}}
        for i in range(24)
    ]
    answer = whole({**small_job(WHITE, VARNISH), "group": groups})
    assert answer.days is not None


def test_names_of_groups_may_look_like_lists_of_names():
    paint = {"colour": "lab(30 2 5)"}
    groups = [
        {"name": "doors", "area_m2": 1.0},
        {"name": "top", "area_m2": 1.0},
        {"name": "doors and top", "area_m2": 0.5, "topcoat": paint},
        {"name": "whole piece", "area_m2": 0.4, "topcoat": {"colour": "lab(60 2 5)"}},
        {"name": "MDF shelf", "area_m2": 0.3, "topcoat": {"colour": "lab(80 2 5)"}},
    ]
    answer = whole({**small_job(WHITE, VARNISH), "group": groups})
    assert len({stay.group for stay in answer.days.stays}) >= 4
    assert "MDF shelf: " in answer.headline
