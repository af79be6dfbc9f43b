"""A photo under paint: how it is lit, the pictures, and what is refused."""

from __future__ import annotations

import numpy as np
import pytest

from reference.pine_board import pine_board
from reference.preview_sets import PAINT_LABS, PAINTS, direct_codes, light_of, seen_lab
from showthrough.colour.difference import ciede2000
from showthrough.colour.space import lab_to_srgb, linear_to_srgb, srgb_to_linear
from showthrough.errors import ImageError, InputError
from showthrough.photo.place import Region
from showthrough.photo.preview import drawing as preview_drawing
from showthrough.photo.preview.areas import PaintedArea, Undercoat
from showthrough.photo.preview.model import Coating, painted_light, surface_spectra
from showthrough.photo.preview.preview import PreviewFrame, preview
from showthrough.photo.preview.table import encoded

ALL = Region.rectangle(0.0, 0.0, 1.0, 1.0)
MIDDLE = Region.rectangle(0.2, 0.25, 0.8, 0.75)
COATS_UM = (17.0, 34.0, 51.0)
OPAQUE_UM = (2000.0,)


def flat_photo(lab, height=60, width=80, shading=1.0):
    """8-bit photo of one colour; ``shading`` along a row or one number."""
    light = light_of(lab)[0] * np.broadcast_to(shading, (width,))[:, None]
    row = np.rint(255.0 * linear_to_srgb(np.clip(light, 0.0, 1.0)))
    return np.broadcast_to(row, (height, width, 3)).astype(np.uint8)


def images(photo, areas, paint="red", films=COATS_UM, **options):
    frames = preview(photo, areas, PAINTS[paint], films, **options).frames(workers=2)
    return [frame.image for frame in frames]


@pytest.fixture(scope="module")
def board():
    return pine_board(240, 160)


class TestLight:
    def test_a_fall_off_is_divided_out_and_put_back(self):
        # A flat colour lit 2:1 returns a flat topcoat lit 2:1.
        shading = np.linspace(1.3, 0.65, 400)
        photo = flat_photo((55, 10, 20), 120, 400, shading)
        painted = images(photo, [PaintedArea(ALL)], "yellow-green", OPAQUE_UM)[-1]
        chip = light_of(PAINT_LABS["yellow-green"])[0]
        wanted = direct_codes(chip * (shading / shading.mean())[:, None])
        assert np.abs(painted - wanted).max() <= 1.6

    def test_a_lamp_at_one_corner_is_followed_both_ways(self):
        y, x = np.mgrid[0.0:1.0:120j, 0.0:1.0:160j]
        shading = np.exp(-0.5 * x - 0.2 * y + 0.6 * x * y + 0.1 * x * x - 0.3 * y * y)
        shading /= shading.mean()
        photo = encoded((light_of((55, 10, 20))[0] * shading[..., None]).astype(np.float32))
        painted = images(photo, [PaintedArea(ALL)], "dark blue", OPAQUE_UM)[-1]
        wanted = direct_codes(light_of(PAINT_LABS["dark blue"])[0] * shading[..., None])
        assert np.abs(painted - wanted).max() <= 1.6

    def test_even_light_stays_even(self):
        photo = pine_board(240, 160, fall_off=1.0).photo
        painted = images(photo, [PaintedArea(ALL)], "dark blue", OPAQUE_UM)[-1]
        assert np.ptp(painted.reshape(-1, 3), axis=0).max() <= 1

    @pytest.mark.parametrize("fall_off", [1.0, 2.0])
    def test_a_large_patch_of_another_hue_is_no_light(self, fall_off):
        x = (np.arange(300) + 0.5) / 300
        shading = 1.0 / (1.0 + (fall_off - 1.0) * x)
        shading /= shading.mean()
        light = np.where((x < 0.55)[:, None], light_of((55, 14, 30)), light_of((80, 3, 14)))
        row = np.clip(np.rint(255.0 * linear_to_srgb(light * shading[:, None])), 0, 255)
        photo = np.broadcast_to(row, (200, 300, 3)).astype(np.uint8)
        face = preview(photo, [PaintedArea(ALL)], PAINTS["red"], COATS_UM).grounds[0].face
        assert np.abs(face.at(np.arange(300.0), np.full(300, 100.0)) / shading - 1.0).max() < 0.03

    def test_areas_of_one_face_share_its_light(self, board):
        ring = PaintedArea(board.ring, "bare")
        whole, patch = preview(
            board.photo, [PaintedArea(ALL), ring], PAINTS["red"], COATS_UM
        ).grounds
        assert whole.face == patch.face
        apart = PaintedArea(board.ring, "bare", face="another")
        whole, patch = preview(
            board.photo, [PaintedArea(ALL), apart], PAINTS["red"], COATS_UM
        ).grounds
        assert whole.face != patch.face

    def test_too_small_a_face_is_taken_as_evenly_lit(self):
        photo = flat_photo((55, 10, 20), 6, 8, np.linspace(1.3, 0.65, 8))
        assert (
            preview(photo, [PaintedArea(ALL)], PAINTS["red"], COATS_UM).grounds[0].face.ratio == 1
        )

    def test_exposure_scales_the_light_of_painted_areas_alone(self):
        photo = flat_photo((40, 10, 20))
        plain = images(photo, [PaintedArea(MIDDLE)], "dark blue", OPAQUE_UM)[-1]
        brighter = images(photo, [PaintedArea(MIDDLE)], "dark blue", OPAQUE_UM, exposure=2.0)[-1]
        twice = direct_codes(2.0 * srgb_to_linear(plain[30, 40] / 255.0))
        assert np.abs(brighter[30, 40] - twice).max() <= 1.6
        assert np.array_equal(brighter[0], photo[0])


