"""Photos as use cases: what a reading says flows on, and problems name the request's fields."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from jobs import small_photos as photos
from jobs.small_jobs import BROWN_FINISH, patch, small_job
from showthrough import predict
from showthrough.colour.difference import ciede2000
from showthrough.errors import IllConditionedError, InputError
from showthrough.jobs.photos.photos import read_chip, read_drawdown, read_surface
from showthrough.jobs.photos.preview import draw_preview

CARD = {"region": photos.CARD}
WITH_CARD = {"region": photos.CHIP, "cards": [CARD]}


def problems_of(use_case: Any, *args: Any) -> dict[str, str]:
    """Message by field."""
    with pytest.raises(InputError) as caught:
        use_case(*args)
    return {p.field: p.message for p in caught.value.problems}


# --- what is read flows on ---------------------------------------------------------------


def test_a_chips_doubt_widens_the_prediction() -> None:
    topcoat = read_chip(photos.chip_photo(), WITH_CARD).topcoat
    assert topcoat["radius"] > 1.0
    sure = predict(small_job(topcoat | {"radius": 0.0}))
    read = predict(small_job(topcoat))
    assert read.coats.likely == sure.coats.likely
    # The paint hides as well as before; what is wider is the chance: the likely count is less
    # sure, and the tail of the count longer.
    same = {"would_narrow"}  # its counts have the doubt of the reading too
    assert read.hiding.model_dump(exclude=same) == sure.hiding.model_dump(exclude=same)
    assert read.coats.enough[read.coats.likely] < sure.coats.enough[sure.coats.likely]
    assert max(read.coats.enough) >= max(sure.coats.enough)
    tail = {n: p for n, p in read.coats.enough.items() if p > 0.5}
    assert all(p < sure.coats.enough.get(n, 1.0) for n, p in tail.items())


def test_without_a_reference_the_radius_is_wider_and_says_why() -> None:
    beside = read_chip(photos.chip_photo(), WITH_CARD).colour
    alone = read_chip(photos.chip_photo(), {"region": photos.CHIP}).colour
    assert (beside.basis, alone.basis) == ("card", "none")
    assert alone.radius > beside.radius


def test_a_read_surface_is_a_jobs_surface() -> None:
    answer = read_surface(photos.surface_photo(), {"cards": [CARD]})
    assert sum(p.share for p in answer.patches) == pytest.approx(1.0, abs=0.01)
    prediction = predict(small_job(surface=answer.surface))
    assert [p.name for p in prediction.patches] == [p.name for p in answer.patches]
    labs = np.array([p.lab for p in answer.patches])
    apart = ciede2000(labs[:, None], labs[None])
    assert apart.max() > 10.0, "the dark third is told from the board"
    ground = prediction.ladder[0].patches
    for read, shown in zip(answer.patches, ground, strict=True):
        assert ciede2000(np.array(read.lab), np.array(shown.mean.lab)) < 0.2


def test_the_same_bytes_give_the_same_patches() -> None:
    first, second = (read_surface(photos.surface_photo(), {"cards": [CARD]}) for _ in range(2))
    assert first == second


@pytest.mark.parametrize("of", ["readings", "a photo"])
def test_a_drawdown_is_a_jobs_topcoat_and_hiding_is_measured(of: str) -> None:
    if of == "readings":
        answer = read_drawdown(photos.FILM | photos.READINGS)
    else:
        request = photos.FILM | {"regions": photos.DRAW, "photo": {"cards": [CARD]}}
        answer = read_drawdown(request, photos.draw_photo())
        assert set(answer.readings or ()) == set(photos.DRAW)
    job = small_job()
    job["topcoat"] = {"paint": answer.paint, "volume_solids": 0.38}
    prediction = predict(job)
    assert prediction.hiding.evidence == "drawdown"
    guessed = predict(small_job({"lab": list(answer.opaque.lab)}))
    assert guessed.hiding.evidence == "colour"
    assert prediction.hiding.spread < guessed.hiding.spread
    assert ciede2000(np.array(prediction.topcoat.lab), np.array(answer.opaque.lab)) < 0.1


def test_a_film_that_hides_is_answered_with_what_to_do() -> None:
    with pytest.raises(IllConditionedError, match="draw it thinner"):
        read_drawdown(photos.FILM | photos.OPAQUE)


# --- problems name the fields of the request ---------------------------------------------


def test_cards_and_sheets_are_counted_from_one() -> None:
    request = {
        "region": photos.CHIP,
        "cards": [CARD, {"region": photos.TINY}],
        "sheets": [photos.TINY],
    }
    told = problems_of(read_chip, photos.chip_photo(), request)
    assert set(told) == {"cards[2].region", "sheets[1]"}


def test_every_wrong_reference_is_told_at_once() -> None:
    request = {
        "region": photos.CHIP,
        "cards": [{"region": photos.CARD, "colour": "nonsense"}],
        "chart": {"corners": [[0, 0], [1, 0], [1, 1], [0, 1]], "values": [[50, 0, 0]] * 24},
        "light": "moon",
    }
    told = problems_of(read_chip, photos.chip_photo(), request)
    assert set(told) == {"cards[1].colour", "chart.values", "light"}


def test_a_drawdowns_regions_and_references_keep_their_places() -> None:
    request = photos.FILM | {
        "regions": photos.DRAW | {"over_black": photos.TINY},
        "photo": {"cards": [CARD, {"region": photos.TINY}]},
    }
    told = problems_of(read_drawdown, request, photos.draw_photo())
    assert set(told) == {"regions.over_black", "photo.cards[2].region"}


def test_an_empty_drawdown_is_told_all_that_it_needs() -> None:
    told = problems_of(read_drawdown, {})
    assert set(told) == {"wet_film_um", "volume_solids", *photos.READINGS}


def test_a_previews_job_and_areas_are_told_together() -> None:
    job = small_job({"lab": [60, 200, 10]}, patch(BROWN_FINISH), application={"tool": "mop"})
    request = {"job": job, "areas": [{"region": [0, 0, 2, 2]}]}
    told = problems_of(draw_preview, photos.surface_photo(), request)
    assert set(told) == {"application.tool", "topcoat.colour", "areas[1].region"}


def test_an_area_that_another_covers_is_told_by_its_place_in_the_request() -> None:
    areas = [{"region": photos.CHIP}, {"region": photos.CHIP}]
    told = problems_of(draw_preview, photos.surface_photo(), {"job": small_job(), "areas": areas})
    assert set(told) == {"areas[1].region"}


def test_a_preview_paints_what_is_marked_and_nothing_else() -> None:
    request = {"job": small_job(), "areas": [{"region": photos.CHIP}], "coats": 2}
    drawn = draw_preview(photos.surface_photo(), request)
    bare, first, second = (frame.image.astype(int) for frame in drawn.frames())
    height, width = bare.shape[:2]
    inside = np.zeros((height, width), dtype=bool)
    left, top, right, bottom = photos.CHIP
    inside[
        round(top * height) : round(bottom * height), round(left * width) : round(right * width)
    ] = True
    for image in (first, second):
        assert np.array_equal(image[~inside], bare[~inside])
        assert np.abs(image[inside] - bare[inside]).mean() > 5.0
    green = np.array([second[inside].mean(axis=0)])
    assert green[0, 1] > green[0, 0] > green[0, 2]


# --- marks of a drawdown -----------------------------------------------------------------

BY_CARD = {"cards": [CARD]}


def moved(**places: Any) -> dict[str, Any]:
    """A drawdown whose marks lie elsewhere."""
    return photos.FILM | {"regions": photos.DRAW | places, "photo": BY_CARD}


@pytest.mark.parametrize(
    ("mark", "onto", "told"),
    [
        ("over_black", "bare_black", "off the film"),
        ("over_black", "bare_white", "off the film"),
        ("over_white", "bare_white", "off the film"),
        ("over_white", "bare_black", "off the film"),
        ("bare_white", "over_white", "mark the bare white"),
        ("bare_black", "over_black", "mark the bare black"),
    ],
)
def test_one_mark_that_lies_elsewhere_has_one_advice(mark: str, onto: str, told: str) -> None:
    found = problems_of(read_drawdown, moved(**{mark: photos.DRAW[onto]}), photos.draw_photo())
    assert list(found) == [f"regions.{mark}"]
    assert told in found[f"regions.{mark}"]


def test_the_drawdown_cards_own_white_may_be_the_card() -> None:
    white = {"region": photos.DRAW["bare_white"], "colour": {"lab": [92.5, -0.3, 2.2]}}
    inside = {"cards": [white]}
    marked = read_drawdown(
        photos.FILM | {"regions": photos.DRAW, "photo": inside}, photos.draw_photo()
    )
    silent = read_drawdown(photos.FILM | {"regions": photos.DRAW}, photos.draw_photo())
    beside = read_drawdown(moved(), photos.draw_photo())
    for answer in (marked, silent):
        assert ciede2000(np.array(answer.opaque.lab), np.array(beside.opaque.lab)) < 4.0
        assert answer.scattering_per_um == pytest.approx(beside.scattering_per_um, rel=0.3)
    readings = silent.readings or {}
    assert {reading.basis for reading in readings.values()} == {"card"}
    assert any("own white" in note for note in readings["over_black"].notes)


def test_a_mark_of_the_own_white_that_cannot_serve_is_told_by_its_field() -> None:
    request = photos.FILM | {"regions": photos.DRAW | {"bare_white": [0.4, 0.3, 0.6, 0.9]}}
    assert set(problems_of(read_drawdown, request, photos.draw_photo())) == {"regions.bare_white"}


# --- a preview's pictures ----------------------------------------------------------------


@pytest.mark.parametrize("under", [[], ["undercoat"]])
def test_every_picture_side_by_side_has_its_caption(under: list[str]) -> None:
    request = {"job": small_job(), "areas": [{"region": photos.CHIP}], "coats": 2}
    drawn = draw_preview(photos.surface_photo(), request | {"undercoat": bool(under)})
    captions, frames = drawn.answer.captions, [frame.image for frame in drawn.frames()]
    assert captions == ["bare", *under, "1 coat", "2 coats"]
    sheet = drawn.side_by_side()
    each = np.split(sheet, len(captions), axis=1)
    assert all(part.shape == frames[0].shape for part in each), "one scale"
    for shown, drawn_alone in zip(each[-len(frames) :], frames, strict=True):
        np.testing.assert_array_equal(shown, drawn_alone)
    # The first is the photo itself, whatever goes under the paint.
    plain = draw_preview(photos.surface_photo(), request)
    bare = next(iter(plain.frames())).image
    assert np.abs(each[0].astype(int) - bare).max() <= 1


def test_a_lock_and_a_card_outside_the_marked_area_are_left_out() -> None:
    board = [0.3, 0.05, 0.6, 0.95]
    request = {"job": small_job(), "areas": [{"region": board}], "coats": 2}
    first, *painted = [f.image for f in draw_preview(photos.surface_photo(), request).frames()]
    height, width = first.shape[:2]
    inside = np.zeros((height, width), dtype=bool)
    inside[round(0.05 * height) : round(0.95 * height), round(0.3 * width) : round(0.6 * width)] = 1
    for image in painted:
        np.testing.assert_array_equal(image[~inside], first[~inside])
        assert (image[inside] != first[inside]).any(axis=1).mean() > 0.9


def test_a_surface_asks_for_what_no_picture_tells() -> None:
    asked = " ".join(read_surface(photos.surface_photo(), {"cards": [CARD]}).asks)
    assert all(word in asked for word in ("Bare", "Glossy", "Waxed"))
    # What it asks for are words that a job understands.
    for ground in ("gloss", "laminate", "varnish", "waxed", "oiled", "polished"):
        assert f"“{ground}”" in asked
        predict(small_job(surface=[patch(BROWN_FINISH) | {"ground": ground}]))
