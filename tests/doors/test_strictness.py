"""Numbers are numbers, yes and no are that, and texts hold nothing that a terminal obeys."""

from __future__ import annotations

import importlib
import json
import pkgutil
import types
from datetime import date
from typing import Annotated, Any, Literal, Union, get_args, get_origin

import numpy as np
import pytest
from pydantic import BaseModel, TypeAdapter, ValidationError

from doors.doors import client, refusal, run
from jobs.small_jobs import small_job, toml_of
from showthrough import InputError, jobs, predict
from showthrough.errors import UNSAFE
from showthrough.film.drawdown.table import paint_to_table
from showthrough.film.hiding import paint_from_colour
from showthrough.jobs.schema.job import Application, Model
from showthrough.jobs.schema.photo import SurfaceRequest

NOT_A = {
    float: [True, False, "45", "4_5", "1e1", " 1 ", "nan", b"1"],
    int: [True, False, "4", "4_5", 4.5, b"4"],
    bool: ["off", "yes", "true", "1", "0", 0, 1, 1.0],
    date: [0, 1, 1.5, True, "soon", "2026-13-01", "31.5.2026", b"2026-05-31"],
    str: [1, 1.5, True, "a\x1b[2Jb", "a\nb", "a\x9bb", "a\u202eb", "a\u2066b", "a\u2028b"],
}
"""What is none of a kind, though pydantic takes much of it when it is left to itself."""


def models():
    """Every model of a request: whatever derives from the schema's own base."""
    for found in pkgutil.iter_modules(jobs.__path__, "showthrough.jobs."):
        importlib.import_module(found.name)
    todo, out = [Model], set()
    while todo:
        model = todo.pop()
        todo += model.__subclasses__()
        if model.__module__.startswith("showthrough."):
            out.add(model)
    return sorted(out, key=lambda m: m.__name__)


def wrong_for_both(value):
    """Whether a value is neither a number nor a text that may be shown."""
    if isinstance(value, str):
        return UNSAFE.search(value) is not None
    return isinstance(value, bool | bytes)


def wrong_values(annotation):
    """Kind and value for each way to put what is none of its kind into an annotation."""
    origin, parts = get_origin(annotation), get_args(annotation)
    if origin is Annotated:
        yield from wrong_values(parts[0])
    elif origin in {Union, types.UnionType}:
        for part in parts:
            if {float, str} <= set(parts) and part in {float, str}:
                # A length or a price, as a number or as a text: neither kind takes these.
                yield from ((part, v) for v in NOT_A[part] if wrong_for_both(v))
            else:
                yield from wrong_values(part)
    elif origin is list:
        yield from ((kind, [value] * 3) for kind, value in wrong_values(parts[0]))
    elif origin is tuple:
        yield from ((kind, [value] * len(parts)) for kind, value in wrong_values(parts[0]))
    elif origin is dict:
        yield from ((kind, {"bare_black": value}) for kind, value in wrong_values(parts[1]))
    elif annotation in NOT_A:
        yield from ((annotation, value) for value in NOT_A[annotation])
    else:
        known = origin is Literal or annotation in {Any, type(None)}
        assert known or issubclass(annotation, BaseModel), f"teach this test {annotation}"


CASES = [
    (f"{model.__name__}.{name}", info.rebuild_annotation(), kind, value)
    for model in models()
    for name, info in model.model_fields.items()
    for kind, value in wrong_values(info.rebuild_annotation())
]
FREE_TEXTS = {"SoftenRequest.swatches_csv", "SweepRequest.swatches_csv", "SweepRequest.sort"}
"""A whole file of many lines; and what is compared with a list of words later."""


def test_the_walk_meets_fields_of_each_kind_at_each_depth():
    met = {name for name, *_ in CASES}
    assert {"Patch.share", "Topcoat.bonds", "ColourInput.lab", "SoftenRequest.budget"} <= met
    assert {"SurfaceRequest.most", "CardInput.region", "InlineSpectrum.values"} <= met
    assert {"DrawdownRequest.regions", "PreviewRequest.undercoat", "Job.title"} <= met


@pytest.mark.parametrize(("name", "annotation"), {n: a for n, a, *_ in CASES}.items())
def test_no_field_takes_what_is_none_of_its_kind(name, annotation):
    check = TypeAdapter(annotation)
    for _, _, kind, value in (case for case in CASES if case[0] == name):
        if kind is str and name in FREE_TEXTS:
            continue
        with pytest.raises(ValidationError):
            check.validate_python(value)


@pytest.mark.parametrize("value", [np.float64(45), np.float32(45), np.int64(45), 45, 45.0])
def test_numbers_of_other_libraries_are_numbers(value):
    film = Application(wet_film_um=value).wet_film_um
    assert (film, type(film)) == (45.0, float)


@pytest.mark.parametrize("value", [4, 4.0, np.int64(4)])
def test_a_whole_number_may_be_written_as_json_writes_any(value):
    # JSON Schema, Validation, section 6.1.1: any number with a zero fraction is an integer.
    most = SurfaceRequest(most=value).most
    assert (most, type(most)) == (4, int)


