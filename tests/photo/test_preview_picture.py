"""Preview pictures put side by side and saved."""

from __future__ import annotations

import io
import struct

import numpy as np
import pytest
from PIL import Image

from showthrough.colour.space import srgb_to_lab
from showthrough.errors import ImageError
from showthrough.photo.preview.picture import GROUND_CODE, encode_picture, side_by_side


def flat(code, height=6, width=4):
    return np.full((height, width, 3), code, dtype=np.uint8)


class TestSideBySide:
    def test_pictures_touch_edge_to_edge_in_order(self):
        sheet = side_by_side([flat(10), flat(20), flat(30)])
        assert sheet.shape == (6, 12, 3)
        assert [int(v) for v in sheet[0, :, 0]] == [10] * 4 + [20] * 4 + [30] * 4

    def test_rows_fill_from_the_top_and_the_rest_stays_neutral_grey(self):
        sheet = side_by_side([flat(10), flat(20), flat(30)], columns=2)
        assert sheet.shape == (12, 8, 3)
        assert (sheet[6:, :4] == 30).all()
        assert (sheet[6:, 4:] == GROUND_CODE).all()
        # ISO 3668: a neutral surround of L* 65-80 (as the project's page has it).
        assert 65 < srgb_to_lab([GROUND_CODE / 255] * 3)[0] < 80

    def test_large_pictures_are_averaged_down(self):
        picture = np.zeros((40, 20, 3), dtype=np.uint8)
        picture[::2] = 100
        sheet = side_by_side([picture, picture], height_px=20)
        assert sheet.shape == (20, 20, 3)
        assert (sheet == 50).all()

    def test_takes_pictures_one_at_a_time(self):
        alive = []

        def pictures():
            for code in range(3):
                picture = flat(code)
                alive.append(code)
                yield picture

        side_by_side(pictures())
        assert alive == [0, 1, 2]

    def test_refuses_nothing_and_pictures_of_different_size(self):
        with pytest.raises(ImageError, match="at least one"):
            side_by_side([])
        with pytest.raises(ImageError, match="one size"):
            side_by_side([flat(1), flat(2, width=5)])
        with pytest.raises(ImageError, match="columns"):
            side_by_side([flat(1)], columns=0)
        with pytest.raises(ImageError, match="height_px"):
            side_by_side([flat(1)], height_px=0)


class TestFile:
    PICTURE = np.random.default_rng(0).integers(0, 256, (30, 40, 3)).astype(np.uint8)

    def test_png_holds_the_pixels_exactly_and_nothing_else(self):
        # ISO 15948: a file is a signature and chunks of length, name, body, check.
        data = encode_picture(self.PICTURE)
        names, place = [], 8
        while place < len(data):
            (length,) = struct.unpack(">I", data[place : place + 4])
            names.append(data[place + 4 : place + 8])
            place += 12 + length
        assert set(names) == {b"IHDR", b"IDAT", b"IEND"}
        assert np.array_equal(np.asarray(Image.open(io.BytesIO(data))), self.PICTURE)

    def test_jpeg_holds_no_words_places_or_profile(self):
        smooth = np.kron(self.PICTURE[:4, :5], np.ones((8, 8, 1), dtype=np.uint8))
        data = encode_picture(smooth, "jpeg")
        image = Image.open(io.BytesIO(data))
        assert image.format == "JPEG"
        assert set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
        assert not image.getexif()
        assert np.abs(np.asarray(image).astype(int) - smooth).mean() < 4

    def test_other_kinds_and_too_wide_jpegs_are_refused(self):
        with pytest.raises(ImageError, match="png"):
            encode_picture(self.PICTURE, "gif")
        with pytest.raises(ImageError, match="JPEG"):
            encode_picture(flat(0, 1, 70_000), "jpeg")