class TestPictures:
    def test_no_film_on_a_coated_ground_is_the_photo(self, board):
        painted = images(board.photo, [PaintedArea(ALL)], films=(0.0, 17.0))
        apart = np.abs(painted[1].astype(int) - board.photo)
        held = board.photo.max(axis=2) < 245
        assert apart[held].max() <= 1
        assert np.array_equal(painted[0], board.photo)

    def test_an_opaque_film_is_the_chip_times_the_shading(self, board):
        painted = images(board.photo, [PaintedArea(ALL)], "dark blue", OPAQUE_UM)[1]
        chip = light_of(PAINT_LABS["dark blue"])[0]
        wanted = direct_codes(chip * board.shading[:, None])
        assert np.abs(painted - wanted).max() <= 2.0

    def test_outside_the_areas_nothing_changes(self, board):
        inside = np.zeros(board.ring.shape, dtype=bool)
        window = MIDDLE.window((240, 160))
        inside[window.rows, window.columns] = window.inside
        for image in images(board.photo, [PaintedArea(MIDDLE)])[1:]:
            assert np.array_equal(image[~inside], board.photo[~inside])
            assert (image[inside] != board.photo[inside]).any(axis=1).mean() > 0.99

    def test_pixels_are_those_of_the_direct_model(self, board):
        # The whole way, light's fall-off and rounding to 8 bits included.
        plan = preview(board.photo, [PaintedArea(ALL)], PAINTS["vivid yellow"], COATS_UM)
        frames = list(plan.frames())[1:]
        rng = np.random.default_rng(5)
        row, column = rng.integers(0, 160, 600), rng.integers(0, 240, 600)
        lit = plan.grounds[0].face.at(column.astype(float), row.astype(float))[:, None]
        ground = surface_spectra(srgb_to_linear(board.photo[row, column] / 255.0) / lit)
        light = painted_light(ground, "coated", plan.coating, COATS_UM)
        for i, frame in enumerate(frames):
            wanted = direct_codes(light[:, i] * lit)
            assert np.abs(frame.image[row, column] - wanted).max() <= 0.75

    def test_bare_wood_hides_later_than_a_coated_one_under_yellow(self):
        # A bare ground is darker in optical contact; that film must do more (Saunderson).
        chip = np.array(PAINT_LABS["vivid yellow"], dtype=float)
        left = {
            skin: ciede2000(
                seen_lab(images(flat_photo((62, 14, 34)), [PaintedArea(ALL, skin)],
                                "vivid yellow", (34.0,))[1][30, 40].astype(float)), chip)
            for skin in ("coated", "bare")
        }  # fmt: skip
        assert left["bare"] > left["coated"] + 2.0

    def test_coats_of_one_paint_over_an_undercoat_of_it_are_one_film(self, board):
        areas = [PaintedArea(ALL)]
        under = Undercoat(PAINTS["red"], 10.0)
        layered = images(board.photo, areas, films=(7.0, 24.0), undercoat=under)
        one = images(board.photo, areas, films=(10.0, 17.0, 34.0))[1:]
        for a, b in zip(layered, one, strict=True):
            assert np.abs(a.astype(int) - b).max() <= 1

    def test_coat_0_is_the_undercoat_where_there_is_one(self):
        photo = flat_photo((40, 10, 20))
        under = Undercoat(PAINTS["white"], OPAQUE_UM[0])
        ground = images(photo, [PaintedArea(ALL)], undercoat=under)[0]
        assert ciede2000(seen_lab(ground[0, 0].astype(float)), [96, -0.5, 2]) < 1.0

    def test_a_measured_colour_replaces_the_photographed_one(self):
        measured = (70.0, 5.0, 25.0)
        photo = flat_photo((50, 15, 10))
        area = PaintedArea(ALL, lab=measured)
        image = images(photo, [area], films=(0.0,))[1]
        assert ciede2000(seen_lab(image[30, 40].astype(float)), measured) < 1.0

    def test_a_patch_may_have_films_of_its_own(self):
        photo = flat_photo((40, 10, 20))
        left = Region.rectangle(0.0, 0.0, 0.5, 1.0)
        areas = [PaintedArea(ALL), PaintedArea(left, films_um=(10.0, 27.0, 44.0))]
        thin = images(photo, areas)[1]
        assert np.array_equal(thin[30, 70], images(photo, [PaintedArea(ALL)])[1][30, 70])
        alone = images(photo, [PaintedArea(ALL)], films=(10.0,))[1]
        assert np.array_equal(thin[30, 10], alone[30, 10])

    def test_where_areas_overlap_the_later_one_counts(self, board):
        both = [PaintedArea(ALL), PaintedArea(board.ring, "bare")]
        label = preview(board.photo, both, PAINTS["red"], COATS_UM).label
        assert np.array_equal(label == 2, board.ring)

    def test_linear_light_gives_the_same_as_its_8_bit_numbers(self, board):
        linear = srgb_to_linear(board.photo / 255.0).astype(np.float32)
        areas = [PaintedArea(MIDDLE)]
        for a, b in zip(images(board.photo, areas), images(linear, areas), strict=True):
            assert np.abs(a.astype(int) - b).max() <= 1

    @pytest.mark.parametrize("workers", [1, 3])
    def test_is_the_same_on_any_number_of_threads_and_in_any_number_of_passes(
        self, board, workers, monkeypatch
    ):
        areas = [PaintedArea(ALL), PaintedArea(board.ring, "bare")]
        once = images(board.photo, areas)
        monkeypatch.setattr(preview_drawing, "FRAMES_BYTES", board.photo.nbytes)
        monkeypatch.setattr(preview_drawing, "_BAND_PIXELS", 1000)
        again = preview(board.photo, areas, PAINTS["red"], COATS_UM).frames(workers=workers)
        for image, frame in zip(once, again, strict=True):
            assert np.array_equal(image, frame.image)

    @pytest.mark.parametrize("linear", [False, True])
    def test_frames_are_numbered_by_coat_and_progress_rises_to_1(self, board, linear):
        parts = []
        photo = srgb_to_linear(board.photo / 255.0) if linear else board.photo
        frames = list(
            preview(photo, [PaintedArea(ALL)], PAINTS["red"], COATS_UM).frames(parts.append)
        )
        assert [frame.coat for frame in frames] == [0, 1, 2, 3]
        assert all(isinstance(frame, PreviewFrame) for frame in frames)
        assert parts == sorted(parts)
        assert parts[-1] == pytest.approx(1.0)

    def test_the_smallest_photo_and_the_darkest_are_painted(self):
        for photo in (np.zeros((1, 1, 3), np.uint8), np.full((2, 3, 3), 255, np.uint8)):
            painted = images(photo, [PaintedArea(ALL)], "dark blue", OPAQUE_UM)[1]
            chip = np.rint(255 * lab_to_srgb(np.array(PAINT_LABS["dark blue"], dtype=float)))
            assert np.abs(painted - chip).max() <= 1


