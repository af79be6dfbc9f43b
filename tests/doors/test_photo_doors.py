"""Photos and drawdowns: three doors, one answer, one refusal; and nothing is kept of a photo."""

from __future__ import annotations

import io
import json
import tempfile
import tomllib
import zipfile
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from doors.doors import client, lines_of, refusal, run
from jobs import small_photos as photos
from jobs.small_jobs import small_job, toml_of
from showthrough import InputError, predict
from showthrough.jobs.photos.photos import read_chip, read_drawdown, read_surface
from showthrough.jobs.photos.preview import draw_preview
from showthrough.web.api import photos as photo_api

CARD = {"region": photos.CARD, "kind": "white"}
CHIP = {"region": photos.CHIP, "cards": [CARD]}
DRAW = photos.FILM | {"regions": photos.DRAW, "photo": {"cards": [CARD]}}
JOB = small_job()
NAME = "photo.png"


@pytest.fixture(scope="module")
def http():
    return client()


def by_library(use_case, *args, **more):
    """``("answer", JSON)`` or ``("problems", list of dicts)``."""
    try:
        answer = use_case(*args, **more)
    except InputError as error:
        return "problems", [p.as_dict() for p in error.problems]
    return "answer", json.loads(answer.model_dump_json())


def posted(http, route, photo, request, **headers):
    """The service's response to a picture with a request beside it."""
    files = {} if photo is None else {"photo": (NAME, photo)}
    # A field that is sent as a file of no name keeps the body multipart without a picture.
    data = {"request": json.dumps(request)}
    if not files:
        files = {"request": (None, data.pop("request"))}
    return http.post(f"/api/{route}", files=files, data=data, headers=headers)


def by_http(http, route, photo, request):
    """The same from the service."""
    response = posted(http, route, photo, request)
    if response.status_code == 200:
        return "answer", response.json()
    assert response.status_code == 422, response.text
    return "problems", refusal(response)


def by_line(*argv):
    """The same from the command line; problems as a painter reads them."""
    code, out, err = run(*argv, "--json")
    if code == 0:
        assert err == ""
        return "answer", json.loads(out)
    assert (code, out) == (2, "")
    assert "Traceback" not in err
    return "problems", err.splitlines()[1:]


def place(box):
    return ",".join(str(v) for v in box)


def saved(folder, photo, name=NAME):
    path = folder / name
    path.write_bytes(photo)
    return path


def same(outcome, by_http_, by_line_):
    """One answer of three doors, or one list of problems."""
    kind, found = outcome
    assert by_http_ == outcome
    assert by_line_ == (kind, lines_of(found) if kind == "problems" else found)
    return kind


# --- one answer --------------------------------------------------------------------------


def test_a_chip_has_one_answer(http, tmp_path):
    photo = photos.chip_photo()
    line = by_line(
        "chip",
        saved(tmp_path, photo),
        "--region",
        place(photos.CHIP),
        "--card",
        f"{place(photos.CARD)}=white",
        "--light",
        "cloud",
    )
    request = CHIP | {"light": "cloud"}
    outcome = by_library(read_chip, photo, request, name=NAME)
    assert same(outcome, by_http(http, "chip", photo, request), line) == "answer"


def test_a_plain_file_and_a_black_card_have_one_answer(http, tmp_path):
    photo = photos.draw_photo()
    cards = [CARD, {"region": photos.DRAW["bare_black"], "kind": "black"}]
    region = photos.DRAW["over_white"]
    argv = ["chip", saved(tmp_path, photo), "--region", place(region)]
    argv += ["--card", f"{place(photos.CARD)}=white"]
    argv += ["--card", f"{place(photos.DRAW['bare_black'])}=black"]
    answers = []
    for more, said in (([], {}), (["--plain"], {"processing": "plain"})):
        request = {"region": region, "cards": cards} | said
        outcome = by_library(read_chip, photo, request, name=NAME)
        line = by_line(*argv, *more)
        assert same(outcome, by_http(http, "chip", photo, request), line) == "answer"
        answers.append(outcome[1]["colour"])
    phone, plain = answers
    assert plain["radius"] < phone["radius"]
    assert phone["processing"] != plain["processing"]


def test_a_surface_has_one_answer(http, tmp_path):
    photo, request = photos.surface_photo(), {"cards": [CARD], "most": 3}
    line = by_line(
        "surface", saved(tmp_path, photo), "--card", f"{place(photos.CARD)}=white", "--most", 3
    )
    outcome = by_library(read_surface, photo, request, name=NAME)
    assert same(outcome, by_http(http, "surface", photo, request), line) == "answer"


