"""Answers as a terminal shows them: colour where it is wanted, lines that fit."""

from __future__ import annotations

import io
import re
import tomllib
from pathlib import Path

import pytest

from jobs.small_jobs import (
    BROWN_LAMINATE,
    GREYISH_GREEN,
    RED,
    VIVID_YELLOW,
    YELLOW_GREEN,
    patch,
    small_job,
)
from showthrough import InputError, palette_for, predict, soften, sweep
from showthrough.cli.text.common import field, problems_text, wants_colour, width_of
from showthrough.cli.text.more import palette_text, softening_text, sweep_text
from showthrough.cli.text.prediction import prediction_text
from showthrough.say.plan import step_line, way_line

ESCAPE = re.compile(r"\x1b\[[0-9;]*m")

JOBS = {
    "one patch": small_job(RED, patch(BROWN_LAMINATE)),
    "two patches": small_job(
        YELLOW_GREEN,
        patch(BROWN_LAMINATE, "the door with a rather long name", ground="laminate"),
        patch((69, 12, 31), "worn edge", skin="bare", porous=True),
        title="A linen cupboard with a title that is longer than the narrowest terminal is wide",
    ),
    "never enough": small_job(VIVID_YELLOW, patch((18, 0, 0)), application={"tool": "aerosol"}),
    "own can": small_job(GREYISH_GREEN, undercoat=[{"name": "left over " * 7, "colour": "N 7"}]),
}

EXAMPLE = Path(__file__).parents[2] / "examples" / "linen-cupboard.toml"
LINEN_CUPBOARD = tomllib.loads(EXAMPLE.read_text(encoding="utf-8"))


class Terminal(io.StringIO):
    """A stream that says that it is a terminal."""

    def isatty(self):
        return True


def plain(text):
    return ESCAPE.sub("", text)


def texts(job, *, colour, width):
    yield prediction_text(predict(job), colour=colour, width=width)
    yield softening_text(soften(job), colour=colour, width=width)
    yield palette_text(palette_for(job), colour=colour, width=width)


# --- whether in colour -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("environ", "stream", "wanted"),
    [
        ({"COLORTERM": "truecolor", "TERM": "xterm-256color"}, Terminal(), True),
        ({"COLORTERM": "24bit"}, Terminal(), True),
        ({"TERM": "xterm"}, Terminal(), False),
        ({"COLORTERM": "truecolor", "TERM": "dumb"}, Terminal(), False),
        ({"COLORTERM": "truecolor"}, io.StringIO(), False),
        # no-color.org: when present and not an empty string.
        ({"COLORTERM": "truecolor", "NO_COLOR": "1"}, Terminal(), False),
        ({"COLORTERM": "truecolor", "NO_COLOR": ""}, Terminal(), True),
        ({}, Terminal(), False),
    ],
)
def test_colour_is_written_only_where_it_is_shown_and_wanted(environ, stream, wanted):
    assert wants_colour("auto", stream, environ) is wanted


def test_what_the_line_says_goes_before_what_the_terminal_says():
    shown = {"COLORTERM": "truecolor"}
    assert wants_colour("always", io.StringIO(), {"NO_COLOR": "1", "TERM": "dumb"})
    assert not wants_colour("never", Terminal(), shown)


def test_a_field_has_its_colour_and_an_ink_that_reads_on_it():
    assert field("#102030", "x") == "\x1b[48;2;16;32;48m\x1b[38;2;255;255;255mx\x1b[0m"
    assert "38;2;0;0;0m" in field("#f0f0e0", "x")


@pytest.mark.parametrize("job", JOBS.values(), ids=JOBS)
def test_colour_adds_fields_and_changes_no_word(job):
    for dull, bright in zip(
        texts(job, colour=False, width=80), texts(job, colour=True, width=80), strict=True
    ):
        assert "\x1b" not in dull
        assert "\x1b[48;2;" in bright
        assert "".join(plain(bright).split()) == "".join(dull.split())
    rows = sweep(job).rows[:3]
    assert rows
    assert "\x1b[48;2;" in sweep_text(sweep(job), colour=True, most=3, width=100)


def test_always_colours_a_file_too(monkeypatch):
    from doors.doors import run

    monkeypatch.setenv("NO_COLOR", "1")
    for command in ("predict", "soften", "palette", "sweep"):
        _, dull, _ = run(command, "a3b84c", "6b4a2a")
        _, bright, _ = run(command, "a3b84c", "6b4a2a", "--colour", "always")
        assert "\x1b" not in dull
        assert "\x1b[48;2;" in bright


@pytest.mark.parametrize("command", ["soften", "palette"])
def test_the_linen_cupboard_fits_on_a_screen_and_full_tells_the_rest(command, monkeypatch):
    from doors.doors import run

    monkeypatch.setenv("COLUMNS", "80")
    _, short, _ = run(command, "examples/linen-cupboard.toml")
    _, whole, _ = run(command, "examples/linen-cupboard.toml", "--full")
    lines = short.splitlines()
    assert len(lines) <= 30
    assert max(map(len, lines)) <= 80
    assert lines[-1] == "(--full for the rest)"
    assert len(whole) > 1.3 * len(short)
    assert "--full" not in whole


