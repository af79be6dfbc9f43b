"""Bad jobs: every problem at once, by field, in words that say what would work."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.small_jobs import GREYISH_GREEN, laws, many_wrong, patch, small_job
from showthrough import InputError, predict, predict_file
from showthrough.jobs.case.prepared import prepare_file

NAN = math.nan


def problems(job):
    """Each problem of a job: field, value, message, code."""
    with pytest.raises(InputError) as caught:
        predict(job)
    return caught.value.problems


def one_problem(job):
    (problem,) = problems(job)
    return problem


def fields(job):
    return [p.field for p in problems(job)]


MANY_FIELDS = {
    "titel",
    "topcoat.colour",
    "topcoat.volume_solids",
    "surface",
    "surface[2].colour",
    "surface[3].colour.lab[2]",
    "surface[3].skin",
    "application.tool",
    "application.wet_film_um",
    "undercoat[1].colour",
    "finishes[2]",
}


def test_all_problems_of_a_job_are_told_at_once_by_field():
    found = problems(many_wrong())
    assert {p.field for p in found} == MANY_FIELDS
    assert len({(p.field, p.message) for p in found}) == len(found), "none is told twice"
    for problem in found:
        assert problem.message
        assert problem.code


# --- keys ------------------------------------------------------------------------------


def test_an_unknown_key_is_named_with_the_one_that_was_meant():
    problem = one_problem(small_job(aplication={}))
    assert problem.field == "aplication"
    assert "did you mean application?" in problem.message


def test_an_unknown_key_inside_lists_what_that_part_knows():
    problem = one_problem(small_job(GREYISH_GREEN, patch(colr="#333")))
    assert problem.field == "surface[1].colr"
    assert "did you mean colour?" in problem.message
    assert "share" in problem.message
    assert "topcoat" not in problem.message


@pytest.mark.parametrize("missing", ["topcoat", "surface"])
def test_a_part_that_is_missing_is_asked_for(missing):
    job = small_job()
    del job[missing]
    problem = one_problem(job)
    assert (problem.field, problem.code) == (missing, "missing")


def test_a_topcoat_without_a_colour_is_asked_for_one():
    assert fields({**small_job(), "topcoat": {"volume_solids": 0.4}}) == ["topcoat.colour"]


@pytest.mark.parametrize("job", [None, [], "job", 3, [1]])
def test_what_is_no_table_is_no_job(job):
    assert "must be a table" in one_problem(job).message


# --- colours ---------------------------------------------------------------------------


def test_a_colour_that_no_paint_can_be_names_the_bound():
    problem = one_problem(small_job((60, 200, 10)))
    assert problem.field == "topcoat.colour"
    assert problem.code == "out_of_range"
    assert "chroma 200 is more than any paint of this lightness and hue can have" in problem.message
    bound = float(problem.message.rpartition("about ")[2].rstrip(")"))
    hue = math.atan2(10, 200)
    # "About": a little of L* may be given up for chroma.
    within = (60, (bound - 1.0) * math.cos(hue), (bound - 1.0) * math.sin(hue))
    # A little beyond it is moved and named; far beyond it is another colour.
    beyond = (60, (bound + 60.0) * math.cos(hue), (bound + 60.0) * math.sin(hue))
    predict(small_job(within))
    assert fields(small_job(beyond)) == ["topcoat.colour"]


@pytest.mark.parametrize(
    ("colour", "says"),
    [
        ("5ZZ 4/6", "ZZ is not a Munsell hue"),
        ({"munsell": "5ZZ 4/6"}, "ZZ is not a Munsell hue"),
        ("#12", "3 or 6 digits"),
        ("lab(50 20)", "needs three numbers"),
        ("pale yellow-gren 84", "nearest names are: "),
        ({}, "exactly one of"),
        ({"hex": "#333", "lrv": 4}, "this one has hex and lrv"),
        ({"hex": "#333333", "illuminant": "A"}, "defined for D65"),
    ],
)
def test_a_wrong_colour_says_what_would_work(colour, says):
    problem = one_problem(small_job(colour))
    assert problem.field.startswith("topcoat.colour")
    assert says in problem.message


@pytest.mark.parametrize("bad", [NAN, math.inf, -math.inf])
def test_a_number_that_is_none_is_refused_at_its_place(bad):
    assert fields(small_job((50, bad, 0))) == ["topcoat.colour.lab[2]"]


# --- numbers ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("application", "field"),
    [
        ({"wet_film_um": -4}, "application.wet_film_um"),
        ({"wet_film_um": 0}, "application.wet_film_um"),
        ({"wet_film_um": NAN}, "application.wet_film_um"),
        ({"wet_film_um": 4000}, "application.wet_film_um"),
        ({"wet_film_um": "thick"}, "application.wet_film_um"),
        ({"sanding_loss": 0.9}, "application.sanding_loss"),
        ({"evenness_cv": -0.1}, "application.evenness_cv"),
        ({"paint_used": {"ml": -1, "area_m2": 1}}, "application.paint_used.ml"),
        ({"paint_used": {"ml": 1, "area_m2": 0}}, "application.paint_used.area_m2"),
        ({"paint_used": {"area_m2": 1}}, "application.paint_used"),
        ({"paint_used": {"ml": 1, "g": 1, "area_m2": 1}}, "application.paint_used"),
        ({"wet_film_um": 40, "paint_used": {"ml": 9, "area_m2": 1}}, "application.paint_used"),
    ],
)
def test_a_film_that_cannot_be_is_refused_at_its_field(application, field):
    assert fields(small_job(application={"tool": "brush", **application})) == [field]


@pytest.mark.parametrize(
    "used",
    [
        {"ml": 1000, "area_m2": 0.01},  # 95 mm of wet paint
        {"ml": 0.001, "area_m2": 1000},  # less than a molecule
        {"g": 5e5, "area_m2": 1e4, "density_g_ml": 0.7, "coats": 100},
    ],
)
def test_paint_used_that_makes_no_film_of_paint_says_which_film_it_would_make(used):
    problem = one_problem(small_job(application={"tool": "brush", "paint_used": used}))
    assert problem.field == "application.paint_used"
    assert "wet film of" in problem.message
    assert "1 to 1000 µm" in problem.message


def test_a_label_in_percent_is_told_how_to_write_it():
    label = {"contrast_ratio": 98, "spreading_rate_m2_l": 8}
    problem = one_problem(small_job(paint={"label": label}))
    assert problem.field == "topcoat.label.contrast_ratio"
    assert "98% is 0.98" in problem.message


def test_a_label_that_no_film_can_have_is_told_at_the_label():
    label = {"contrast_ratio": 1.0 - 1e-16, "spreading_rate_m2_l": 40, "tested": "this colour"}
    problem = one_problem(small_job("#ffffff", paint={"label": label, "volume_solids": 0.05}))
    assert problem.field == "topcoat.label.contrast_ratio"


@pytest.mark.parametrize("huge", [10**400, -(10**400)])
def test_a_number_with_hundreds_of_digits_is_no_share_and_no_lightness(huge):
    assert fields(small_job([huge, 0, 0])) == ["topcoat.colour.lab[1]"]
    assert fields(small_job(GREYISH_GREEN, patch(share=huge))) == ["surface[1].share"]


# --- the surface -----------------------------------------------------------------------


def test_an_empty_surface_is_asked_for_a_patch():
    job = small_job()
    job["surface"] = []
    problem = one_problem(job)
    assert problem.field == "surface"
    assert "needs at least 1" in problem.message


def test_more_patches_than_an_eye_compares_are_refused():
    job = small_job(GREYISH_GREEN, *(patch(name=f"p{i}") for i in range(25)))
    problem = one_problem(job)
    assert (problem.field, problem.message) == ("surface", "takes at most 24")


def test_shares_that_do_not_make_one_are_added_up_for_the_painter():
    problem = one_problem(
        small_job(GREYISH_GREEN, patch(name="a", share=0.5), patch(name="b", share=0.6))
    )
    assert problem.field == "surface"
    assert problem.message == "the shares 0.5 + 0.6 make 1.1; they must make 1"


def test_a_share_that_is_missing_is_not_guessed():
    problem = one_problem(small_job(GREYISH_GREEN, patch(name="a", share=0.5), patch(name="b")))
    assert "either every patch has a share or none has" in problem.message


@pytest.mark.parametrize("bad", [NAN, math.inf, -0.5, "half", 0, 2, 10**400])
def test_a_share_that_is_no_share_is_told_once_at_its_own_place(bad):
    job = small_job(GREYISH_GREEN, patch(name="a", share=0.5), patch(name="b", share=bad))
    assert fields(job) == ["surface[2].share"]


def test_a_share_written_as_a_text_is_told_how_to_write_it():
    job = small_job(GREYISH_GREEN, patch(name="a", share="0.25"), patch(name="b", share=0.75))
    problem = one_problem(job)
    assert problem.field == "surface[1].share"
    assert "write 0.25 without quotes" in problem.message


def test_a_surface_may_be_any_sequence():
    job = small_job()
    assert predict({**job, "surface": tuple(job["surface"])}).coats == predict(job).coats


def test_patches_of_one_name_are_told_where_they_stand():
    problem = one_problem(
        small_job(GREYISH_GREEN, patch(name="Door"), patch(name="side"), patch(name=" door"))
    )
    assert problem.code == "duplicate_name"
    assert "surface[1], surface[3]" in problem.message


def test_undercoats_of_one_name_are_told_where_they_stand():
    cans = [{"name": "grey can", "colour": "#888"}, {"name": "Grey can", "colour": "#ddd"}]
    problem = one_problem(small_job(undercoat=cans))
    assert (problem.field, problem.code) == ("undercoat", "duplicate_name")
    assert "undercoat[1], undercoat[2]" in problem.message


# --- faults that hide behind others ----------------------------------------------------


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"finishes": ["zz9"]}, "finishes[1]"),
        (
            {"paint": {"label": {"contrast_ratio": 98, "spreading_rate_m2_l": 8}}},
            "topcoat.label.contrast_ratio",
        ),
        (
            {"application": {"wet_film_um": 9, "paint_used": {"ml": 9, "area_m2": 1}}},
            "application.paint_used",
        ),
        (
            {"undercoat": [{"name": "can", "colour": "#333"}, {"name": "can", "colour": "#444"}]},
            "undercoat",
        ),
        (
            {
                "undercoat": [
                    {
                        "name": "can",
                        "colour": "#333",
                        "label": {"contrast_ratio": 0.98, "spreading_rate_m2_l": 800},
                    }
                ]
            },
            "undercoat[1].label.spreading_rate_m2_l",
        ),
        ({"second_colour": [{"name": "legs", "colour": "#1"}]}, "second_colour[1].colour"),
    ],
)
def test_an_unknown_key_hides_no_other_problem(more, field):
    job = small_job(**more)
    assert fields(job) == [field]
    assert fields({**job, "typo": 1}) == ["typo", field]


# --- spectra ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("spectrum", "field", "says"),
    [
        ({"values": [0.2] * 20}, "", "covers 400 to 590 nm; 400 to 700 nm are needed"),
        ({"values": [0.2, None, 0.2]}, ".spectrum.values[2]", "must be a number"),
        ({"values": [0.2] * 30 + [NAN]}, ".spectrum.values[31]", "finite"),
        ({"values": [0.2] * 30 + [7.0]}, "", "7"),
        ({"values": [0.2] * 31, "step_nm": -10}, ".spectrum.step_nm", "above 0"),
        ({"values": [0.2]}, ".spectrum.values", "needs at least 2"),
    ],
)
def test_a_spectrum_with_gaps_or_impossible_values_is_refused(spectrum, field, says):
    found = problems(small_job({"spectrum": spectrum}))
    assert any(p.field == f"topcoat.colour{field}" and says in p.message for p in found), found


CSV_HEAD = "wavelength,reflectance\n"


def write_job(folder, colour):
    (folder / "job.toml").write_text(
        f"[topcoat]\ncolour = {colour}\n[[surface]]\ncolour = 'lab(38 12 20)'\n", encoding="utf-8"
    )
    return folder / "job.toml"


def csv_of(start=400, stop=700, step=10, leave=()):
    rows = [
        f"{nm},{0.1 + 0.5 * (nm - 400) / 300:.4f}\n"
        for nm in range(start, stop + 1, step)
        if nm not in leave
    ]
    return CSV_HEAD + "".join(rows)


CGATS = """ISO28178
NUMBER_OF_FIELDS 32
BEGIN_DATA_FORMAT
SAMPLE_ID {names}
END_DATA_FORMAT
NUMBER_OF_SETS 1
BEGIN_DATA
1 {values}
END_DATA
"""


def test_spectrum_files_are_read_beside_the_job_file(tmp_path):
    (tmp_path / "readings").mkdir()
    (tmp_path / "readings" / "chip.csv").write_text(csv_of(), encoding="utf-8")
    bands = range(400, 701, 10)
    values = [0.1 + 0.5 * (nm - 400) / 300 for nm in bands]
    (tmp_path / "readings" / "chip.txt").write_text(
        CGATS.format(
            names=" ".join(f"SPECTRAL_NM{nm}" for nm in bands),
            values=" ".join(f"{v:.4f}" for v in values),
        ),
        encoding="utf-8",
    )
    inline = predict(
        {
            "topcoat": {"colour": {"spectrum": {"values": [round(v, 4) for v in values]}}},
            "surface": [{"colour": "lab(38 12 20)"}],
        }
    )
    for name in ("chip.csv", "chip.txt"):
        path = write_job(tmp_path, f"{{ spectrum_file = 'readings/{name}' }}")
        answer = predict_file(path)
        assert answer.topcoat == inline.topcoat
        assert answer.coats == inline.coats


def test_what_a_file_says_of_its_mirror_reflection_holds_unless_the_job_says_otherwise(tmp_path):
    bands = range(400, 701, 10)
    names = " ".join(f"SPECTRAL_NM{nm}" for nm in bands)
    text = CGATS.format(names=names, values=" ".join(["0.5"] * 31))
    included = text.replace("NUMBER_OF_FIELDS", 'MEASUREMENT_GEOMETRY "d/8 SCI"\nNUMBER_OF_FIELDS')
    (tmp_path / "chip.txt").write_text(included, encoding="utf-8")

    def lightness(more):
        path = write_job(tmp_path, f"{{ spectrum_file = 'chip.txt'{more} }}")
        return predict_file(path).topcoat.lab[0]

    def flat(value):
        return predict(small_job({"spectrum": {"values": [value] * 31}})).topcoat.lab[0]

    assert lightness("") == lightness(", specular = 'included'") == flat(0.46)
    assert lightness(", specular = 'excluded'") == flat(0.5)


@pytest.mark.parametrize(
    ("colour", "key"),
    [
        ({"swatch": "yellow-green 54", "illuminant": "A"}, "illuminant"),
        ({"text": "yellow-green 54", "observer": 10}, "observer"),
        ({"swatch": "yellow-green 54", "specular": "included"}, "specular"),
        ({"spectrum": {"values": [0.2] * 31}, "illuminant": "D50"}, "illuminant"),
    ],
)
def test_a_light_that_would_be_passed_over_is_refused(colour, key):
    problem = one_problem(small_job(colour))
    assert problem.field == f"topcoat.colour.{key}"
    assert "carries its own light" in problem.message


def test_files_are_looked_for_beside_the_job_file_not_where_one_happens_to_be(
    tmp_path, monkeypatch
):
    here, jobs = tmp_path / "here", tmp_path / "jobs"
    here.mkdir()
    jobs.mkdir()
    monkeypatch.chdir(here)
    (here / "chip.csv").write_text(csv_of(), encoding="utf-8")
    with pytest.raises(InputError, match=r"chip\.csv"):
        predict_file(write_job(jobs, "{ spectrum_file = 'chip.csv' }"))
    answer = predict_file(write_job(jobs, "{ spectrum_file = '../here/chip.csv' }"))
    assert answer.coats.likely >= 1


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (csv_of(leave=(530, 540)), "from 520 to 550 nm bands are missing"),
        (csv_of(stop=650), "400 to 700 nm"),
        ("", "empty"),
        ("wavelength,reflectance\n400,a\n", "number"),
    ],
)
def test_a_spectrum_file_with_gaps_is_refused_at_the_colour_that_names_it(tmp_path, content, says):
    (tmp_path / "chip.csv").write_text(content, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        predict_file(write_job(tmp_path, "{ spectrum_file = 'chip.csv' }"))
    assert all(p.field.startswith("topcoat.colour") for p in caught.value.problems)
    assert says in str(caught.value)


@pytest.mark.parametrize("name", ["gone.csv", ".", "a\\u0000b.csv", "x" * 190])
def test_a_spectrum_file_that_cannot_be_read_says_so(tmp_path, name):
    with pytest.raises(InputError) as caught:
        predict_file(write_job(tmp_path, f'{{ spectrum_file = "{name}" }}'))
    (problem,) = caught.value.problems
    assert problem.field.startswith("topcoat.colour")


def test_without_a_folder_no_file_is_read(tmp_path):
    (tmp_path / "chip.csv").write_text(csv_of(), encoding="utf-8")
    for name in ("chip.csv", str(tmp_path / "chip.csv"), "../../etc/hostname"):
        problem = one_problem(small_job({"spectrum_file": name}))
        assert (problem.field, problem.code) == ("topcoat.colour.spectrum_file", "file_refused")
        assert "inline" in problem.message


# --- job files -------------------------------------------------------------------------


def test_a_job_file_of_40_mb_is_refused_unread(tmp_path):
    path = tmp_path / "big.toml"
    with path.open("wb") as stream:
        stream.truncate(40_000_000)  # sparse: it takes no room
    with pytest.raises(InputError) as caught:
        prepare_file(path)
    (problem,) = caught.value.problems
    assert (problem.field, problem.code) == ("job", "too_large")
    assert "40.0 MB" in problem.message
    assert "has at most 1 MB" in problem.message


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"colour = ", "not TOML"),
        (b"\xff\xfe", "not a text in UTF-8"),
        (b"x = " + b"[" * 5000 + b"]" * 5000, "not TOML"),
        (b"x = " + b"9" * 5000, "not TOML"),
        (b"", "is missing"),
    ],
)
def test_a_file_that_is_no_job_is_refused_with_its_reason(tmp_path, content, says):
    path = tmp_path / "job.toml"
    path.write_bytes(content)
    with pytest.raises(InputError, match=says):
        prepare_file(path)


def test_a_job_file_that_is_not_there_says_so(tmp_path):
    for path in (tmp_path / "gone.toml", tmp_path):
        with pytest.raises(InputError, match="cannot be read"):
            prepare_file(path)


# --- whatever comes --------------------------------------------------------------------

scalars = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.floats(),
    st.text(max_size=20),
    st.sampled_from(["coated", "bare", "spray", "#333", "lab(50 0 0)", "606", "\ud800"]),
)
keys = st.sampled_from(
    [
        "title",
        "topcoat",
        "colour",
        "volume_solids",
        "label",
        "paint_used",
        "surface",
        "name",
        "share",
        "skin",
        "ground",
        "porous",
        "application",
        "tool",
        "wet_film_um",
        "undercoat",
        "finishes",
        "second_colour",
        "lab",
        "hex",
        "spectrum",
        "values",
        "text",
        "radius",
        "contrast_ratio",
        "spreading_rate_m2_l",
        "area_m2",
        "ml",
    ]
)
anything = st.recursive(
    scalars,
    lambda inner: st.one_of(st.lists(inner, max_size=4), st.dictionaries(keys, inner, max_size=5)),
    max_leaves=12,
)


def refusal(job):
    """The problems of a job; none where it is answered."""
    try:
        predict(job)
    except InputError as error:
        return error.problems
    return ()


@given(
    st.dictionaries(keys, anything, max_size=4),
    st.dictionaries(keys, anything, max_size=3),
    st.dictionaries(keys, anything, max_size=3),
)
@laws
def test_whatever_is_sent_is_answered_or_refused_by_field(job, topcoat, surface):
    base = small_job()
    for tried in (
        job,
        {**base, **job},
        {**base, "topcoat": {**base["topcoat"], **topcoat}},
        {**base, "surface": [{**base["surface"][0], **surface}]},
    ):
        found = refusal(tried)
        assert all(p.message for p in found), found
