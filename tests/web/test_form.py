from __future__ import annotations

import math
from typing import Any, get_args
from urllib.parse import urlencode

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from showthrough.errors import UNSAFE, InputError
from showthrough.jobs.case.prepared import prepare
from showthrough.jobs.schema.job import EXAMPLE_JOB, Job
from showthrough.web.forms.fields import BY_NAME, JOB_FIELDS, ROWS
from showthrough.web.forms.form import Form, acted, link_of, link_pairs, pairs_of, read_form
from showthrough.web.forms.job_form import form_of, job_of, mends_of
from showthrough.workshop.grounds import GROUND_KINDS, Chemistry, Condition, Stain

_LETTERS = st.characters(exclude_categories=["Cs"])


def _texts(most: int, without: str = "") -> st.SearchStrategy[str]:
    letters = st.characters(exclude_categories=["Cs"], exclude_characters=without)
    plain = letters.filter(lambda sign: not UNSAFE.search(sign))  # a job holds no others
    return st.text(plain, min_size=1, max_size=most).map(str.strip).filter(bool)


def _maybe(**parts: st.SearchStrategy[Any]) -> st.SearchStrategy[dict[str, Any]]:
    return st.fixed_dictionaries({}, optional=parts)


_part = st.floats(0.0, 1.0)
_share = st.floats(0.0, 1.0, exclude_min=True)
_solids = st.floats(0.05, 1.0)
_film = st.floats(1.0, 1000.0)
_label = st.fixed_dictionaries(
    {"contrast_ratio": st.floats(0.5, 0.999), "spreading_rate_m2_l": st.floats(0.5, 40.0)},
    optional={"tested": st.sampled_from(["base", "this colour"])},
)
_colour = st.sampled_from(["a3b84c", "#fff", "lab(66 -24 55) D50/10", "5GY 6/8", "lrv 45"])
_lead_test = st.fixed_dictionaries(
    {"by": st.sampled_from(["kit", "laboratory"]), "result": st.sampled_from(["clear", "lead"])},
    optional={"date": st.dates().map(str)},
)
_patch = st.fixed_dictionaries(
    {"name": _texts(80), "colour": _colour},
    optional={
        "share": _share,
        "skin": st.sampled_from(["coated", "bare"]),
        "ground": st.sampled_from(GROUND_KINDS),
        "porous": st.booleans(),
        "bleeds": st.booleans() | st.just("may"),
        "sanded_through": st.booleans(),
        "edge": st.booleans(),
        "condition": st.sampled_from(get_args(Condition)),
        "stain": st.sampled_from(get_args(Stain)),
        "lead_test": _lead_test,
    },
)
_owned = st.fixed_dictionaries(
    {"name": _texts(80), "colour": _colour},
    optional={
        "volume_solids": _solids,
        "wet_film_um": _film,
        "label": _label,
        "bonds": st.booleans(),
        "blocks": st.booleans(),
    },
)
_second = st.fixed_dictionaries(
    {"name": _texts(80), "colour": _colour},
    optional={"kind": st.sampled_from(["paint", "wood"])},
)
_used = st.fixed_dictionaries(
    {"area_m2": st.floats(0.01, 1e4)},
    optional={
        "ml": st.floats(0.1, 1e5),
        "g": st.floats(0.1, 1e5),
        "coats": st.integers(1, 100),
        "density_g_ml": st.floats(0.7, 3.0),
    },
)
_jobs = st.fixed_dictionaries(
    {
        "topcoat": st.fixed_dictionaries(
            {"colour": _colour | _colour.map(lambda c: {"text": c, "specular": "included"})},
            optional={
                "name": _texts(80),
                "volume_solids": _solids,
                "label": _label,
                "sheen": st.sampled_from(["matt", "eggshell", "satin", "gloss"]),
                "chemistry": st.sampled_from(get_args(Chemistry)),
                "bonds": st.booleans(),
            },
        ),
        "surface": st.lists(_patch, min_size=1, max_size=4),
    },
    optional={
        "title": _texts(200),
        "child": st.booleans(),
        "antique": st.booleans(),
        "test_piece": st.fixed_dictionaries({"coats": st.integers(1, 12), "enough": st.booleans()}),
        "application": _maybe(
            tool=st.sampled_from(["brush", "roller", "spray", "aerosol"]),
            coat=st.sampled_from(["light", "full"]),
            wet_film_um=_film,
            least_topcoats=st.integers(1, 4),
            paint_used=_used,
            transfer_efficiency=_share,
            sanding_loss=st.floats(0.0, 0.5),
            evenness_cv=_part,
        ),
        "undercoat": st.lists(_owned, max_size=3),
        "second_colour": st.lists(_second, max_size=3),
        "finishes": st.lists(_texts(80, ","), min_size=1, max_size=4, unique=True),
    },
)


