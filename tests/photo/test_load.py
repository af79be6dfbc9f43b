"""Reading photo files: formats, orientation, profiles, and files that are no photos."""

from __future__ import annotations

import io
import struct
import zlib

import numpy as np
import pytest
from PIL import Image, ImageCms, ImageOps, PngImagePlugin

from showthrough.colour.space import srgb_to_linear
from showthrough.errors import ImageError
from showthrough.photo.picture import load
from showthrough.photo.picture.load import load_picture

GREEN = (90, 150, 60)


def saved(image, kind="PNG", **options):
    out = io.BytesIO()
    image.save(out, kind, **options)
    return out.getvalue()


def plain(colour=GREEN, size=(40, 30), mode="RGB"):
    return Image.new(mode, size, colour)


def png(width, height, bit_depth, colour_type, rows):
    """A PNG written by hand, for kinds that Pillow does not write."""

    def chunk(name, body):
        return (
            struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))
        )

    header = struct.pack(">IIBBBBB", width, height, bit_depth, colour_type, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", header)
        + chunk(b"IDAT", zlib.compress(b"".join(b"\0" + row for row in rows)))
        + chunk(b"IEND", b"")
    )


def heic(image, **options):
    import pillow_heif

    out = io.BytesIO()
    pillow_heif.from_pillow(image).save(out, quality=95, **options)
    return out.getvalue()


def rgb_matrix_profile(primaries, gamma=2.2):
    """An RGB profile with given primaries, D65 white, made here and not by the module."""
    import colour

    space = colour.RGB_Colourspace("made", primaries, [0.3127, 0.3290], "D65")
    to_d50 = colour.adaptation.matrix_chromatic_adaptation_VonKries(
        space.matrix_RGB_to_XYZ @ np.ones(3), [0.9642, 1.0, 0.8249], transform="Bradford"
    )
    columns = (to_d50 @ space.matrix_RGB_to_XYZ).T

    def xyz(values):
        numbers = [round(float(v) * 65536) for v in values]
        return b"XYZ \0\0\0\0" + struct.pack(">3i", *numbers)

    curve = b"curv\0\0\0\0" + struct.pack(">IH", 1, round(gamma * 256)) + b"\0\0"
    text = b"made\0"
    bodies = {
        b"desc": b"desc\0\0\0\0" + struct.pack(">I", len(text)) + text + b"\0" * 79,
        b"wtpt": xyz([0.9642, 1.0, 0.8249]),
        b"cprt": b"text\0\0\0\0none",
        b"rXYZ": xyz(columns[0]),
        b"gXYZ": xyz(columns[1]),
        b"bXYZ": xyz(columns[2]),
        b"rTRC": curve,
        b"gTRC": curve,
        b"bTRC": curve,
    }
    start = 128 + 4 + 12 * len(bodies)
    table, data = struct.pack(">I", len(bodies)), b""
    for name, body in bodies.items():
        table += name + struct.pack(">II", start + len(data), len(body))
        data += body + b"\0" * (-len(body) % 4)
    head = bytearray(128)
    head[0:4] = struct.pack(">I", start + len(data))
    head[8:12] = b"\x02\x10\0\0"
    head[12:24] = b"mntrRGB XYZ "
    head[36:40] = b"acsp"
    head[68:80] = struct.pack(">3i", 63190, 65536, 54061)
    return bytes(head) + table + data


def middle(picture):
    height, width = picture.linear.shape[:2]
    return picture.linear[height // 4 : -height // 4, width // 4 : -width // 4].mean((0, 1))


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "WEBP"])
def test_a_plain_picture_becomes_the_linear_light_of_its_srgb_numbers(kind):
    options = {} if kind == "PNG" else {"quality": 98}
    picture = load_picture(saved(plain(), kind, **options))
    assert picture.size == (40, 30)
    assert picture.linear.dtype == np.float32
    np.testing.assert_allclose(middle(picture), srgb_to_linear(np.array(GREEN) / 255), atol=0.006)
    assert not picture.clipped_high.any()
    assert "The file names no colour profile; it is read as sRGB." in picture.notes