class TestNotes:
    def test_say_what_a_photo_cannot_tell(self, board):
        notes = " ".join(preview(board.photo, [PaintedArea(ALL)], PAINTS["red"], COATS_UM).notes)
        for words in ("2.0 : 1", "cannot be told", "as photographed", "mean film"):
            assert words in notes

    @pytest.mark.parametrize(("code", "what"), [(255, "burnt out"), (2, "black")])
    def test_tell_what_the_photo_does_not_hold(self, board, code, what):
        photo = board.photo.copy()
        rows = slice(None, photo.shape[0] // 5)
        photo[rows] = code
        told = [
            preview(each, [PaintedArea(ALL)], PAINTS["red"], COATS_UM).notes
            for each in (photo, board.photo)
        ]
        [[note], none] = [[n for n in notes if "of the marked area is" in n] for notes in told]
        assert note.startswith(f"20% of the marked area is {what}")
        assert not none
        # What is not marked is not counted.
        below = Region.rectangle(0.0, 0.25, 1.0, 1.0)
        rest = preview(photo, [PaintedArea(below)], PAINTS["red"], COATS_UM).notes
        assert not any("of the marked area is" in n for n in rest)

    def test_name_the_exposure_that_keeps_a_white_from_burning_out(self, board):
        def notes(**options):
            plan = preview(board.photo, [PaintedArea(ALL)], PAINTS["white"], (90.0,), **options)
            return " ".join(plan.notes)

        said = notes()
        assert "an exposure of 0." in said
        wanted = float(said.split("an exposure of ")[1].split(" ")[0])
        assert "exposure" not in notes(exposure=wanted).replace("phone's exposure", "")


class TestWhatIsRefused:
    def test_all_wrong_fields_are_named_at_once(self):
        areas = [
            PaintedArea(ALL, "wet"),
            PaintedArea(ALL, lab=(150.0, 0.0, 0.0)),
            PaintedArea(ALL, films_um=(1.0,)),
        ]
        under = Undercoat(PAINTS["white"], -3.0)
        with pytest.raises(InputError) as caught:
            preview(flat_photo((50, 0, 0)), areas, PAINTS["red"], (17.0, 17.0), undercoat=under,
                    exposure=0.0)  # fmt: skip
        fields = [problem.field for problem in caught.value.problems]
        assert fields == [
            "films_um", "undercoat.film_um", "exposure", "areas[1].skin", "areas[2].lab",
            "areas[3].films_um",
        ]  # fmt: skip

    @pytest.mark.parametrize(
        "films", [(), (-1.0,), (np.nan,), (np.inf,), (20.0, 10.0), tuple(range(1, 40))]
    )
    def test_films_that_cannot_be(self, films):
        with pytest.raises(InputError, match="films_um"):
            preview(flat_photo((50, 0, 0)), [PaintedArea(ALL)], PAINTS["red"], films)

    @pytest.mark.parametrize(
        "photo",
        [
            np.zeros((4, 4), np.uint8),
            np.zeros((4, 4, 4), np.uint8),
            np.zeros((0, 4, 3), np.uint8),
            np.zeros((4, 4, 3), np.int64),
            np.full((4, 4, 3), np.nan, np.float32),
            np.broadcast_to(np.uint8(0), (8000, 8000, 3)),
        ],
    )
    def test_arrays_that_are_no_photo(self, photo):
        with pytest.raises(ImageError, match="photo"):
            preview(photo, [PaintedArea(ALL)], PAINTS["red"], COATS_UM)

    def test_areas_that_do_not_fit_the_photo(self):
        photo = flat_photo((50, 0, 0))
        areas = [
            PaintedArea(Region.polygon([(0.1, 0.1), (1.4, 0.1), (0.5, 0.9)])),
            PaintedArea(np.zeros((5, 5), dtype=bool)),
        ]
        with pytest.raises(ImageError) as caught:
            preview(photo, areas, PAINTS["red"], COATS_UM)
        assert [p.field for p in caught.value.problems] == ["areas[1].where", "areas[2].where"]

    def test_an_area_without_pixels(self):
        photo = flat_photo((50, 0, 0))
        with pytest.raises(ImageError, match=r"areas\[1\].where"):
            preview(photo, [PaintedArea(MIDDLE), PaintedArea(ALL)], PAINTS["red"], COATS_UM)
        with pytest.raises(InputError, match="between 1 and"):
            preview(photo, [], PAINTS["red"], COATS_UM)

    def test_a_measured_colour_that_the_photo_contradicts(self):
        area = PaintedArea(ALL, lab=(95.0, 0.0, 0.0))
        with pytest.raises(InputError, match="times the light"):
            preview(flat_photo((12, 0, 0)), [area], PAINTS["red"], COATS_UM)


def test_the_ring_fades_coat_by_coat(board):
    areas = [PaintedArea(ALL), PaintedArea(board.ring, "bare")]
    wood = ~board.ring
    columns = slice(140, 160)
    seen = []
    for image in images(board.photo, areas, "white", (17.0, 34.0, 68.0)):
        lab = seen_lab(image[:, columns].astype(float))
        ring = lab[board.ring[:, columns]].mean(axis=0)
        seen.append(float(ciede2000(ring, lab[wood[:, columns]].mean(axis=0))))
    assert seen == sorted(seen, reverse=True)
    assert seen[0] > 10.0
    assert seen[-1] < 0.5


def test_a_picture_of_every_colour_is_reckoned_at_few_of_them(monkeypatch):
    # The model costs some 0.1 ms a colour: the work must follow the pixels, not the colours.
    asked = []

    def counted(light):
        asked.append(len(light))
        return surface_spectra(light)

    monkeypatch.setattr(preview_drawing, "surface_spectra", counted)
    noise = np.random.default_rng(1).integers(0, 256, (300, 400, 3), dtype=np.uint8)
    paint = PAINTS["yellow-green"]
    ready = preview(noise, [PaintedArea(ALL)], paint, (17.0, 51.0))
    frames = list(ready.frames())
    assert sum(asked) <= preview_drawing.MOST_NODES
    # Against the model itself, pixel by pixel.
    light = srgb_to_linear(noise[::30, ::40].reshape(-1, 3) / 255.0)
    root = ready.grounds[0].face.root(np.arange(300), 400).reshape(300, 400)
    shading = root[::30, ::40].reshape(-1, 1) ** 2.4
    true = painted_light(surface_spectra(light / shading), "coated", Coating(paint), (17.0, 51.0))
    for i, frame in enumerate(frames[1:]):
        found = frame.image[::30, ::40].reshape(-1, 3)
        apart = ciede2000(seen_lab(found), seen_lab(direct_codes(true[:, i] * shading)))
        assert np.quantile(apart, 0.95) < 1.5
