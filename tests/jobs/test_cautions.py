"""Which caution a fact of the job brings, and which it does not."""

from __future__ import annotations

import pytest

from jobs.small_jobs import BROWN_FINISH, GREYISH_GREEN, patch, small_job
from showthrough import predict

# A caution is known by words that it alone must hold; what the words rest on stands beside them.
MARKS = {
    "runs": "without runs",  # wet film that an upright face holds, from memory
    "lead": "0.009 %",  # 16 CFR 1303.1
    "dust": "1 mg/m3",  # NIOSH recommended limit for wood dust
    "spray": "isocyanates",  # REACH Annex XVII entry 74
    "aerosol": "pressurised",  # common practice, no source
    "vapour": "organic-vapour cartridges",  # 42 CFR 84
    "wax": "flammable solvents",  # common practice, no source
    "rags": "catch fire by themselves",  # 29 CFR 1910.125
    "children": "declared fit for toys",  # common practice, no source
    "local": "local codes",  # house rule: they come first
}
ALWAYS = {"dust", "vapour", "rags", "children", "local"}

COATED = {"skin": "coated"}
RAW = {"skin": "bare", "ground": "wood"}

# Facts of the job, then the cautions that they bring beside those that always stand. What is
# not named must not appear.
TABLE = [
    # What was there before.
    ([COATED], "brush", 90, {"lead"}),
    ([RAW], "brush", 90, set()),
    ([{"skin": "bare", "ground": "filler"}], "brush", 90, set()),
    ([COATED, RAW], "brush", 90, {"lead"}),
    ([RAW, COATED], "brush", 90, {"lead"}),
    # Wax and polish need solvents, and neither alone needs the other.
    ([COATED | {"ground": "waxed"}], "brush", 90, {"lead", "wax"}),
    ([COATED | {"ground": "polished"}], "brush", 90, {"lead", "wax"}),
    ([RAW, RAW | {"ground": "waxed"}], "brush", 90, {"wax"}),
    ([COATED | {"ground": "varnish"}], "brush", 90, {"lead"}),
    # What it is laid with.
    ([RAW], "roller", 60, set()),
    ([RAW], "spray", 45, {"spray"}),
    ([RAW], "aerosol", 20, {"spray", "aerosol"}),
    # Wet film that an upright face holds (from memory): brush 150, roller and spray 120,
    # aerosol 50 µm; as much is held, more is not.
    ([RAW], "brush", 150, set()),
    ([RAW], "brush", 151, {"runs"}),
    ([RAW], "roller", 120, set()),
    ([RAW], "roller", 121, {"runs"}),
    ([RAW], "spray", 120, {"spray"}),
    ([RAW], "spray", 121, {"spray", "runs"}),
    ([RAW], "aerosol", 50, {"spray", "aerosol"}),
    ([RAW], "aerosol", 51, {"spray", "aerosol", "runs"}),
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
    assert sorted(found) == sorted(brought | ALWAYS)


def test_every_caution_is_brought_by_a_row_of_the_table():
    assert {name for *_, brought in TABLE for name in brought} | ALWAYS == set(MARKS)


def test_the_most_serious_stands_first_and_the_word_on_local_codes_last():
    # A film that runs is of this very job and is told before what holds for every one.
    found = named(cautions([COATED | {"ground": "waxed"}], "aerosol", 60))
    assert found == [
        "runs",
        "lead",
        "dust",
        "spray",
        "aerosol",
        "vapour",
        "wax",
        "rags",
        "children",
        "local",
    ]


@pytest.mark.parametrize(
    ("tool", "film", "most"), [("brush", 200, 150), ("roller", 130, 120), ("aerosol", 60, 50)]
)
def test_the_warning_of_runs_names_the_tool_the_film_and_what_would_hold(tool, film, most):
    first = cautions([COATED], tool, film)[0]
    for told in (f"{film} µm wet", f"by {tool} ", f"about {most} µm", "thinner coats"):
        assert told in first
