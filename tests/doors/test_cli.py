"""The command line: quick form, options, refusals, help."""

from __future__ import annotations

import argparse
import io
import json
import os
import signal
import subprocess
import sys

import pytest

from doors.doors import run
from jobs.small_jobs import small_job, toml_of
from showthrough import __version__, plan, predict
from showthrough.cli import commands as command_module
from showthrough.cli.main import _parser
from showthrough.errors import ProblemList


def commands():
    """Every command with its own parser."""
    (sub,) = (a for a in _parser()._actions if isinstance(a, argparse._SubParsersAction))
    return sub.choices


def job_file(folder, job):
    path = folder / "job.toml"
    path.write_text(toml_of(job), encoding="utf-8")
    return path


def answer_of(*argv):
    code, out, err = run(*argv, "--json")
    assert (code, err) == (0, "")
    return json.loads(out)


def told(*argv):
    """The lines of a refusal."""
    code, out, err = run(*argv)
    assert code == 2
    assert out == ""
    assert "Traceback" not in err
    return err


# --- help ------------------------------------------------------------------------------


def test_there_is_a_command_for_each_use():
    assert {"predict", "soften", "palette", "sweep", "serve", "practice", "colour"} <= set(
        commands()
    )


@pytest.mark.parametrize("command", commands())
def test_every_command_and_option_has_help(command):
    code, out, err = run(command, "--help")
    assert (code, err) == (0, "")
    assert out.startswith("usage: showthrough ")
    top = run("--help")[1]
    assert f"    {command} " in top or f"    {command}\n" in top


def test_without_a_command_the_help_is_shown_and_the_code_says_so():
    code, out, _ = run()
    assert code == 2
    assert "COMMAND" in out


def test_the_version_is_that_of_the_package():
    assert run("--version")[:2] == (0, f"showthrough {__version__}\n")


@pytest.mark.parametrize(
    "argv",
    [
        ("paint",),
        ("predict",),
        ("predict", "a3b84c", "6b4a2a", "--colour", "pink"),
        ("soften", "a3b84c", "6b4a2a", "--budget", "few"),
        ("sweep", "a3b84c", "6b4a2a", "--most", "-3"),
        ("serve", "--port", "http"),
    ],
)
def test_a_line_that_cannot_be_read_ends_with_two_and_names_the_fault(argv):
    assert "error:" in told(*argv)


# --- the quick form --------------------------------------------------------------------


def test_two_colours_on_the_line_are_a_job():
    answer = answer_of("predict", "lab(66 -24 55)", "6b4a2a")
    job = {"topcoat": {"colour": "lab(66 -24 55)"}, "surface": [{"colour": "6b4a2a"}]}
    assert answer == json.loads(predict(job).model_dump_json())


def test_patches_on_the_line_are_named_in_order_and_share_skin_and_ground():
    answer = answer_of("predict", "N 6", "#6b4a2a", "#d8c39a", "--skin", "bare", "--ground", "wood")
    assert [p["name"] for p in answer["patches"]] == ["patch 1", "patch 2"]
    assert {p["skin"] for p in answer["patches"]} == {"bare"}


def test_a_sample_swatch_is_found_by_its_name():
    answer = answer_of("predict", "yellow-green 54", "brown laminate")
    assert answer["needs"][0]["kind"] == "adhesion"


def test_options_on_the_line_go_before_the_job_file(tmp_path):
    path = job_file(tmp_path, small_job())
    plain = answer_of("predict", path)
    brushed = answer_of(
        "predict", path, "--tool", "brush", "--wet-film-um", 90, "--volume-solids", 0.5
    )
    assert (plain["film"]["tool"], plain["film"]["wet_film_um"]) == ("spray", 45.0)
    assert (brushed["film"]["tool"], brushed["film"]["wet_film_um"]) == ("brush", 90.0)
    assert brushed["film"]["volume_solids"] == 0.5
    assert brushed["coats"]["likely"] < plain["coats"]["likely"]


# --- refusals --------------------------------------------------------------------------