@pytest.mark.parametrize(
    ("more", "field", "says"),
    [
        ({"application": {"wet_film_um": True}}, "application.wet_film_um", "not true"),
        (
            {"application": {"wet_film_um": "45"}},
            "application.wet_film_um",
            'must be a number, not the text "45"; write 45 without quotes',
        ),
        (
            {"application": {"wet_film_um": "4_5"}},
            "application.wet_film_um",
            'must be a number, not the text "4_5"',
        ),
        ({"topcoat": {"colour": {"lrv": True}}}, "topcoat.colour.lrv", "not true"),
        (
            {"topcoat": {"colour": "#a3b84c", "bonds": "off"}},
            "topcoat.bonds",
            'must be true or false, not the text "off"; write false without quotes',
        ),
        ({"surface": [{"colour": "#333", "share": True}]}, "surface[1].share", "not true"),
        (
            {"title": "one\ntwo"},
            "title",
            "holds the control character \\u000a; write it as one line of plain text",
        ),
    ],
)
def test_every_door_names_field_and_value_and_what_would_work(more, field, says, tmp_path):
    job = {**small_job(), **more}
    with pytest.raises(InputError) as caught:
        predict(job)
    (problem,) = caught.value.problems
    assert (problem.field, says in problem.message) == (field, True), problem
    response = client().post("/api/predict", json=job)
    assert response.status_code == 422
    assert refusal(response) == [problem.as_dict()]
    path = tmp_path / "job.toml"
    path.write_text(toml_of(job), encoding="utf-8")
    assert run("predict", path) == (
        2,
        "",
        f"One thing to put right:\n  {field}: {problem.message}\n",
    )


def test_two_shares_of_which_one_is_true_are_told_once():
    surface = [
        {"name": "a", "colour": "#333", "share": True},
        {"name": "b", "colour": "#333", "share": 0.5},
    ]
    with pytest.raises(InputError) as caught:
        predict(small_job(surface=surface))
    assert [p.field for p in caught.value.problems] == ["surface[1].share"]


# --- limits ----------------------------------------------------------------------------


@pytest.mark.parametrize("key", ["surface", "undercoat", "second_colour"])
def test_of_a_list_that_is_too_long_only_that_is_told_and_nothing_in_it_is_read(key, monkeypatch):
    from showthrough.jobs.case import resolve

    read = []
    monkeypatch.setattr(resolve, "reading_of", lambda value, _folder=None: read.append(value))
    rows = [{"name": f"n{i}", "colour": "5ZZ 4/6", "bad": i} for i in range(3000)]
    job = small_job(typo=1)
    job.pop("surface")
    with pytest.raises(InputError) as caught:
        predict({**job, "topcoat": {}, "surface": [], key: rows})
    told = {p.field: p for p in caught.value.problems}
    assert "takes at most" in told[key].message
    assert not [field for field in told if field.startswith(f"{key}[")]
    assert read == []


def test_problems_are_capped_and_their_number_is_said(tmp_path):
    job = small_job(**{f"key{i}": i for i in range(500)})
    with pytest.raises(InputError) as caught:
        predict(job)
    problems = caught.value.problems
    assert len(problems) == 21
    assert (problems[-1].code, problems[-1].value) == ("more", "480")
    assert "480 more" in problems[-1].message
    assert "500 in all" in problems[-1].message
    assert refusal(client().post("/api/predict", json=job)) == [p.as_dict() for p in problems]
    path = tmp_path / "job.toml"
    path.write_text(toml_of(job), encoding="utf-8")
    assert run("predict", path)[2].startswith("500 things to put right:\n")


def test_capped_problems_stay_counted_when_they_are_gathered_again():
    from showthrough.errors import Problem, ProblemList

    gathered = ProblemList()
    for part in ("one", "two"):
        with gathered.collecting(part):
            raise InputError(Problem(f"[{i}]", "", "is wrong") for i in range(300))
    with pytest.raises(InputError) as caught:
        gathered.raise_if_any()
    assert len(caught.value.problems) == 21
    assert "600 in all" in caught.value.problems[-1].message


def test_a_value_is_told_in_short_however_large_and_deep_it_is():
    deep = 1
    for _ in range(900):
        deep = {"a": [deep]}
    for value in (deep, "x" * 900_000, list(range(90_000)), 10**5000):
        for more in ({"title": value}, {"topcoat": {"colour": "#333", "paint": value}}):
            with pytest.raises(InputError) as caught:
                predict({**small_job(), **more})
            # A paint is told each key that it lacks, so the bound is for one problem, not for all.
            assert len(caught.value.problems) <= 21
            for problem in caught.value.problems:
                assert len(json.dumps(problem.as_dict())) < 400


def test_a_paints_own_keys_and_numbers_are_as_harmless_as_the_rest_of_a_job():
    grey = paint_to_table(paint_from_colour([0.3] * 31))
    for more in ({"absorption": [10**400] * 31}, {"spread": 10**400}, {"x\x1b[2J\x9b": 1}):
        with pytest.raises(InputError) as caught:
            predict({**small_job(), "topcoat": {"paint": grey | more}})
        assert not UNSAFE.search("".join(p.field + p.value for p in caught.value.problems))


@pytest.mark.parametrize("key", ["surface", "undercoat"])
def test_a_name_that_is_a_number_of_thousands_of_digits_is_no_name(key):
    rows = [{"name": 10**5000, "colour": "#333"}]
    with pytest.raises(InputError) as caught:
        predict({**small_job(), key: rows})
    assert [p.field for p in caught.value.problems] == [f"{key}[1].name"]
