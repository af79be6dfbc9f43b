"""Fields named as places of a job: the mapping, both ways, and what follows on a change."""

from __future__ import annotations

from typing import Any, get_args
from urllib.parse import urlencode

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import BaseModel

from showthrough.errors import UNSAFE, InputError
from showthrough.jobs.case.prepared import prepare
from showthrough.jobs.schema.job import EXAMPLE_JOB, Job
from showthrough.web.forms.edits import settled
from showthrough.web.forms.labels import LABELS, label_of, pattern_of
from showthrough.web.forms.paths import (
    fields_of,
    fields_of_job,
    job_of,
    leaf,
    number_of,
    pairs_of,
    path_of,
    query_of,
)
from showthrough.web.forms.words import WORDS, kept_beside, paths_on, word_at, word_of
from showthrough.web.pages.bench import field_at
from showthrough.workshop.grounds import GROUND_KINDS, Chemistry, Condition, Stain
from showthrough.workshop.size.area import SHAPES

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
_price = st.sampled_from(["9.50 EUR", "12,5 EUR", 7])
_cans = st.lists(
    st.fixed_dictionaries({"price": _price}, optional={"ml": st.floats(1.0, 5000.0)}), max_size=4
)
_product = st.fixed_dictionaries(
    {"step": st.sampled_from(["bond", "undercoat"])}, optional={"cans": _cans}
)
_group = st.fixed_dictionaries(
    {"name": _texts(80)},
    optional={
        "area_m2": st.floats(0.01, 90.0),
        "topcoat": st.fixed_dictionaries({"colour": _colour}),
        "surface": st.lists(_patch, min_size=1, max_size=2),
        "shape": st.lists(
            st.fixed_dictionaries(
                {
                    "shape": st.just("panel"),
                    "width": st.sampled_from(["80 cm", "2 ft 3 1/2 in", 12.5]),
                },
                optional={"count": st.integers(1, 9)},
            ),
            max_size=2,
        ),
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
        "area_m2": st.floats(0.01, 900.0),
        "units": st.sampled_from(["metric", "us"]),
        "pieces": st.integers(1, 20),
        "room": _maybe(temperature_c=st.floats(-5.0, 40.0), humidity_percent=st.floats(1.0, 99.0)),
        "days": _maybe(start=st.dates().map(str), days_off=st.lists(st.dates().map(str))),
        "money": _maybe(
            currency=st.just("EUR"), labour_per_hour=st.sampled_from(["24.50 EUR", 12])
        ),
        "product": st.lists(_product, max_size=2),
        "group": st.lists(_group, max_size=3),
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
@settings(max_examples=60)
def test_a_job_comes_back_from_its_link_as_it_was(job: dict[str, Any]) -> None:
    back = Job.model_validate(job_of(fields_of(pairs_of(query_of(fields_of_job(job))))))
    assert back.model_dump(exclude_defaults=True) == _plain(
        Job.model_validate(job).model_dump(exclude_defaults=True)
    )


def _plain(value: Any) -> Any:
    """Without empty lists and tables, which say nothing."""
    if isinstance(value, dict):
        return {k: _plain(v) for k, v in value.items() if v not in ([], {}, "")}
    return [_plain(v) for v in value] if isinstance(value, list) else value


_names = st.sampled_from(
    [
        *(path for word in WORDS.values() for path in paths_on(word, {})),
        *paths_on(word_of("surface.2"), {}),  # type: ignore[arg-type] # it is there
        *paths_on(word_of("part.3"), {}),  # type: ignore[arg-type] # it is there
        "surface.0.colour",
        "surface.01.colour",
        "surface.9999.colour",
        "surface.1",
        "surface",
        "tpocoat.colour",
        "utm",
        "",
        ".",
        "topcoat.colour.",
        "topcoat.cans.7.ml",
    ]
)
_sent = st.lists(st.tuples(_names, st.text(_LETTERS, max_size=12)), max_size=20)


@given(_sent)
def test_a_query_is_its_own_shortest_form(pairs: list[tuple[str, str]]) -> None:
    fields = fields_of(pairs)
    again = fields_of(pairs_of(query_of(fields)))
    assert again == fields
    # By their texts, since what was typed may be no number at all.
    assert repr(job_of(again)) == repr(job_of(fields))


@given(_sent)
def test_whatever_is_typed_is_a_job_or_problems_that_stand_at_a_field(
    pairs: list[tuple[str, str]],
) -> None:
    error = _error_of(settled(fields_of(pairs), pairs))
    for problem in () if error is None else error.problems:
        path = field_at(problem.field)
        assert (leaf(path) is not None) if path else problem.message
        assert word_of(word_at(path_of(problem.field))) is not None


def _error_of(fields: dict[str, str]) -> InputError | None:
    try:
        prepare(job_of(fields))
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
        {"spectrum": {"values": [0.1 + 0.01 * i for i in range(31)]}},
        {"spectrum": {"values": [0.25] * 16, "step_nm": 20.0}, "radius": 1.5},
    ],
)
def test_each_notation_of_a_job_becomes_a_text_for_the_same_colour(colour: Any) -> None:
    job = {"topcoat": {"colour": colour}, "surface": [{"colour": "76523a"}]}
    back = job_of(fields_of_job(job))
    there, here = prepare(job).topcoat, prepare(back).topcoat
    np.testing.assert_allclose(there.reflectance, here.reflectance, rtol=1e-12)