@given(_jobs)
def test_a_job_comes_back_from_its_link_as_it_was(job: dict[str, Any]) -> None:
    form, actions = read_form(pairs_of(link_of(form_of(job))))
    assert actions == []
    back, there = Job.model_validate(job_of(form)), Job.model_validate(job)
    assert back.model_dump() == there.model_dump()


_names = st.sampled_from(
    [f.name for f in JOB_FIELDS]
    + [f"{f.name}{n}" for _, fields in ROWS.values() for f in fields for n in (1, 2, 7)]
    + ["finishes", "finish", "utm", "colour0", "colour01", "colour9999", ""]
)


@given(st.lists(st.tuples(_names, st.text(_LETTERS, max_size=12)), max_size=20))
def test_a_link_is_its_own_shortest_form_so_that_no_redirect_goes_round(
    pairs: list[tuple[str, str]],
) -> None:
    form, _ = read_form(pairs)
    link = link_pairs(form)
    again, _ = read_form(link)
    assert link_pairs(again) == link
    # By their texts, since what was typed may be no number at all.
    assert repr(job_of(again)) == repr(job_of(form))
    assert pairs_of(link_of(form)) == link


@given(st.lists(st.tuples(_names, st.text(_LETTERS, max_size=12)), max_size=20))
def test_whatever_is_typed_is_a_job_or_a_list_of_problems_that_stand_at_a_field(
    pairs: list[tuple[str, str]],
) -> None:
    form, _ = read_form(pairs)
    error = _error_of(form)
    assume(error is not None)
    assert error is not None
    mends = mends_of(error, form)
    assert len(mends) == len(error.problems)
    for mend, problem in zip(mends, error.problems, strict=True):
        name = mend.field.rstrip("0123456789")
        assert {name, mend.field} & set(BY_NAME) or mend.field in {"surface", "finishes"}
        assert mend.message.startswith(problem.message)
        assert mend.label


def _error_of(form: Form) -> InputError | None:
    try:
        prepare(job_of(form))
    except InputError as error:
        return error
    return None


@pytest.mark.parametrize(
    "colour",
    [
        {"lab": [66, -24, 55]},
        [66, -24, 55],
        {"lab": [66, -24, 55], "illuminant": "D50", "observer": 10},
        {"lch": [66.5, 40.25, 113]},
        {"xyz": [27.5, 35.3, 9.4], "observer": 10},
        {"hex": "#a3b84c"},
        {"munsell": "5GY 6/8"},
        {"lrv": 45.5},
        {"text": "rgb(163 184 76)"},
        {"swatch": "white 96"},
        {"lab": [66, -24, 55], "specular": "included"},
    ],
)
def test_each_notation_of_a_job_becomes_a_text_for_the_same_colour(colour: Any) -> None:
    job = {"topcoat": {"colour": colour}, "surface": [{"colour": "76523a"}]}
    back = job_of(form_of(job))
    there, here = prepare(job).topcoat, prepare(back).topcoat
    assert there is not None
    assert here is not None
    np.testing.assert_allclose(there.reflectance, here.reflectance, rtol=1e-12)


@pytest.mark.parametrize(
    ("topcoat", "field"),
    [
        ({"colour": {"spectrum": {"values": [0.1, 0.2]}}}, "topcoat.colour"),
        ({"colour": "fff", "paint_file": "paint.toml"}, "topcoat.paint_file"),
    ],
)
def test_what_the_form_has_no_field_for_is_said_and_not_lost(
    topcoat: dict[str, Any], field: str
) -> None:
    with pytest.raises(InputError) as caught:
        form_of({"topcoat": topcoat, "surface": [{"colour": "000"}]})
    assert caught.value.problems[0].field.startswith(field)


def test_percent_is_typed_and_a_part_is_meant() -> None:
    form, _ = read_form([("solids", "38 %"), ("share1", "12.5"), ("colour1", "fff")])
    job = job_of(form)
    assert job["topcoat"]["volume_solids"] == 0.38
    assert job["surface"] == [{"colour": "fff", "share": 0.125}]