def test_every_wrong_option_is_told_at_once():
    err = told(
        "predict",
        "#12",
        "6b4a2a",
        "--tool",
        "broom",
        "--wet-film-um",
        "nan",
        "--volume-solids",
        "half",
    )
    assert err.startswith("4 things to put right:")
    for field in (
        "topcoat.colour",
        "topcoat.volume_solids",
        "application.tool",
        "application.wet_film_um",
    ):
        assert f"\n  {field}: " in err


def test_solids_may_be_written_in_percent():
    _, percent, _ = run("predict", "a3b84c", "6b4a2a", "--volume-solids", "38%", "--json")
    _, part, _ = run("predict", "a3b84c", "6b4a2a", "--volume-solids", "0.38", "--json")
    assert percent == part
    assert "38% is 0.38" in told("predict", "a3b84c", "6b4a2a", "--volume-solids", "38")


def test_one_colour_alone_asks_for_the_surface():
    assert "showthrough predict a3b84c 6b4a2a" in told("predict", "a3b84c")


def test_a_job_file_with_colours_beside_it_is_refused(tmp_path):
    assert "already holds its surface" in told("predict", job_file(tmp_path, small_job()), "#333")


@pytest.mark.parametrize("command", ["predict", "soften", "palette", "sweep"])
def test_a_job_file_that_is_not_there_is_refused_by_every_command(command, tmp_path):
    assert "cannot be read" in told(command, tmp_path / "gone.toml")


@pytest.mark.parametrize("text", ["a" * 300, "a" * 5000, "\x00", "é" * 200, "-" * 10 + "x"])
def test_a_colour_as_long_or_as_odd_as_one_likes_is_refused(text):
    told("predict", "--", text, "6b4a2a")
    told("predict", "--", "6b4a2a", text)
    told("colour", "--", text)


def test_swatches_and_job_are_refused_together(tmp_path):
    mine = tmp_path / "mine.csv"
    mine.write_text("name,L,a,b\nx,fifty,0,0\n", encoding="utf-8")
    for command in ("soften", "sweep"):
        err = told(command, "#12", "6b4a2a", "--swatches", mine)
        assert "swatches.row 2.L" in err
        assert "topcoat.colour" in err


@pytest.mark.parametrize("content", [b"\xff\xfe\x00", b"", b"x" * 2_000_001])
def test_a_swatch_file_that_is_none_is_refused(content, tmp_path):
    mine = tmp_path / "mine.csv"
    mine.write_bytes(content)
    assert "swatches" in told("sweep", "a3b84c", "6b4a2a", "--swatches", mine)


def test_a_swatch_file_that_is_not_there_is_refused(tmp_path):
    for path in (tmp_path / "gone.csv", tmp_path):
        assert "cannot be read" in told("sweep", "a3b84c", "6b4a2a", "--swatches", path)


# --- other commands --------------------------------------------------------------------


def test_a_colour_is_printed_in_every_notation():
    code, out, _ = run("colour", "5GY 6/8")
    assert code == 0
    for name in ("words", "hex", "lab", "lch", "xyz", "munsell", "lrv"):
        assert f"\n{name} " in f"\n{out}"


def test_practice_prints_its_hits():
    code, out, _ = run("practice", "--markdown")
    assert code == 0
    assert out.count("| hit |") + out.count("| miss |") == 13


def test_a_sweep_on_the_terminal_shows_as_many_rows_as_are_asked_for():
    _, out, _ = run("sweep", "a3b84c", "6b4a2a", "--most", 3)
    lines = out.splitlines()
    assert "swatch" in lines[0]
    assert "--csv or --json gives all" in lines[4]


