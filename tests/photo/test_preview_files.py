"""The pictures of a preview stand in their folder as a whole set or not at all."""

from __future__ import annotations

from pathlib import Path

import pytest

from showthrough import cli
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