@pytest.mark.parametrize("of", ["readings", "a photo"])
def test_a_drawdown_has_one_answer(of, http, tmp_path):
    photo = photos.draw_photo() if of == "a photo" else None
    request = DRAW if photo else photos.FILM | photos.READINGS
    file = tmp_path / "draw.toml"
    file.write_text(toml_of(request), encoding="utf-8")
    more = ["--photo", saved(tmp_path, photo)] if photo else []
    name = NAME if photo else "photo"
    outcome = by_library(read_drawdown, request, photo, name=name)
    line = by_line("drawdown", file, *more)
    assert same(outcome, by_http(http, "drawdown", photo, request), line) == "answer"
    if not photo:
        plain = http.post("/api/drawdown", json=request)
        assert plain.json() == outcome[1], "a drawdown without a picture may come as plain JSON"


# --- one refusal -------------------------------------------------------------------------

CHIPS_REFUSED = {
    "over the card": ({"region": photos.OVERLAPPING, "cards": [CARD]}, photos.OVERLAPPING, []),
    "outside": ({"region": [0.5, 0.5, 1.5, 0.9], "cards": [CARD]}, [0.5, 0.5, 1.5, 0.9], []),
    "many": (
        CHIP | {"cards": [CARD | {"region": photos.TINY}], "sheets": [photos.TINY]},
        photos.CHIP,
        ["--sheet", place(photos.TINY)],
    ),
    "light": (CHIP | {"light": "moon"}, photos.CHIP, ["--light", "moon"]),
}


@pytest.mark.parametrize("case", CHIPS_REFUSED)
def test_a_wrong_request_is_refused_in_the_same_words(case, http, tmp_path):
    request, region, more = CHIPS_REFUSED[case]
    photo = photos.chip_photo()
    card = request["cards"][0]["region"]
    line = by_line(
        "chip",
        saved(tmp_path, photo),
        "--region",
        place(region),
        "--card",
        f"{place(card)}=white",
        *more,
    )
    outcome = by_library(read_chip, photo, request, name=NAME)
    assert same(outcome, by_http(http, "chip", photo, request), line) == "problems"


@pytest.mark.parametrize(
    "photo",
    [b"", b"GIF89a and no more", b"not a picture", photos.chip_photo()[:900]],
    ids=["empty", "another kind", "a text", "cut short"],
)
def test_a_wrong_picture_is_refused_in_the_same_words(photo, http, tmp_path):
    line = by_line("chip", saved(tmp_path, photo))
    # The library and the line call the file by its name, a form by its field.
    named = by_library(read_chip, photo, {}, name=NAME)
    assert same(named, named, line) == "problems"
    assert by_http(http, "chip", photo, {}) == by_library(read_chip, photo, {})


def test_a_film_that_hides_is_advised_in_the_same_words(http, tmp_path):
    request = photos.FILM | photos.OPAQUE
    file = tmp_path / "draw.toml"
    file.write_text(toml_of(request), encoding="utf-8")
    outcome = by_library(read_drawdown, request)
    assert same(outcome, by_http(http, "drawdown", None, request), by_line("drawdown", file))
    assert "draw it thinner" in outcome[1][0]["message"]
    response = http.post("/api/drawdown", json=request)
    assert response.json()["error"] == "ill_conditioned"


def test_a_previews_problems_are_told_in_the_same_words(http, tmp_path):
    photo, areas = photos.surface_photo(), [{"region": photos.CHIP, "patch": "door"}]
    job = small_job("nonsense")
    for each in (job, JOB):
        request = {"job": each, "areas": areas, "undercoat": False}
        file = tmp_path / "job.toml"
        file.write_text(toml_of(each), encoding="utf-8")
        code, out, err = run(
            "preview",
            saved(tmp_path, photo),
            file,
            "--area",
            f"{place(photos.CHIP)}=door",
            "--out",
            tmp_path / "out",
        )
        assert (code, out) == (2, "")
        outcome = by_library(draw_preview, photo, request, name=NAME)
        assert by_http(http, "preview", photo, request) == outcome
        assert err.splitlines()[1:] == lines_of(outcome[1])
    assert not (tmp_path / "out").exists(), "nothing is made for a preview that is refused"