def test_swatches_that_are_left_out_are_told_in_one_line_and_by_name(tmp_path):
    mine = tmp_path / "mine.csv"
    rows = [f"neon {i},60,{150 + i},10" for i in range(9)]
    mine.write_text("\n".join(["name,L,a,b", "fine,50,0,0", *rows]), encoding="utf-8")
    code, out, err = run("sweep", "a3b84c", "6b4a2a", "--swatches", mine)
    assert code == 0
    assert err.startswith("9 of 10 swatches left out, the first 'neon 0' (chroma 150")
    assert err.count("\n") == 1
    assert "Left out: 9" in out
    assert "neon 5: chroma" in out
    assert "neon 6" not in out
    assert "and 3 more" in out
    refused = told("sweep", "a3b84c", "6b4a2a", "--swatches", mine, "--strict")
    assert "swatches[10]: chroma" in refused


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "cp1252"])
def test_swatch_files_are_read_as_spreadsheets_save_them(encoding, tmp_path):
    mine = tmp_path / "mine.csv"
    mine.write_bytes("name;L;a;b\r\ncrème;80,5;0;10\r\n".encode(encoding))
    _, out, _ = run("sweep", "a3b84c", "6b4a2a", "--swatches", mine)
    assert "crème" in out


def test_progress_is_silent_where_no_terminal_is():
    _, _, err = run("sweep", "a3b84c", "6b4a2a")
    assert err == ""


def test_on_a_terminal_progress_is_a_bar_that_is_wiped_away(monkeypatch):
    class Terminal(io.StringIO):
        def isatty(self):
            return True

    stream = Terminal()
    monkeypatch.setattr("sys.stderr", stream)
    with command_module.progress_bar("swatches") as progress:
        progress(1, 2)
        progress(2, 2)
    shown = stream.getvalue()
    assert "1 of 2 swatches" in shown
    assert f"{'#' * 30} 2 of 2 swatches" in shown
    assert shown.endswith("\r\x1b[K")


# --- ends ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "argv", [("colour", "a3b84c"), ("sweep", "a3b84c", "6b4a2a", "--csv")], ids=lambda a: a[0]
)
def test_a_reader_that_has_seen_enough_is_no_fault(argv):
    command = [sys.executable, "-m", "showthrough.cli", *argv]
    env = {**os.environ, "PYTHONUNBUFFERED": ""}
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=env
    ) as process:
        process.stdout.close()
        assert process.stderr.read() == b""
        assert process.wait() == 0


def test_ctrl_c_ends_without_a_traceback(monkeypatch):
    def interrupted(_args):
        raise KeyboardInterrupt

    monkeypatch.setattr(command_module, "job_from_line", interrupted)
    code, out, err = run("predict", "a3b84c", "6b4a2a")
    assert (code, out, err) == (128 + signal.SIGINT, "", "")


def test_what_is_said_on_the_line_is_said_of_the_job(tmp_path):
    path = tmp_path / "job.toml"
    job = small_job(area_m2=2.0, money={"currency": "EUR", "labour_per_hour": "25"})
    path.write_text(toml_of(job), encoding="utf-8")
    code, out, _ = run("plan", path, "--json", "--by", "money")
    expected = plan({**job, "rank_by": "money"})
    assert code == 0
    assert json.loads(out)["way_costs"] == json.loads(expected.model_dump_json())["way_costs"] != []
    code, out, _ = run("predict", "a3b84c", "6b4a2a", "--json", "--ground", "varnish")
    surface = [{"colour": "6b4a2a", "ground": "varnish"}]
    answer = predict({"topcoat": {"colour": "a3b84c"}, "surface": surface})
    assert (code, json.loads(out)) == (0, json.loads(answer.model_dump_json()))


def test_an_option_on_a_table_that_is_none_is_told_by_the_table(tmp_path):
    path = tmp_path / "job.toml"
    text = 'application = "brush"\n[topcoat]\ncolour = "a3b84c"\n[[surface]]\ncolour = "6b4a2a"\n'
    path.write_text(text, encoding="utf-8")
    code, out, err = run("predict", path, "--tool", "roller")
    assert (code, out) == (2, "")
    assert "application" in err


def test_what_was_noted_hides_no_other_error():
    def faulty():
        with ProblemList() as wrong:
            wrong.add("field", 1, "noted before")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        faulty()
