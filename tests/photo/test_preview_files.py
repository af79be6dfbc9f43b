"""The pictures of a preview stand in their folder as a whole set or not at all."""

from __future__ import annotations

import signal
from pathlib import Path

import pytest

from showthrough.cli import main as cli
from showthrough.jobs.photos.preview import Drawn

FOLDER = Path(__file__).parents[2] / "examples"


def line(out, *more):
    door, job = str(FOLDER / "photos" / "door.jpg"), str(FOLDER / "linen-cupboard.toml")
    return ["preview", door, job, "--area", "0.3,0,1,1", "--coats", "2", "--out", str(out), *more]


@pytest.fixture
def stopped(monkeypatch):
    """A painter who presses Ctrl-C after the second picture."""
    frames = Drawn.frames

    def some(self, progress=None):
        for frame in frames(self, progress):
            yield frame
            if frame.coat == 1:
                raise KeyboardInterrupt

    monkeypatch.setattr(Drawn, "frames", some)


def run(arguments):
    try:
        return cli.main(arguments)
    except (KeyboardInterrupt, SystemExit) as stop:
        return stop


@pytest.mark.usefixtures("stopped")
def test_a_preview_that_is_stopped_leaves_no_half_of_a_set(tmp_path):
    run(line(tmp_path / "new"))
    assert not (tmp_path / "new").exists()
    (tmp_path / "old").mkdir()
    (tmp_path / "old" / "coat-0.png").write_bytes(b"kept")
    run(line(tmp_path / "old", "--replace"))
    assert [p.name for p in (tmp_path / "old").iterdir()] == ["coat-0.png"]
    assert (tmp_path / "old" / "coat-0.png").read_bytes() == b"kept"


def test_a_whole_preview_is_there_and_nothing_else(tmp_path):
    assert run(line(tmp_path)) == 0
    assert sorted(p.name for p in tmp_path.iterdir()) == [f"coat-{n}.png" for n in range(3)]


OTHERS = ("coat-13.png", "coat-3.png.bak", "my coat-3.png", "notes.txt")
"""Names that the command never gives to a picture."""


def test_fewer_coats_replace_the_whole_earlier_set_and_nothing_else(tmp_path):
    for name in ("coat-0.png", "coat-3.png", "coat-12.png", *OTHERS):
        (tmp_path / name).write_bytes(b"earlier")
    assert run(line(tmp_path)) != 0
    assert (tmp_path / "coat-12.png").exists()
    assert run(line(tmp_path, "--replace")) == 0
    wanted = {"coat-0.png", "coat-1.png", "coat-2.png", *OTHERS}
    assert {p.name for p in tmp_path.iterdir()} == wanted
    assert {(tmp_path / name).read_bytes() for name in OTHERS} == {b"earlier"}


@pytest.mark.parametrize("together", [True, False])
def test_one_kind_of_set_takes_the_place_of_the_other(tmp_path, together):
    single = [f"coat-{n}.png" for n in range(3)]
    both = "coats-side-by-side.png"
    for name in (*single, "coat-5.png", both, *OTHERS):
        (tmp_path / name).write_bytes(b"earlier")
    more = ["--side-by-side"] if together else []
    assert run(line(tmp_path, "--replace", *more)) == 0
    wanted = {both} if together else set(single)
    assert {p.name for p in tmp_path.iterdir()} == wanted | set(OTHERS)
    assert all((tmp_path / name).read_bytes() != b"earlier" for name in wanted)


@pytest.mark.usefixtures("stopped")
def test_a_preview_that_is_stopped_removes_no_earlier_picture(tmp_path):
    (tmp_path / "coat-5.png").write_bytes(b"earlier")
    run(line(tmp_path, "--replace"))
    assert [p.name for p in tmp_path.iterdir()] == ["coat-5.png"]


def test_a_stop_while_files_move_waits_until_the_set_is_whole(tmp_path, monkeypatch):
    (tmp_path / "coat-5.png").write_bytes(b"earlier")
    move = Path.replace

    def stopped_move(self, target):
        signal.raise_signal(signal.SIGINT)
        return move(self, target)

    monkeypatch.setattr(Path, "replace", stopped_move)
    assert run(line(tmp_path, "--replace")) != 0
    assert sorted(p.name for p in tmp_path.iterdir()) == [f"coat-{n}.png" for n in range(3)]