def test_what_no_field_can_say_is_told_and_not_lost() -> None:
    with pytest.raises(InputError) as caught:
        fields_of_job({"topcoat": "green", "surface": [{"colour": "000"}]})
    assert caught.value.problems[0].field == "topcoat"


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("0.38", 0.38),
        ("0,38", 0.38),
        ("38 %", 0.38),
        ("38%", 0.38),
        ("12,5", 12.5),
        (",5", 0.5),
        ("2.4 m²", 2.4),
        ("2,4 m2", 2.4),
        ("45 µm", 45),
        ("7", 7),
        ("-3", -3),
        ("1e3", 1000.0),
        ("much", "much"),
        ("1.234,5", "1.234,5"),
        ("1 234", "1 234"),
        ("nan", "nan"),
        ("٣", "٣"),
        ("%", "%"),
        ("", ""),
    ],
)
def test_numbers_are_typed_with_comma_or_point_and_perhaps_their_unit(
    text: str, value: float | str
) -> None:
    assert number_of(text) == value


@pytest.mark.parametrize("text", ["1e999999999", "sNaN", "-Infinity", "%", "9" * 400, "1e400"])
def test_no_number_is_too_odd_to_be_named(text: str) -> None:
    fields = {"topcoat.colour": "fff", "surface.1.colour": "000", "topcoat.volume_solids": text}
    error = _error_of(fields)
    assert error is not None
    assert {field_at(p.field) for p in error.problems} == {"topcoat.volume_solids"}


def test_rows_are_counted_anew_and_empty_ones_left_out() -> None:
    fields = fields_of(
        [("surface.2.colour", "fff"), ("surface.7.colour", "000"), ("surface.7.name", "")]
    )
    assert fields == {"surface.1.colour": "fff", "surface.2.colour": "000"}


def test_of_a_name_that_comes_twice_the_last_counts_but_lists_take_all() -> None:
    pairs = [("surface.1.ground", "varnish"), ("surface.1.ground", "waxed")]
    assert fields_of(pairs) == {"surface.1.ground": "waxed"}
    assert job_of(fields_of([("finishes", "606"), ("finishes", "619")])) == {
        "finishes": ["606", "619"]
    }


def test_names_that_are_no_place_of_a_job_are_left_alone() -> None:
    assert fields_of([("topcoat.colour", "fff"), ("tpocoat", "000"), ("utm", "x")]) == {
        "topcoat.colour": "fff"
    }


def test_more_fields_than_any_job_has_are_refused() -> None:
    with pytest.raises(InputError, match="at most 2000 fields"):
        pairs_of(urlencode([("x", "")] * 2001))