def test_what_is_no_number_is_left_for_the_schema_to_name() -> None:
    form, _ = read_form([("solids", "much"), ("film", "thick"), ("share1", "nan")])
    job = job_of(form)
    assert job["topcoat"]["volume_solids"] == "much"
    assert job["application"]["wet_film_um"] == "thick"
    assert math.isnan(job["surface"][0]["share"])


@pytest.mark.parametrize("text", ["1e999999999", "sNaN", "-Infinity", "1e-999999999", "%", "٣"])
def test_no_number_is_too_odd_to_be_named(text: str) -> None:
    form, _ = read_form([("topcoat", "fff"), ("solids", text), ("film", text), ("colour1", "000")])
    error = _error_of(form)
    assert error is not None
    assert {m.field for m in mends_of(error, form)} >= {"solids"}


def test_blank_rows_are_left_out_and_problems_still_stand_at_the_row_that_was_typed() -> None:
    form, _ = read_form(
        [("topcoat", "a3b84c"), ("colour1", ""), ("colour2", "fff"), ("colour3", "nonsense")]
    )
    assert job_of(form)["surface"] == [
        {"colour": "fff", "name": "patch 2"},
        {"colour": "nonsense", "name": "patch 3"},
    ]
    with pytest.raises(InputError) as caught:
        prepare(job_of(form))
    (mend,) = mends_of(caught.value, form)
    assert (mend.field, mend.label) == ("colour3", "Patch 3, colour")


def test_an_empty_form_names_what_is_missing() -> None:
    with pytest.raises(InputError) as caught:
        prepare(job_of(Form()))
    mends = {m.field: m.message for m in mends_of(caught.value, Form())}
    assert set(mends) == {"topcoat", "colour1"}


def test_buttons_add_remove_and_pick() -> None:
    form = form_of(EXAMPLE_JOB)
    added, focus = acted(form, [("add", "patch")])
    assert (len(added.patches), focus) == (3, "colour3")
    picked, focus = acted(added, [("surface_sample", "pine wood knot")])
    assert focus == "colour3"
    assert dict(picked.patches[2]) == {
        "patch": "pine wood knot",
        "colour": "pine wood knot",
        "skin": "bare",
        "ground": "wood",
        "porous": "no",
        "bleeds": "yes",
    }
    fewer, _ = acted(picked, [("remove", "patch1")])
    assert [row["patch"] for row in fewer.patches] == ["filled ring mark", "pine wood knot"]
    own, focus = acted(form, [("add", "under")])
    assert (len(own.unders), focus) == (1, "under1")
    white, _ = acted(form, [("topcoat_sample", "white 96")])
    assert white.values["topcoat"] == "white 96"


@pytest.mark.parametrize("what", ["patch9", "patch", "under1", "", "surface1", "patch-1"])
def test_removing_what_is_not_there_changes_nothing(what: str) -> None:
    form = form_of(EXAMPLE_JOB)
    assert link_of(acted(form, [("remove", what)])[0]) == link_of(form)


def test_the_link_of_the_example_can_be_read_aloud() -> None:
    assert link_of(form_of(EXAMPLE_JOB)) == (
        "title=Linen+cupboard,+two+doors&topcoat=lab(66+-24+55)&solids=38&tool=spray&film=45"
        "&patch1=brown+finish&colour1=lab(38+12+20)&share1=90&ground1=varnish"
        "&patch2=filled+ring+mark&colour2=%23d8c39a&share2=10&skin2=bare&ground2=filler&porous2=yes"
    )


def test_more_fields_than_any_job_has_are_refused() -> None:
    with pytest.raises(InputError, match="at most 2000 fields"):
        pairs_of(urlencode([("x", "")] * 2001))


def test_fields_nobody_knows_are_kept_apart() -> None:
    form, _ = read_form([("topcoat", "fff"), ("tpocoat", "000"), ("colour1", "fff")])
    assert form.unknown == (("tpocoat", "000"),)


def test_a_second_colour_without_a_name_is_called_by_words_of_hue_and_lightness() -> None:
    form, _ = read_form([("second_colour1", "navy"), ("second_colour2", "a3b84c")])
    # CSS Color 4: navy is #000080, our words for which are "deep blue".
    assert [row["name"] for row in job_of(form)["second_colour"]] == ["deep blue", "a3b84c"]