# --- multipart ---------------------------------------------------------------------------


@pytest.mark.parametrize("route", ["chip", "surface", "preview"])
def test_a_missing_picture_is_asked_for(route, http):
    request = {"job": JOB, "areas": [{"region": photos.CHIP}]} if route == "preview" else {}
    for response in (
        http.post(f"/api/{route}", json=request),
        posted(http, route, None, request),
    ):
        assert response.status_code == 422
        (problem,) = refusal(response)
        assert problem["field"] == "photo"
        assert "picture is needed" in problem["message"]


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("multipart/form-data", b"--x\r\n"),
        ("multipart/form-data; boundary=x", b"no boundary in here"),
        ("multipart/form-data; boundary=x", b"--x\r\nContent-Disposition: form-data\r\n\r\n1\r\n"),
        ("multipart/form-data; boundary=x; charset=none-such", b"\xff\xfe--x--"),
    ],
)
def test_what_is_not_multipart_is_refused_as_the_body(kind, body, http):
    response = http.post("/api/chip", content=body, headers={"content-type": kind})
    assert response.status_code == 422
    assert {p["field"] for p in refusal(response)} <= {"body", "photo"}


def test_a_request_that_is_not_json_is_refused(http):
    files = {"photo": (NAME, photos.chip_photo())}
    for text in ("{", "[" * 50_000):
        response = http.post("/api/chip", files=files, data={"request": text})
        assert response.status_code == 422
        assert [p["field"] for p in refusal(response)] == ["request"]


def test_more_parts_than_a_request_has_are_refused(http):
    photo = photos.chip_photo()
    two = [("photo", (NAME, photo)), ("photo", (NAME, photo))]
    many = {f"field{i}": "1" for i in range(40)}
    for response in (
        http.post("/api/chip", files=two),
        http.post("/api/chip", files={"photo": (NAME, photo)}, data=many),
        http.post("/api/chip", files={"photo": (NAME, photo)}, data={"request": " " * 2_000_000}),
    ):
        assert response.status_code == 422
        assert [p["field"] for p in refusal(response)] == ["body"]


def test_a_picture_that_is_far_too_large_is_413(http, monkeypatch):
    monkeypatch.setattr(photo_api, "MOST_BODY_BYTES", 300_000)
    response = posted(http, "chip", bytes(400_000), {})
    assert response.status_code == 413
    (problem,) = refusal(response)
    assert (problem["field"], problem["code"]) == ("body", "too_large")
    assert photo_api.MOST_BODY_BYTES < 200_000_000


def test_no_file_can_be_named_over_http(http):
    request = photos.FILM | photos.READINGS
    request = request | {"over_black": {"spectrum_file": "/etc/hostname"}}
    response = http.post("/api/drawdown", json=request)
    assert [p["code"] for p in refusal(response)] == ["file_refused"]
    job = small_job() | {"topcoat": {"paint_file": "/etc/hostname"}}
    response = http.post("/api/predict", json=job)
    assert [p["code"] for p in refusal(response)] == ["file_refused"]


# --- a measured paint --------------------------------------------------------------------


@pytest.mark.parametrize("of", ["colours", "spectra"])
def test_a_saved_paint_predicts_as_the_inline_one_and_is_measured(of, http, tmp_path):
    request = photos.FILM | photos.READINGS
    if of == "spectra":
        levels = {"bare_black": 0.05, "bare_white": 0.85, "over_black": 0.32, "over_white": 0.42}
        request = photos.FILM | {
            name: {"spectrum": {"values": [level] * 31}} for name, level in levels.items()
        }
    file, paint = tmp_path / "draw.toml", tmp_path / "paint.toml"
    file.write_text(toml_of(request), encoding="utf-8")
    code, out, _ = run("drawdown", file, "--save", paint, "--json")
    assert code == 0
    told = json.loads(out)["paint"]
    assert tomllib.loads(paint.read_text(encoding="utf-8")) == told
    answer = http.post("/api/drawdown", json=request).json()
    assert answer["paint"] == told
    inline = small_job() | {"topcoat": {"paint": told, "volume_solids": 0.38}}
    named = small_job() | {"topcoat": {"paint_file": "paint.toml", "volume_solids": 0.38}}
    job_file = tmp_path / "job.toml"
    job_file.write_text(toml_of(named), encoding="utf-8")
    outcome = by_library(predict, inline)
    assert outcome[0] == "answer"
    assert http.post("/api/predict", json=inline).json() == outcome[1]
    assert by_line("predict", job_file) == outcome
    expected = {"colours": "drawdown", "spectra": "spectrum"}[of]
    assert outcome[1]["hiding"]["evidence"] == expected
    code, text, _ = run("predict", job_file, "--full")
    assert code == 0
    assert "drawdown" in text