def test_a_heic_picture_is_read_and_already_upright():
    exif = Image.Exif()
    exif[0x0112] = 6
    picture = load_picture(heic(plain(size=(64, 48)), exif=exif.tobytes()), name="a.heic")
    # The encoder writes the turn as a property of the picture, which the decoder undoes.
    assert picture.size in {(48, 64), (64, 48)}
    np.testing.assert_allclose(middle(picture), srgb_to_linear(np.array(GREEN) / 255), atol=0.01)


@pytest.mark.parametrize("turn", range(1, 9))
def test_every_exif_orientation_is_undone_as_pillow_does(turn):
    rng = np.random.default_rng(turn)
    image = Image.fromarray(rng.integers(0, 255, (20, 32, 3), dtype=np.uint8))
    exif = Image.Exif()
    exif[0x0112] = turn
    data = saved(image, exif=exif)
    upright = np.asarray(ImageOps.exif_transpose(Image.open(io.BytesIO(data))))
    picture = load_picture(data)
    np.testing.assert_allclose(picture.linear, srgb_to_linear(upright / 255.0), atol=1e-6)


def test_a_damaged_exif_block_leaves_the_picture_upright():
    picture = load_picture(saved(plain(), "JPEG", exif=b"Exif\0\0II*\0\xff\xff\xff\xff"))
    assert picture.size == (40, 30)


def test_nothing_of_where_the_photo_was_taken_is_kept():
    exif = Image.Exif()
    exif[0x8825] = {1: "N", 2: (47.0, 11.0, 0.0)}
    exif[0x010E] = "the yard behind the house"
    picture = load_picture(saved(plain(), "JPEG", exif=exif))
    text = repr([getattr(picture, f) for f in ("profile", "notes", "bits")])
    assert "yard" not in text
    assert "47" not in text


def test_a_wide_gamut_profile_keeps_colours_outside_srgb():
    # SMPTE EG 432-1 primaries; the vivid green of a phone's screen lies outside sRGB.
    icc = rgb_matrix_profile([[0.68, 0.32], [0.265, 0.69], [0.15, 0.06]])
    picture = load_picture(saved(plain((20, 240, 30)), icc_profile=icc))
    import colour

    linear = colour.RGB_to_RGB(
        (np.array([20, 240, 30]) / 255) ** (round(2.2 * 256) / 256),
        colour.RGB_COLOURSPACES["P3-D65"],
        colour.RGB_COLOURSPACES["sRGB"],
    )
    assert linear[0] < -0.05
    np.testing.assert_allclose(middle(picture), linear, atol=0.01)
    assert picture.profile == "made"


def test_an_embedded_srgb_profile_changes_nothing():
    icc = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    picture = load_picture(saved(plain(), icc_profile=icc))
    np.testing.assert_allclose(middle(picture), srgb_to_linear(np.array(GREEN) / 255), atol=1e-6)
    assert "srgb" in picture.profile.lower()
    assert picture.notes == ()


def test_a_profile_that_cannot_be_used_is_answered_with_a_note():
    picture = load_picture(saved(plain(), icc_profile=b"no profile at all" * 20))
    assert "The embedded colour profile cannot be used; the picture is read as sRGB." in (
        picture.notes
    )


def test_16_bit_colour_and_grey_are_read_and_said():
    row = struct.pack(">60H", *([90 * 257, 150 * 257, 60 * 257] * 20))
    colour_picture = load_picture(png(20, 20, 16, 2, [row] * 20))
    assert colour_picture.bits == 16
    np.testing.assert_allclose(
        middle(colour_picture), srgb_to_linear(np.array(GREEN) / 255), atol=1e-6
    )
    grey = load_picture(png(20, 20, 16, 0, [struct.pack(">20H", *[128 * 257] * 20)] * 20))
    assert grey.bits == 16
    np.testing.assert_allclose(middle(grey), srgb_to_linear(np.full(3, 128 / 255)), atol=1e-6)
    assert "The file holds 16 bits per channel; it is read at 8." in grey.notes


