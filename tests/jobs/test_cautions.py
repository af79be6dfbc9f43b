"""Which caution a fact of the job brings, and which it does not."""

from __future__ import annotations

import pytest

from jobs.small_jobs import BROWN_FINISH, GREYISH_GREEN, patch, small_job
from showthrough import predict

# A caution is known by words that it alone must hold; what they rest on stands in the module and
# its own test, which holds every rule. Here is what a job file can say.
MARKS = {
    "lead": "28 February 1978",
    "plating": "cadmium",
    "flammable": "highly flammable",
    "aerosol": "pressurised",
    "spraying": "Spray mist",
    "wood dust": "cancer of the nose",
    "dust": "Sanding makes dust",
    "gloves": "sensitise the skin",
    "runs": "without runs",
    "reminder": "reminders, not instructions",
}

COATED = {"skin": "coated"}
RAW = {"skin": "bare", "ground": "wood"}

# Facts of the job, then the cautions that they bring beside the reminder. What is not named
# must not appear.
TABLE = [
    # What was there before; a patch that does not say is an old finish.
    ([COATED], "brush", 90, {"lead", "dust"}),
    ([{}], "brush", 90, {"lead", "dust"}),
    ([RAW], "brush", 90, {"wood dust"}),
    ([{"skin": "bare"}], "brush", 90, {"wood dust"}),
    ([{"skin": "bare", "ground": "filler"}], "brush", 90, {"dust"}),
    ([COATED | {"ground": "laminate"}], "brush", 90, {"dust"}),
    ([COATED | {"ground": "metal"}], "brush", 90, {"plating", "dust"}),
    ([COATED, RAW], "brush", 90, {"lead", "wood dust"}),
    ([RAW, COATED], "brush", 90, {"lead", "wood dust"}),
    ([COATED | {"sanded_through": True}], "brush", 90, {"lead", "wood dust"}),
    # Wax, polish and blocking sealers need solvents, and neither alone needs the other.
    ([COATED | {"ground": "waxed"}], "brush", 90, {"lead", "flammable", "dust", "gloves"}),
    ([COATED | {"ground": "polished"}], "brush", 90, {"lead", "flammable", "dust", "gloves"}),
    ([RAW, RAW | {"ground": "waxed"}], "brush", 90, {"flammable", "wood dust", "gloves"}),
    ([RAW | {"bleeds": True}], "brush", 90, {"flammable", "wood dust", "gloves"}),
    ([COATED | {"ground": "varnish"}], "brush", 90, {"lead", "dust"}),
    # What it is laid with.
    ([RAW], "roller", 60, {"wood dust"}),
    ([RAW], "spray", 45, {"spraying", "wood dust"}),
    ([RAW], "aerosol", 20, {"spraying", "aerosol", "flammable", "wood dust", "gloves"}),
    # Wet film that an upright face holds (from memory): brush 150, roller and spray 120,
    # aerosol 50 µm; as much is held, more is not.
    ([RAW], "brush", 150, {"wood dust"}),
    ([RAW], "brush", 151, {"runs", "wood dust"}),
    ([RAW], "roller", 120, {"wood dust"}),
    ([RAW], "roller", 121, {"runs", "wood dust"}),
    ([RAW], "spray", 120, {"spraying", "wood dust"}),
    ([RAW], "spray", 121, {"spraying", "runs", "wood dust"}),
    ([RAW], "aerosol", 50, {"spraying", "aerosol", "flammable", "wood dust", "gloves"}),
    ([RAW], "aerosol", 51, {"spraying", "aerosol", "flammable", "runs", "wood dust", "gloves"}),
]


def cautions(facts, tool, wet_film_um):
    surface = [patch(BROWN_FINISH, f"patch {i + 1}", **fact) for i, fact in enumerate(facts)]
    job = small_job(GREYISH_GREEN, *surface, application={"tool": tool, "wet_film_um": wet_film_um})
    return predict(job).cautions


def named(sentences):
    """The caution that each sentence is, by its mark; a sentence without one is no known one."""
    found = []
    for sentence in sentences:
        (name,) = [name for name, mark in MARKS.items() if mark in sentence]
        found.append(name)
    return found


@pytest.mark.parametrize(("facts", "tool", "wet_film_um", "brought"), TABLE)
def test_a_fact_of_the_job_brings_its_cautions_and_no_others(facts, tool, wet_film_um, brought):
    found = named(cautions(facts, tool, wet_film_um))
    assert sorted(found) == sorted(brought | {"reminder"})


def test_every_caution_is_brought_by_a_row_of_the_table():
    assert {name for *_, brought in TABLE for name in brought} | {"reminder"} == set(MARKS)


def test_the_most_serious_stands_first_and_the_reminder_last():
    found = named(cautions([COATED | {"ground": "waxed"}], "aerosol", 60))
    assert found == [
        "lead",
        "flammable",
        "aerosol",
        "spraying",
        "dust",
        "gloves",
        "runs",
        "reminder",
    ]


@pytest.mark.parametrize(
    ("tool", "film", "most"), [("brush", 200, 150), ("roller", 130, 120), ("aerosol", 60, 50)]
)
def test_the_warning_of_runs_names_the_tool_the_film_and_what_would_hold(tool, film, most):
    (told,) = [said for said in cautions([COATED], tool, film) if MARKS["runs"] in said]
    for words in (f"{film} µm wet", f"by {tool} ", f"about {most} µm", "thinner coats"):
        assert words in told
