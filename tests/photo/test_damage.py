"""Damaged picture files are refused; whole ones, of whatever content, are not."""

from __future__ import annotations

import io
import json
from pathlib import Path

import numpy as np
import pytest
import skimage.data
from PIL import Image
from scipy.ndimage import gaussian_filter

from showthrough.errors import ImageError
from showthrough.jobs.photos.photos import read_chip, read_surface
from showthrough.photo.picture import heic_damage
from showthrough.photo.picture.load import load_picture

FOLDER = Path(__file__).parents[2] / "examples" / "photos"
PHOTOS = json.loads((FOLDER / "truth.json").read_text("utf-8"))["photos"]

KINDS = [
    {"quality": 92, "subsampling": 0},
    {"quality": 75, "subsampling": 2},
    {"quality": 30, "subsampling": 1},
    {"quality": 75, "subsampling": 2, "progressive": True},
]
UNITS = {0: (8, 8), 1: (8, 16), 2: (16, 16)}
"""Rows and columns of pixels in a unit, by the kind of subsampling (T.81, A.2.4)."""


def jpeg(numbers, **options):
    out = io.BytesIO()
    Image.fromarray(np.clip(numbers, 0, 255).astype(np.uint8)).save(out, "JPEG", **options)
    return out.getvalue()


def scene(seed=1, size=(240, 320), *, bare=False):
    """A board with grain, unless bare a card and a chip on it, lit from one side, with noise."""
    rng = np.random.default_rng(seed)
    y, x = np.mgrid[0 : size[0], 0 : size[1]].astype(float)
    numbers = np.empty((*size, 3))
    numbers[:] = (150, 110, 80)
    numbers += 12.0 * np.sin(x / 5.0 + 2.0 * np.sin(y / 40.0))[..., None]
    if not bare:
        numbers[60:150, 30:120] = (235, 234, 230)
        numbers[70:160, 180:280] = (90, 150, 60)
    numbers *= (0.75 + 0.25 * x / size[1])[..., None]
    return numbers + rng.normal(0.0, 2.0, numbers.shape)


