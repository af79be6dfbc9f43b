"""What the terminal gets: nothing that it obeys, and no traceback where it cannot be written to."""

from __future__ import annotations

import io
import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from doors.doors import run
from jobs.small_jobs import small_job, toml_of
from showthrough.cli.main import main
from showthrough.cli.text.common import field
from showthrough.errors import UNSAFE

CLI = (sys.executable, "-m", "showthrough.cli")
TWO = ("a3b84c", "6b4a2a")
EVIL = "x\x1b]0;owned\x07\x1b[2J\x9b31m\u202egnp\u2066\u2028y"
"""A title set, the screen cleared, a C1 control, writing turned round, a line broken."""
COMMANDS = ("predict", "soften", "palette", "sweep")


def harmless(*argv):
    code, out, err = run(*argv)
    for text in (out, err):
        assert UNSAFE.search(text.replace("\n", "")) is None, ascii(text)
        assert "Traceback" not in text
    return code, out, err


def _escape(match):
    return match[0] if match[0] == "\n" else f"\\u{ord(match[0]):04x}"


def toml_escaped(value):
    """As TOML, signs that may not stand in it written as its escapes."""
    return re.sub(UNSAFE.pattern, _escape, toml_of(value))


# --- texts that are not the painter's own ----------------------------------------------


@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.parametrize(
    "more",
    [
        {"title": EVIL},
        {"surface": [{"name": EVIL, "colour": "#333"}]},
        {"surface": [{"name": "a", "colour": EVIL}]},
        {"undercoat": [{"name": EVIL, "colour": "#333"}]},
        {"second_colour": [{"name": EVIL, "colour": "#333"}]},
        {"finishes": [EVIL]},
        {"application": {"tool": EVIL}},
        {"topcoat": {"name": EVIL, "colour": "#333"}},
        {"topcoat": {"colour": {"spectrum_file": EVIL}}},
        {"topcoat": {"paint": {EVIL: EVIL}}},
        {EVIL: 1},
    ],
    ids=[
        "title",
        "patch",
        "colour",
        "under",
        "second",
        "finish",
        "tool",
        "topcoat",
        "file",
        "paint",
        "key",
    ],
)
def test_no_text_of_a_job_reaches_the_terminal_as_a_command(command, more, tmp_path):
    path = tmp_path / "job.toml"
    path.write_text(toml_escaped({**small_job(), **more}), encoding="utf-8")
    code, _, err = harmless(command, path)
    assert code == 2
    assert "\\u001b" in err or "control character" in err


@pytest.mark.parametrize("command", COMMANDS)
def test_nor_does_a_file_of_a_strange_name_or_a_text_that_is_no_toml(command, tmp_path):
    path = tmp_path / f"{EVIL}.toml"
    assert harmless(command, path)[0] == 2
    path.write_text(f"title = {EVIL}", encoding="utf-8")
    assert harmless(command, path)[0] == 2
    path.write_text(toml_of({**small_job(), "finishes": ["zz9"]}), encoding="utf-8")
    assert harmless(command, path)[0] == 2


@pytest.mark.parametrize("command", ["soften", "sweep"])
def test_nor_does_a_swatch_file(command, tmp_path):
    mine = tmp_path / "mine.csv"
    for name in (EVIL, field("#000000", "x")):
        mine.write_text(f"name,L,a,b\n{name.replace(chr(0x2028), '')},50,0,0\n", encoding="utf-8")
        code, _, err = harmless(command, *TWO, "--swatches", mine)
        assert code == 2
        assert "swatches.row 2.name: the name holds signs that cannot be printed" in err


@pytest.mark.parametrize(
    "argv",
    [
        ("colour", EVIL),
        ("predict", EVIL, "#333"),
        ("predict", EVIL),
        ("predict", "#333", "#444", "--tool", EVIL),
        ("predict", "#333", "#444", "--colour", EVIL),
        (EVIL,),
        ("chip", EVIL),
        ("surface", __file__, "--card", EVIL),
        ("drawdown", EVIL),
        ("preview", EVIL, *TWO, "--area", EVIL, "--out", "x"),
    ],
    ids=lambda argv: argv[0][:8],
)
def test_nor_does_what_stands_on_the_line(argv):
    assert harmless(*argv)[0] == 2


def test_colour_is_still_written_where_it_is_wanted():
    assert "\x1b[48;2;" in run("predict", *TWO, "--colour", "always")[1]


# --- outputs that cannot be written ----------------------------------------------------


def shell(line, **environ):
    """Exit code and standard error of a line of the shell; ``$S`` is the command."""
    done = subprocess.run(
        ["/bin/bash", "-o", "pipefail", "-c", line],
        capture_output=True,
        env={**os.environ, "S": " ".join(CLI), "PYTHONUNBUFFERED": "", **environ},
        timeout=120,
        check=False,
    )
    return done.returncode, done.stdout, done.stderr.decode()


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
@pytest.mark.parametrize(
    "what", ["predict a3b84c 6b4a2a", "predict a3b84c 6b4a2a --json", "--help", "--version"]
)
def test_a_full_disk_is_told_in_a_line(what):
    code, _, err = shell(f"$S {what} >/dev/full")
    assert (code, err) == (1, "the answer cannot be written: No space left on device\n")