def test_the_link_of_the_example_can_be_read_aloud() -> None:
    assert query_of(fields_of_job(EXAMPLE_JOB)) == (
        "title=Linen+cupboard,+two+doors&topcoat.colour=lab(66+-24+55)&topcoat.volume_solids=0.38"
        "&surface.1.name=brown+finish&surface.1.colour=lab(38+12+20)&surface.1.share=0.9"
        "&surface.1.ground=varnish&surface.2.name=filled+ring+mark&surface.2.colour=%23d8c39a"
        "&surface.2.share=0.1&surface.2.skin=bare&surface.2.porous=yes&surface.2.ground=filler"
        "&application.tool=spray&application.wet_film_um=45"
    )


# --- every place of a job has its field ------------------------------------------------


def _places(model: Any, before: str = "") -> set[str]:
    """Every key of a job as the schema's JSON has it, lists without numbers."""
    found = set()
    for name, info in model.model_fields.items():
        path = f"{before}{name}"
        inner = _inner(info.annotation)
        if inner is None or inner.__name__ in {"ColourInput", "InlineSpectrum"}:
            found.add(path)
        else:
            found |= _places(inner, f"{path}.")
    return found


def _inner(annotation: Any) -> Any:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((f for a in get_args(annotation) if (f := _inner(a)) is not None), None)


_ELSEWHERE = ("paint_file",)
"""Files are named by job files alone; the page takes their text. What finished jobs taught is no
field either: the records tell it."""


def test_every_key_of_a_job_stands_on_a_sheet() -> None:
    sheets = [*WORDS.values(), word_of("surface.1"), word_of("part.1")]
    shown = {pattern_of(path) for word in sheets if word for path in paths_on(word, {})}
    week = "days.week"
    for place in _places(Job):
        if place.endswith(_ELSEWHERE) or place.startswith(("group.", "finished.")):
            continue
        assert place in shown or (place == week and f"{week}.mon" in shown), place
    for place in _places(Job.model_fields["group"].annotation.__args__[0]):  # type: ignore[union-attr] # a list
        if place in {"name", "area_m2", "area_ft2"}:
            assert f"group.{place}" in shown


def test_every_field_of_a_sheet_has_a_name_and_is_a_place_of_a_job() -> None:
    for word in [*WORDS.values(), word_of("surface.3"), word_of("part.2")]:
        assert word is not None
        for path in paths_on(word, {}):
            assert leaf(path) is not None, path
            assert pattern_of(path) in LABELS, path
            assert label_of(path).name


@pytest.mark.parametrize("shape", SHAPES)
def test_a_shape_that_is_chosen_shows_its_own_lengths(shape: str) -> None:
    word = word_of("part.1")
    assert word is not None
    fields = {"group.1.shape.1.shape": shape}
    on = {path for path in paths_on(word, fields) if path.startswith("group.1.shape.1.")}
    lengths = {f"group.1.shape.1.{key}" for key in SHAPES[shape].sizes}
    plain = {f"group.1.shape.1.{key}" for key in ("shape", "count", "faces", "profile")}
    assert on == lengths | plain
    for path in lengths:
        assert pattern_of(path) in LABELS
    odd = fields | {"group.1.shape.1.girth": "3 cm"}
    assert "group.1.shape.1.girth" in set(paths_on(word, odd)), "what was said is never hidden"


def test_a_sheet_carries_along_what_it_does_not_show() -> None:
    fields = fields_of_job(EXAMPLE_JOB)
    for word in [*WORDS.values(), word_of("surface.1"), word_of("surface.2")]:
        assert word is not None
        shown = {path for path in paths_on(word, fields) if path in fields}
        assert shown | set(kept_beside(word, fields)) == set(fields)
        assert not shown & set(kept_beside(word, fields))


# --- what follows on a change ------------------------------------------------------------


def _changed(word: str, **changes: str) -> dict[str, str]:
    """The example after a sheet was sent with changes; ``__`` stands for a point."""
    fields = fields_of_job(EXAMPLE_JOB)
    before = [(f"before.{p}", fields.get(p, "")) for p in (f"{word}.colour", f"{word}.share")]
    if word == "tool":
        keys = ("application.tool", "application.wet_film_um", "application.coat")
        before = [(f"before.{p}", fields.get(p, "")) for p in keys]
    pairs = [*fields.items(), *before, *((k.replace("__", "."), v) for k, v in changes.items())]
    return settled(fields_of(pairs), pairs)