def test_a_greyscale_picture_is_read_with_a_word_on_what_it_lacks():
    picture = load_picture(saved(plain(120, mode="L")))
    np.testing.assert_allclose(middle(picture), srgb_to_linear(np.full(3, 120 / 255)), atol=1e-6)
    assert any("greyscale" in note for note in picture.notes)


def test_a_palette_picture_is_read_by_its_colours():
    picture = load_picture(saved(plain().quantize(4)))
    np.testing.assert_allclose(middle(picture), srgb_to_linear(np.array(GREEN) / 255), atol=0.01)


def test_see_through_parts_are_not_measured_and_opaque_alpha_changes_nothing():
    image = plain((*GREEN, 255), mode="RGBA")
    opaque = load_picture(saved(image))
    assert not opaque.clipped_high.any()
    image.paste((255, 255, 255, 0), (0, 0, 20, 30))
    picture = load_picture(saved(image))
    assert picture.clipped_high[:, :20].all()
    assert not picture.clipped_high[:, 20:].any()
    assert "See-through parts of the picture are not measured." in picture.notes


def test_printing_inks_need_a_profile():
    with pytest.raises(ImageError, match=r"printing inks \(CMYK\)"):
        load_picture(saved(plain((10, 20, 30, 0), mode="CMYK"), "JPEG"))


def test_an_animated_picture_gives_its_first_frame_with_a_note():
    frames = [plain(), plain((200, 0, 0))]
    data = saved(frames[0], "WEBP", save_all=True, append_images=frames[1:], lossless=True)
    picture = load_picture(data)
    np.testing.assert_allclose(middle(picture), srgb_to_linear(np.array(GREEN) / 255), atol=0.01)
    assert any("animated (2 frames)" in note for note in picture.notes)


def test_a_phone_file_with_a_second_picture_is_its_first_picture():
    data = saved(plain(), "MPO", save_all=True, append_images=[plain((9, 9, 9))], quality=98)
    picture = load_picture(data, name="photo.jpg")
    np.testing.assert_allclose(middle(picture), srgb_to_linear(np.array(GREEN) / 255), atol=0.01)
    assert not any("animated" in note for note in picture.notes)


def test_the_content_decides_and_a_wrong_name_is_noted():
    picture = load_picture(saved(plain()), name="chip.jpg")
    assert "The file is called a JPEG but holds a PNG picture; read as PNG." in picture.notes


@pytest.mark.parametrize(
    ("data", "named"),
    [
        (b"", "empty"),
        (saved(plain(), "GIF"), "GIF"),
        (saved(plain(), "TIFF"), "TIFF"),
        (saved(plain(), "BMP"), "BMP"),
        (b"%PDF-1.7 something", "PDF"),
        (b"<svg xmlns='x'/>", "text or web"),
        (b"\0\0\0\x18ftypmp42\0\0\0\0mp42", "video"),
        (b"just words", "no picture file"),
    ],
)
def test_other_files_are_named_and_refused(data, named):
    with pytest.raises(ImageError, match=named) as caught:
        load_picture(data, name="chip.jpg")
    assert "JPEG, PNG, WebP, HEIC" in str(caught.value)
    assert caught.value.problems[0].field == "chip.jpg"


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "WEBP", "HEIC"])
def test_a_file_cut_short_is_refused(kind):
    rng = np.random.default_rng(1)
    image = Image.fromarray(rng.integers(0, 255, (90, 120, 3), dtype=np.uint8))
    data = heic(image) if kind == "HEIC" else saved(image, kind)
    for keep in (0.02, 0.3, 0.7):
        with pytest.raises(ImageError, match=r"damaged|no picture"):
            load_picture(data[: max(20, int(keep * len(data)))])


def test_a_tiny_picture_cannot_carry_a_measurement():
    with pytest.raises(ImageError, match="1 x 1 pixels; at least 16 x 16"):
        load_picture(saved(plain(size=(1, 1))))