def flipped(data, bit):
    changed = bytearray(data)
    changed[bit // 8] ^= 1 << bit % 8
    return bytes(changed)


@pytest.mark.parametrize("bit", [53651, 63331, 66809, 127577, 143293, 184022, 8854])
def test_a_changed_bit_that_moved_the_answer_beyond_its_radius_is_refused(bit):
    # Each leaves a stream that decodes without a warning, or with one that is easily missed.
    data = (FOLDER / "door.jpg").read_bytes()
    with pytest.raises(ImageError, match="damaged"):
        read_surface(flipped(data, bit), PHOTOS["door.jpg"]["request"])


@pytest.mark.parametrize(
    ("name", "bit"),
    [
        ("drawdown.jpg", 62994),
        ("door.jpg", 178210),
        ("door.jpg", 165611),
        ("door.jpg", 8 * 635 + 6),
        ("door.jpg", 169221),
        ("door.jpg", 125066),
        ("door.jpg", 168862),
        ("door.jpg", 143114),
        ("door.jpg", 183245),
        ("door.jpg", 8 * 672 + 7),
    ],
)
def test_a_shift_that_the_picture_hides_in_part_is_refused(name, bit):
    # Black cannot step down by as much as the rest; most of it is black from there on; an edge
    # of the picture's own runs along the step, or just above it, or hides the jog in it; only the
    # first unit stands apart; the step is a slight one of 3 or 4 of 255.
    data = (FOLDER / name).read_bytes()
    with pytest.raises(ImageError, match="damaged"):
        load_picture(flipped(data, bit))


@pytest.mark.parametrize("options", KINDS)
@pytest.mark.parametrize("units", [1, 2, 4])
def test_a_shift_of_all_but_the_first_units_is_refused(options, units):
    whole = Image.fromarray(np.clip(scene(bare=True), 0, 255).astype(np.uint8))
    numbers = np.asarray(whole.convert("YCbCr")).astype(float)
    high, wide = UNITS[options["subsampling"]]
    numbers[:high, : units * wide] += (15, 0, 0)
    changed = Image.fromarray(np.clip(numbers, 0, 255).astype(np.uint8), mode="YCbCr")
    with pytest.raises(ImageError, match="damaged"):
        load_picture(jpeg(np.asarray(changed.convert("RGB")), **options))


@pytest.mark.parametrize("options", KINDS)
@pytest.mark.parametrize("at", [(16, 16), (16, 24), (13, 35), (20, 16), (40, 60)])
def test_a_thing_in_the_corner_is_no_damage(options, at):
    # A finger or a label, its edges as soft as a lens draws them.
    y, x = np.mgrid[0:240, 0:320].astype(float)
    thing = 1.0 / (1.0 + np.exp((np.maximum(y - at[0], x - at[1])) / 0.7))
    load_picture(jpeg(scene(bare=True) - 60.0 * thing[..., None], **options))


def segment(data, marker, number=0):
    """Place of the body of a segment of a JPEG (T.81, B.1.1.4)."""
    place = -1
    for _ in range(number + 1):
        place = data.index(marker, place + 1)
    return place + 4


@pytest.mark.parametrize("quality", [1, 12, 50, 80, 92, 97, 100])
@pytest.mark.parametrize("options", [{"subsampling": 0}, {"subsampling": 2, "progressive": True}])
def test_a_changed_step_of_the_means_is_refused(quality, options):
    # T.81, A.3.4: every mean of 8 x 8 pixels is told in these steps, so all colours move.
    data = jpeg(scene(), quality=quality, **options)
    load_picture(data)
    for table in (0, 1):
        place = segment(data, b"\xff\xdb", table) + 1
        for bit in range(8):
            with pytest.raises(ImageError):
                load_picture(flipped(data, 8 * place + bit))


@pytest.mark.parametrize("options", KINDS)
@pytest.mark.parametrize("component", [0, 1, 2])
def test_a_channel_that_takes_another_channels_steps_is_refused(options, component):
    # T.81, B.2.2: each channel of a frame names its table of steps.
    data = jpeg(scene(), **options)
    frame = segment(data, b"\xff\xc2" if options.get("progressive") else b"\xff\xc0")
    with pytest.raises(ImageError, match="damaged"):
        load_picture(flipped(data, 8 * (frame + 8 + 3 * component)))


@pytest.mark.parametrize("number", range(4))
def test_a_changed_meaning_of_a_code_is_refused(number):
    # T.81, F.1.2: a code means one size of number, up to 11 for means and 10 for the rest, and
    # no two codes mean the same. The usual tables (K.3) hold all meanings, so any change shows.
    data = jpeg(scene(size=(64, 160)), quality=85)
    place = segment(data, b"\xff\xc4", number)
    first, last = place + 17, place - 2 + int.from_bytes(data[place - 2 : place], "big")
    assert last - first in (12, 162)
    for bit in range(8 * first, 8 * last, 5):
        with pytest.raises(ImageError, match="damaged"):
            load_picture(flipped(data, bit))


def test_the_tables_of_many_encoders_are_read():
    # Annex K scaled with other roundings than libjpeg's, and tables that owe it nothing.
    numbers = np.clip(scene(), 0, 255).astype(np.uint8)
    usual = Image.open(io.BytesIO(jpeg(numbers, quality=50))).quantization
    for strength in np.geomspace(0.02, 2.0, 40):
        for rounding in (np.floor, np.ceil, np.rint):
            tables = [
                np.clip(rounding(np.array(usual[i]) * strength), 1, 255).astype(int).tolist()
                for i in (0, 1)
            ]
            load_picture(jpeg(numbers, qtables=tables))
    for table in ([3] * 64, list(range(1, 65)), [1] + [2] * 63):
        load_picture(jpeg(numbers, qtables=[table, table]))
        load_picture(jpeg(numbers, qtables=[table]))


@pytest.mark.parametrize("keep", [0.3, 0.6, 0.9])
def test_a_cut_file_that_was_closed_with_an_end_mark_is_refused(keep):
    data = (FOLDER / "chip-daylight.jpg").read_bytes()
    cut = data[: int(keep * len(data))] + b"\xff\xd9"
    with pytest.raises(ImageError, match=r"damaged.*again"):
        read_chip(cut, PHOTOS["chip-daylight.jpg"]["request"])


@pytest.mark.parametrize("options", KINDS)
@pytest.mark.parametrize("place", [(0, 15), (5, 3), (7, 15), (9, 9)])
@pytest.mark.parametrize("by", [(8, 0, 0), (0, 0, -10)])
def test_a_shift_of_all_that_follows_a_unit_is_refused(options, place, by):
    # T.81: a unit's mean is coded as a difference, so that a wrong one moves all later ones.
    whole = Image.fromarray(np.clip(scene(bare=True), 0, 255).astype(np.uint8))
    numbers = np.asarray(whole.convert("YCbCr")).astype(float)
    high, wide = UNITS[options["subsampling"]]
    row, column = place[0] * high, place[1] * wide
    numbers[row : row + high, column:] += by
    numbers[row + high :] += by
    shifted = Image.fromarray(np.clip(numbers, 0, 255).astype(np.uint8), mode="YCbCr")
    with pytest.raises(ImageError, match="damaged"):
        load_picture(jpeg(np.asarray(shifted.convert("RGB")), **options))


@pytest.mark.parametrize("options", KINDS)
@pytest.mark.parametrize("seed", range(3))
def test_whole_photos_are_read(options, seed):
    load_picture(jpeg(scene(seed), **options))
    load_picture(jpeg(scene(seed).mean(axis=2), **{**options, "subsampling": 0}))


@pytest.mark.parametrize(
    ("name", "corner", "quality", "subsampling", "size"),
    [
        ("astronaut", (0, 0), 50, 2, 1.0),
        ("coins", (30, 17), 37, 1, 0.5),
        ("coins", (47, 13), 64, 2, 1.0),
        ("coins", (32, 36), 74, 2, 0.5),
        ("immunohistochemistry", (22, 49), 38, 2, 0.5),
        ("gravel", (51, 7), 91, 1, 0.5),
        ("page", (13, 26), 62, 1, 1.0),
        ("brick", (37, 51), 94, 0, 0.7),
        ("cat", (48, 8), 60, 1, 0.5),
    ],
)
def test_real_photos_with_edges_where_units_meet_are_read(name, corner, quality, subsampling, size):
    # Photos that come with scikit-image.
    whole = Image.fromarray(getattr(skimage.data, name)()).convert("RGB")
    cut = whole.crop((*corner, *whole.size))
    small = cut.resize((int(cut.width * size), int(cut.height * size)))
    load_picture(jpeg(np.asarray(small), quality=quality, subsampling=subsampling))


@pytest.mark.parametrize(
    "name", ["chart_frame.jpg", "chart_shade.jpg", "chart_glare.jpg", "chart_corner.jpg"]
)
def test_the_frame_of_a_chart_is_no_damage(name):
    # Simulated photos of tests/reference/camera_trials.py: where the frame's lower edge and the
    # chip's lie one unit apart a slight step in chroma seems to run on from one to the other, and
    # the sides of the chart go on across every line.
    load_picture((Path(__file__).parent / name).read_bytes())


@pytest.mark.parametrize("options", KINDS)
def test_strong_edges_across_the_picture_are_no_damage(options):
    y, x = np.mgrid[0:240, 0:320].astype(float)
    for rise in (-200.0, -17.0, -3.0, 0.0, 5.0, 12.0, 16.0, 24.0, 90.0):
        for level in (96.0, 101.5, 120.0):
            # A table's edge, soft as a lens draws it, rising or falling to the right.
            edge = 1.0 / (1.0 + np.exp(-(y - level + rise * x / 320.0) / 0.7))
            load_picture(
                jpeg(60.0 + 120.0 * edge[..., None] * np.array([1.0, 0.8, 0.5]), **options)
            )


@pytest.mark.parametrize("options", KINDS)
@pytest.mark.parametrize("row", [48, 112, 176])
@pytest.mark.parametrize("softness", [0.02, 0.3, 0.7])
def test_an_edge_where_rows_of_units_meet_is_no_damage(options, row, softness):
    # A shadow or a band of paint over upright grain, which goes on across it.
    rng = np.random.default_rng(row)
    y = np.arange(240.0)[:, None]
    edge = 1.0 / (1.0 + np.exp(np.clip(-(y - row + 0.5) / softness, -50, 50)))
    grain = gaussian_filter(rng.normal(size=(240, 320)), (12, 1.0))
    numbers = np.full((240, 320, 3), (150.0, 120.0, 90.0)) + 4.0 * (grain / grain.std())[..., None]
    numbers -= edge[..., None] * (25.0, 22.0, 18.0)
    load_picture(jpeg(numbers + rng.normal(0.0, 1.5, numbers.shape), **options))


@pytest.mark.parametrize(
    ("seed", "kind"),
    [(19, 2), (23, 2), (34, 1), (34, 2), (34, 3), (37, 2), (44, 0), (44, 2), (45, 2), (47, 2)],
)
def test_fine_level_grain_is_no_damage(seed, kind):
    # Streaks along the rows step at every line of pixels, those where units meet among them.
    rng = np.random.default_rng(seed)
    grain = gaussian_filter(rng.normal(size=(300, 400)), rng.uniform((0.5, 20), (2, 120)))
    grain *= rng.uniform(4.0, 18.0) / grain.std()
    numbers = np.full((300, 400, 3), (160.0, 125.0, 95.0)) + grain[..., None] * (1.0, 0.9, 0.75)
    load_picture(jpeg(numbers + rng.normal(0.0, 1.5, numbers.shape), **KINDS[kind]))


@pytest.mark.parametrize("options", KINDS)
@pytest.mark.parametrize("column", [48, 160, 256])
def test_a_step_in_a_drawing_is_no_damage(options, column):
    # Hard edges where units meet, with a jog between: even on both sides, as no photo is.
    numbers = np.full((240, 320, 3), (150.0, 120.0, 90.0))
    numbers[96:112, column:] = numbers[112:] = (180.0, 140.0, 100.0)
    load_picture(jpeg(numbers, **options))


@pytest.mark.parametrize("name", [name for name in PHOTOS if name.endswith("jpg")])
def test_the_example_photos_are_read_however_they_are_saved_anew(name):
    for options in KINDS:
        load_picture(jpeg(np.asarray(Image.open(FOLDER / name)), **options))


def test_zeros_before_the_end_mark_are_no_damage():
    # Some phones fill their files up so (from memory).
    data = jpeg(scene())
    assert data.endswith(b"\xff\xd9")
    load_picture(data[:-2] + b"\0" * 24 + b"\xff\xd9")
    with pytest.raises(ImageError, match="damaged"):
        load_picture(data[:-2] + b"\x35" * 24 + b"\xff\xd9")


def test_a_png_whose_check_sum_is_wrong_is_refused():
    # ISO/IEC 15948, 5.3: every chunk ends with a CRC of its name and data.
    data = (FOLDER / "chip-alone.png").read_bytes()
    place = data.index(b"IDAT")
    end = place + 4 + int.from_bytes(data[place - 4 : place], "big")
    with pytest.raises(ImageError, match="damaged"):
        load_picture(flipped(data, 8 * end))


def heic(numbers, **options):
    import pillow_heif

    out = io.BytesIO()
    picture = Image.fromarray(np.clip(numbers, 0, 255).astype(np.uint8))
    pillow_heif.from_pillow(picture).save(out, **options)
    return out.getvalue()


HEIC_KINDS = [
    {"quality": 85},
    {"quality": 40, "chroma": "444"},
    {"quality": 85, "enc_params": {"x265:wpp": "0"}},
    {"quality": 85, "tile_size": 128},
    {"quality": 85, "thumbnails": [96]},
]
"""Rows that begin afresh, colour in full, one run, tiles as phones write them, a thumbnail."""


@pytest.mark.parametrize("options", HEIC_KINDS)
def test_a_changed_bit_in_a_heic_file_is_mostly_found(options):
    # H.265, 7.3.8.1: a reader that has lost its place misses the mark after a row or slice.
    data = heic(scene(), **options)
    load_picture(data)
    first = data.index(b"mdat") + 8
    bits = np.random.default_rng(5).integers(8 * first, 8 * len(data), 40)
    refused = []
    for bit in bits.tolist():
        try:
            load_picture(flipped(data, bit))
        except ImageError as error:
            refused.append(str(error))
    assert len(refused) >= 32
    assert all("damaged" in words for words in refused)


@pytest.mark.parametrize("bit", [6753, 38344, 54960, 91829, 111973, 137521, 178812, 276652])
def test_a_heic_file_whose_end_comes_too_early_is_refused(bit):
    # H.265, 7.3.8.1: a reader that has lost its place may find the mark of the end of a slice;
    # what follows is never written, and holds whatever the memory held.
    with pytest.raises(ImageError, match="damaged"):
        load_picture(flipped(heic(scene(), quality=85), bit))


def test_where_a_heic_file_cannot_be_checked_its_answer_says_so(monkeypatch):
    data = heic(scene(), quality=85)
    assert load_picture(data).notes == ()
    monkeypatch.setattr(heic_damage, "_decoder", lambda: None)
    assert any("cannot be found" in note for note in load_picture(data).notes)