def test_a_paint_is_saved_over_another_only_when_told(tmp_path):
    file, paint = tmp_path / "draw.toml", tmp_path / "paint.toml"
    file.write_text(toml_of(photos.FILM | photos.READINGS), encoding="utf-8")
    paint.write_text("mine", encoding="utf-8")
    code, _, err = run("drawdown", file, "--save", paint)
    assert (code, paint.read_text(encoding="utf-8")) == (2, "mine")
    assert "--replace" in err
    assert run("drawdown", file, "--save", paint, "--replace")[0] == 0
    assert "absorption" in paint.read_text(encoding="utf-8")


# --- previews ----------------------------------------------------------------------------

PREVIEW = {"job": JOB, "areas": [{"region": photos.CHIP}], "coats": 2}


def test_a_zip_holds_one_picture_a_coat_without_metadata(http):
    response = posted(http, "preview", photos.located_photo(), PREVIEW, accept="application/zip")
    assert response.status_code == 200
    assert response.headers["content-type"] == "application/zip"
    with zipfile.ZipFile(io.BytesIO(response.content)) as archive:
        names = archive.namelist()
        assert names == ["coat-0.png", "coat-1.png", "coat-2.png", "answer.json"]
        assert json.loads(archive.read("answer.json"))["coats"] == 2
        for name in names[:-1]:
            data = archive.read(name)
            with Image.open(io.BytesIO(data)) as picture:
                assert picture.size == photos.SIZE
                assert not picture.getexif()
                assert picture.info == {}
            assert b"Invented" not in data
            assert b"GPS" not in data


def test_the_plain_answer_is_the_coats_side_by_side(http):
    whole = posted(http, "preview", photos.surface_photo(), PREVIEW)
    assert whole.headers["content-type"] == "image/png"
    strip = np.asarray(Image.open(io.BytesIO(whole.content)))
    width, height = photos.SIZE
    assert strip.shape == (height, 3 * width, 3)
    frames = draw_preview(photos.surface_photo(), PREVIEW).frames()
    for i, frame in enumerate(frames):
        assert np.array_equal(strip[:, i * width : (i + 1) * width], frame.image)


def test_the_service_and_the_line_draw_the_same_pictures(http, tmp_path):
    photo = saved(tmp_path, photos.surface_photo())
    job = tmp_path / "job.toml"
    job.write_text(toml_of(JOB), encoding="utf-8")
    before = set(tmp_path.rglob("*"))
    out = tmp_path / "out"
    argv = ("preview", photo, job, "--area", place(photos.CHIP), "--coats", 2, "--out", out)
    assert run(*argv)[0] == 0
    made = {out / f"coat-{n}.png" for n in range(3)}
    assert set(tmp_path.rglob("*")) - before == {out, *made}
    response = posted(http, "preview", photo.read_bytes(), PREVIEW, accept="application/zip")
    with zipfile.ZipFile(io.BytesIO(response.content)) as archive:
        for path in made:
            assert archive.read(path.name) == path.read_bytes()
    (out / "coat-1.png").write_bytes(b"mine")
    code, _, err = run(*argv)
    assert code == 2
    assert "--replace" in err
    assert (out / "coat-1.png").read_bytes() == b"mine"
    assert run(*argv, "--replace")[0] == 0
    assert (out / "coat-1.png").read_bytes() != b"mine"


def test_the_service_writes_no_file(http, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    # More than a parser keeps in memory unless it is told to.
    noise = np.random.default_rng(1).integers(0, 255, (900, 1200, 3))
    photo = photos.encoded(noise)
    assert len(photo) > 2_000_000
    rolled = []
    real = tempfile.SpooledTemporaryFile.rollover

    def rollover(self):
        rolled.append(self)
        real(self)

    monkeypatch.setattr(tempfile.SpooledTemporaryFile, "rollover", rollover)
    assert posted(http, "chip", photo, {}).status_code == 200
    assert posted(http, "preview", photo, PREVIEW).status_code == 200
    assert list(Path(tmp_path).rglob("*")) == []
    assert rolled == [], "a photo rests in memory only"