def test_a_sample_that_is_picked_brings_its_facts() -> None:
    fields = _changed("surface.1", surface__1__sample="pine wood knot")
    own = {k.removeprefix("surface.1."): v for k, v in fields.items() if k.startswith("surface.1.")}
    # swatches/surfaces.csv: pine wood knot, bare, not porous, wood, bleeds.
    assert own == {
        "colour": "pine wood knot",
        "name": "pine wood knot",
        "share": "0.9",
        "skin": "bare",
        "ground": "wood",
        "porous": "no",
        "bleeds": "yes",
    }


@pytest.mark.parametrize(
    ("was", "chosen", "ticked", "now"),
    [
        ("gloss", "varnish", ["gloss"], "varnish"),
        ("varnish", "varnish", ["gloss"], "gloss"),
        ("gloss", "", ["gloss", "waxed"], "waxed"),
        ("waxed", "", ["gloss", "waxed"], "gloss"),
        ("gloss", "", ["gloss"], "gloss"),
        ("gloss", "", [], None),
    ],
)
def test_of_what_a_ground_is_that_counts_which_was_said_last(
    was: str, chosen: str, ticked: list[str], now: str | None
) -> None:
    ground = "surface.1.ground"
    pairs = [("surface.1.colour", "oak wood"), (f"before.{ground}", was), (ground, chosen)]
    pairs += [(ground, each) for each in ticked]
    assert settled(fields_of(pairs), pairs).get(ground) == now


def test_a_colour_that_is_typed_wins_over_a_sample_that_stood_there() -> None:
    fields = _changed("surface.1", surface__1__sample="lab(38 12 20)", surface__1__colour="fff")
    assert fields["surface.1.colour"] == "fff"
    assert fields["surface.1.ground"] == "varnish"


def test_a_new_topcoat_forgets_the_old_ones_name_and_reading() -> None:
    job = EXAMPLE_JOB | {"topcoat": {"name": "old", "colour": {"text": "fff", "radius": 3.0}}}
    fields = fields_of_job(job)
    before = ("before.topcoat.colour", "fff")
    pairs = [*fields.items(), before, ("topcoat.sample", "white 96")]
    found = settled(fields_of(pairs), pairs)
    assert [(k, v) for k, v in found.items() if k.startswith("topcoat.")] == [
        ("topcoat.colour", "white 96")
    ]


def test_another_tool_forgets_the_film_of_the_first() -> None:
    assert "application.wet_film_um" not in _changed("tool", application__tool="brush")
    kept = _changed("tool", application__tool="brush", application__wet_film_um="80")
    assert kept["application.wet_film_um"] == "80"
    assert _changed("tool")["application.wet_film_um"] == "45"


def test_shares_stay_a_whole() -> None:
    fields = _changed("surface.1", surface__1__share="0.5")
    assert (fields["surface.1.share"], fields["surface.2.share"]) == ("0.5", "0.5")
    fields = _changed("surface.3", surface__3__sample="white melamine")
    shares = [float(fields[f"surface.{n}.share"]) for n in (1, 2, 3)]
    assert shares == [0.81, 0.09, 0.1]
    assert sum(shares) == pytest.approx(1.0)
    left = _changed("surface.2", drop="surface.1")
    assert left["surface.1.name"] == "filled ring mark"
    assert not [k for k in left if k.endswith(".share") or k.startswith("surface.2")]


def test_shares_of_a_link_are_never_bent() -> None:
    pairs = [("surface.1.colour", "fff"), ("surface.1.share", "0.5"), ("surface.2.colour", "000")]
    assert settled(fields_of(pairs), pairs) == fields_of(pairs)


def test_patches_and_second_colours_without_a_name_are_told_apart() -> None:
    # CSS Color 4: navy is #000080, our words for which are "deep blue".
    pairs = [
        ("surface.1.colour", "fff"),
        ("surface.2.colour", "000"),
        ("second_colour.1.colour", "navy"),
        ("before.surface.2.colour", ""),
    ]
    found = settled(fields_of(pairs), pairs)
    names = [found[k] for k in ("surface.1.name", "surface.2.name", "second_colour.1.name")]
    assert names == ["patch 1", "patch 2", "deep blue"]