def test_too_many_pixels_are_refused_from_the_header_alone():
    # The header of a 60-megapixel picture with almost nothing behind it.
    with pytest.raises(ImageError, match=r"10000 x 6000 pixels.*50 megapixels"):
        load_picture(png(10_000, 6_000, 8, 2, [b"\0"]))


def test_a_decompression_bomb_is_refused_before_it_unpacks():
    with pytest.raises(ImageError, match="50 megapixels"):
        load_picture(png(60_000, 60_000, 1, 0, [b"\0" * 7500]))
    with pytest.raises(ImageError, match="50 megapixels"):
        load_picture(png(11_000, 10_000, 8, 2, [b"\0"]))
    info = PngImagePlugin.PngInfo()
    info.add_text("bomb", "x" * 80_000_000, zip=True)
    with pytest.raises(ImageError, match="damaged"):
        load_picture(saved(plain(), pnginfo=info))


def test_a_file_of_too_many_bytes_is_refused(monkeypatch):
    monkeypatch.setattr(load, "MAX_BYTES", 50)
    with pytest.raises(ImageError, match="up to 0 MB are read"):
        load_picture(saved(plain()))


@pytest.mark.parametrize("kind", ["PNG", "JPEG"])
def test_a_large_picture_is_averaged_over_squares_of_pixels(kind):
    rng = np.random.default_rng(3)
    numbers = rng.integers(60, 200, (1000, 1400, 3), dtype=np.uint8)
    numbers[:500, :700] = 255
    picture = load_picture(saved(Image.fromarray(numbers), kind), max_pixels=100_000)
    width, height = picture.size
    assert width * height <= 100_000
    assert picture.clipped_high[: height // 2 - 1, : width // 2 - 1].all()
    assert not picture.clipped_high[height // 2 + 1 :, width // 2 + 1 :].any()
    expected = srgb_to_linear(numbers[500:, 700:] / 255.0).mean((0, 1))
    found = picture.linear[height // 2 + 2 :, width // 2 + 2 :].mean((0, 1))
    # JPEG averages before the curve is undone, which darkens pure noise a little.
    np.testing.assert_allclose(found, expected, rtol=0.01 if kind == "PNG" else 0.15)


def test_pixels_clipped_high_and_clipped_low_are_marked():
    image = plain()
    image.paste((255, 180, 90), (0, 0, 10, 30))
    image.paste((120, 180, 0), (30, 0, 40, 30))
    picture = load_picture(saved(image))
    assert picture.clipped_high[:, :10].all()
    assert not picture.clipped_high[:, 10:].any()
    assert picture.clipped_low[:, 30:].all()
    assert not picture.clipped_low[:, :30].any()


def test_the_same_bytes_give_the_same_arrays():
    data = saved(plain(), "JPEG")
    one, two = load_picture(data), load_picture(data)
    np.testing.assert_array_equal(one.linear, two.linear)


def test_a_large_picture_takes_little_memory_of_our_own():
    import tracemalloc

    data = saved(plain(size=(4000, 3000)), compress_level=1)
    tracemalloc.start()
    picture = load_picture(data)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert picture.linear.nbytes < 50e6
    # The decoder's own 36 MB are not traced; strips and the result are.
    assert peak < 120e6


def test_a_png_damaged_in_its_middle_is_refused_not_read_as_black():
    out = io.BytesIO()
    noise = np.random.default_rng(1).integers(0, 255, (80, 80, 3), dtype=np.uint8)
    Image.fromarray(noise).save(out, "PNG")
    data = bytearray(out.getvalue())
    data[5000] ^= 0xFF
    with pytest.raises(ImageError):
        load_picture(bytes(data))


def test_messages_on_files_that_are_not_read_are_words_for_a_painter():
    with pytest.raises(ImageError, match="this is an AVIF file"):
        load_picture(b"\0\0\0\x18ftypavif\0\0\0\0avif")
    with pytest.raises(ImageError, match="damaged") as caught:
        load_picture(b"\xff\xd8\xff\xe0 nothing that follows", name="chip.jpg")
    assert "BytesIO" not in str(caught.value)
    assert "0x" not in str(caught.value)