# --- width -----------------------------------------------------------------------------


@pytest.mark.parametrize("width", [40, 60, 80])
@pytest.mark.parametrize("job", JOBS.values(), ids=JOBS)
@pytest.mark.parametrize("colour", [False, True])
def test_no_line_is_wider_than_the_terminal(job, width, colour):
    for text in texts(job, colour=colour, width=width):
        for line in text.splitlines():
            assert len(plain(line)) <= width, line


@pytest.mark.parametrize("width", [40, 60, 80, 96])
def test_rows_of_a_sweep_fit_too(width):
    text = sweep_text(sweep(JOBS["one patch"]), colour=False, most=20, width=width)
    assert max(map(len, text.splitlines())) <= width


def test_width_is_that_of_the_terminal_within_what_reads_well(monkeypatch):
    for columns, wanted in (("10", 40), ("70", 70), ("300", 96)):
        monkeypatch.setenv("COLUMNS", columns)
        assert width_of() == wanted


# --- what it says ----------------------------------------------------------------------


def full(answer, width=80):
    return prediction_text(answer, colour=False, width=width, full=True)


def squeezed(text):
    return "".join(text.split())


def test_the_ladder_has_a_row_for_each_coat_and_a_column_for_each_patch():
    answer = predict(JOBS["two patches"])
    text = full(answer, 96)
    ladder = text[text.index("\nLadder without an undercoat\n") :].split("\n\n")[0].splitlines()
    head, *rows = ladder[2:]
    assert "worn edge" in head
    assert "show-through" in head
    for step, row in zip(answer.ladder, rows, strict=False):
        assert row.split()[0] == str(step.coat)
        for one in step.patches:
            assert one.thin.hex in row


@pytest.mark.parametrize("job", JOBS.values(), ids=JOBS)
def test_nothing_is_left_out_of_the_whole_answer(job):
    answer = predict(job)
    text = squeezed(full(answer))
    every = [way_line(way) for way in answer.ways[1:]]
    every += [step_line(step) for step in answer.plan] + [step.why[1:] for step in answer.plan]
    for sentence in (
        answer.headline,
        *every,
        *answer.questions,
        *answer.reasons,
        *answer.assumptions,
        *answer.cautions,
    ):
        assert squeezed(sentence) in text


@pytest.mark.parametrize("job", [*JOBS.values(), LINEN_CUPBOARD], ids=[*JOBS, "linen cupboard"])
@pytest.mark.parametrize("width", [60, 80])
def test_the_first_screen_holds_headline_plan_ways_and_cautions_uncut(job, width):
    answer = predict(job)
    text = prediction_text(answer, colour=False, width=width)
    told = squeezed(text)
    assert squeezed(answer.headline) in told
    for step in answer.plan:
        assert squeezed(f"{step.number}. {step_line(step)}") in told
    for way in answer.ways[1:4]:
        assert squeezed(way_line(way)) in told
    assert squeezed(answer.cautions_short[0]) in told
    assert squeezed(answer.cautions_short[-1]) in told
    assert "\N{HORIZONTAL ELLIPSIS}" not in text


def test_the_linen_cupboard_fits_a_screen():
    # 30 lines of 80 columns, which the plan of this project asks for.
    text = prediction_text(predict(LINEN_CUPBOARD), colour=False, width=80)
    assert len(text.splitlines()) <= 30


def test_a_ground_that_was_not_said_is_asked_about_on_the_first_screen():
    text = prediction_text(predict(JOBS["one patch"]), colour=False, width=80)
    assert "shiny plastic" in text


def test_the_board_says_what_shows_as_the_ladder_of_the_leading_way_does():
    answer = predict(LINEN_CUPBOARD)
    lines = prediction_text(answer, colour=False, width=80).splitlines()
    for i, part in enumerate(answer.patches):
        row = next(line for line in lines if line.startswith(f"  {part.name} "))
        shown = row.split()[-len(answer.ways[0].ladder) :]
        assert shown[0] == "shows"
        for word, step in zip(shown[1:], answer.ways[0].ladder[1:], strict=True):
            assert (word == "hidden") == (step.patches[i].thin.difference <= 1.0)


def test_more_than_is_reckoned_is_said_in_words():
    job = small_job(
        VIVID_YELLOW, patch((18, 0, 0)), application={"tool": "brush", "wet_film_um": 5}
    )
    text = prediction_text(predict(job), colour=False, width=80)
    assert "More than 12 coats" in text
    assert "None" not in text


def test_problems_are_one_a_line_field_first():
    with pytest.raises(InputError) as caught:
        predict(small_job("#12", typo=1))
    text = problems_text(caught.value)
    assert text.splitlines()[0] == "2 things to put right:"
    assert len(text.splitlines()) == 3
    with pytest.raises(InputError) as caught:
        predict(small_job("#12"))
    assert problems_text(caught.value).startswith("One thing to put right:\n  topcoat.colour: ")