@pytest.mark.parametrize("what", ["colour a3b84c", "--version"])
def test_a_closed_output_is_told_in_a_line(what):
    assert shell(f"$S {what} >&-") == (1, b"", "the answer cannot be written: it is closed\n")


def test_with_nobody_to_tell_the_exit_code_still_says_it():
    assert shell("$S colour '#12' 2>&-") == (2, b"", "")
    assert shell("$S colour a3b84c >&- 2>&-") == (1, b"", "")
    assert shell("$S colour a3b84c 2>&-")[0] == 0


@pytest.mark.parametrize("encoding", ["ascii", "latin-1"])
def test_an_encoding_that_lacks_a_sign_gets_another_one(encoding, monkeypatch):
    def printed(*argv):
        raw = io.BytesIO()
        monkeypatch.setattr("sys.stdout", io.TextIOWrapper(raw, encoding=encoding))
        assert main(argv) == 0
        sys.stdout.flush()
        return raw.getvalue().decode(encoding)

    assert "?" in printed("predict", *TWO, "--full")
    # JSON has a way of its own to write every sign.
    assert json.loads(printed("predict", *TWO, "--json")) == json.loads(
        run("predict", *TWO, "--json")[1]
    )


# --- files that are none ---------------------------------------------------------------


@pytest.fixture
def pipe(tmp_path):
    os.mkfifo(tmp_path / "pipe.toml")
    return tmp_path / "pipe.toml"


def places(argv, path):
    return [str(path) if a == "HERE" else a for a in argv]


@pytest.mark.parametrize(
    "argv",
    [
        ("predict", "HERE"),
        ("sweep", "a3b84c", "6b4a2a", "--swatches", "HERE"),
        ("chip", "HERE"),
        ("drawdown", "HERE"),
        ("preview", "HERE", "a3b84c", "6b4a2a", "--area", "0,0,1,1", "--out", "x"),
    ],
    ids=lambda argv: argv[0],
)
def test_pipes_devices_and_folders_are_refused_without_waiting_for_them(argv, pipe, tmp_path):
    for path in (pipe, "/dev/zero", "/dev/null"):
        code, _, err = harmless(*places(argv, path))
        assert (code, "it is a pipe or a device" in err) == (2, True), err
    code, _, err = harmless(*places(argv, tmp_path))
    assert (code, "Is a directory" in err) == (2, True), err


@pytest.mark.parametrize("key", ["paint_file", "spectrum_file"])
def test_so_are_those_that_a_job_names(key, pipe, tmp_path):
    job = tmp_path / "job.toml"
    for path in ("pipe.toml", "/dev/zero", "."):
        what = {"paint_file": path} if key == "paint_file" else {"colour": {key: path}}
        job.write_text(toml_of({**small_job(), "topcoat": what}), encoding="utf-8")
        code, _, err = harmless("predict", job)
        assert (code, "cannot be read" in err) == (2, True), err
    assert pipe.exists()


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may read everything")
def test_a_file_that_may_not_be_read_says_so(tmp_path):
    path = tmp_path / "job.toml"
    path.write_text(toml_of(small_job()), encoding="utf-8")
    path.chmod(0)
    assert "Permission denied" in harmless("predict", path)[2]


def test_a_byte_order_mark_before_a_job_is_no_fault(tmp_path):
    path = tmp_path / "job.toml"
    path.write_text(toml_of(small_job()), encoding="utf-8")
    plain = run("predict", path)
    path.write_text(toml_of(small_job()), encoding="utf-8-sig")
    assert run("predict", path) == plain


HEAD = "surface = [{colour = '#333'}]\n"


@pytest.mark.parametrize("count", [30, 1000, 20_000])
@pytest.mark.parametrize(
    "make",
    [
        lambda n: f"topcoat.{'a.' * n}a = 1\n{HEAD}",
        lambda n: f"topcoat.paint.{'a.' * n}a = 1\n{HEAD}",
        lambda n: f"{HEAD}topcoat = {{{'a . ' * n}a = 1}}\n",
        lambda n: "[" + '"a".' * n + "a]\n",
        lambda n: f"title = {'[' * n}{']' * n}\n{HEAD}",
        lambda n: f"{HEAD}topcoat = {'{a=' * n}1{'}' * n}\n",
    ],
    ids=["keys", "paint", "inline", "quoted", "lists", "tables"],
)
def test_toml_as_deep_as_one_likes_is_refused(make, count, tmp_path):
    path = tmp_path / "job.toml"
    path.write_text(make(count), encoding="utf-8")
    assert harmless("predict", path)[0] == 2


# --- plurals ---------------------------------------------------------------------------


@pytest.mark.parametrize("command", ["predict", "soften", "palette"])
@pytest.mark.parametrize("under", ["#222222", "#6b4a2a", "#e8e0d0"])
@pytest.mark.parametrize("over", ["N 2", "N 4", "lab(24 3 -22)"])
def test_one_of_anything_is_one(command, over, under):
    out = " ".join(run(command, over, under)[1].split())
    assert re.search(r"(?<![\d.,-])1 (coats|topcoats|undercoats|patches|units)\b", out) is None


def test_a_job_of_one_coat_says_so_when_it_is_softened():
    assert ": 1 coat\n" in run("soften", "N 2", "#222222")[1]
