"""A photo is kept as the picture that it is: once, upright, and without a word of where and who."""

from __future__ import annotations

import hashlib
import io

import numpy as np
import pillow_heif
import pytest
from PIL import Image

from jobs.small_jobs import small_job
from records.pictures import CAMERA, PLACE, picture, told
from showthrough import ciede2000
from showthrough.colour.space import linear_to_srgb, srgb_to_lab
from showthrough.errors import ImageError, UnknownError
from showthrough.photo.picture.clean import cleaned, is_clean
from showthrough.photo.picture.load import load_picture
from showthrough.records.store.kept import jobs, photos

PERSONAL = (b"Ida", PLACE.encode(), CAMERA.encode(), b"2026", b"Exif", b"xmp", b"<x>")
PROFILE = b"acsp"  # the mark of a profile (ICC.1, 7.2.4)


def heic(*, exif=b""):
    image = Image.open(io.BytesIO(picture("PNG", size=(64, 48))))
    out = io.BytesIO()
    pillow_heif.from_pillow(image).save(out, quality=95, exif=exif)
    return out.getvalue()


FILES = {
    "JPEG": picture("JPEG", exif=True),
    "JPEG of runs": picture("JPEG", exif=True, progressive=True),
    "turned JPEG": picture("JPEG", exif=True, turn=6),
    "JPEG with more behind": picture("JPEG", exif=True) + b"Ida Invented",
    "PNG": picture("PNG", exif=True),
    "WebP": picture("WEBP", exif=True, lossless=True),
    "HEIC": heic(exif=told()),
}


@pytest.mark.parametrize("data", FILES.values(), ids=FILES)
def test_nothing_of_place_time_camera_or_person_is_left(data):
    assert any(sign in data for sign in PERSONAL)
    photo = cleaned(data)
    assert not [sign for sign in PERSONAL if sign in photo.content]
    kept = Image.open(io.BytesIO(photo.content))
    assert dict(kept.getexif()) == {}
    assert set(kept.info) <= {
        "icc_profile", "jfif", "jfif_version", "jfif_unit", "jfif_density", "progressive",
        "progression", "dpi", "adobe", "adobe_transform",
    }  # fmt: skip
    assert is_clean(photo.content)
    assert (photo.width, photo.height) == kept.size


@pytest.mark.parametrize("data", FILES.values(), ids=FILES)
def test_its_colours_are_read_as_before(data):
    before, after = load_picture(data), load_picture(cleaned(data).content)
    assert after.size == before.size
    # A colour is measured as the mean of many pixels; here of each quarter of the picture.
    pairs = zip(_quarters(before.linear), _quarters(after.linear), strict=True)
    assert max(float(ciede2000(*pair)) for pair in pairs) < 0.2


def _quarters(linear):
    rows, columns = linear.shape[0] // 2, linear.shape[1] // 2
    for top in (0, rows):
        for left in (0, columns):
            part = linear[top : top + rows, left : left + columns]
            yield srgb_to_lab(linear_to_srgb(np.clip(part.mean((0, 1)), 0.0, 1.0)))


@pytest.mark.parametrize("turn", range(1, 9))
def test_a_picture_that_lies_on_its_side_is_kept_upright(turn):
    data = picture("JPEG", exif=True, turn=turn)
    kept = Image.open(io.BytesIO(cleaned(data).content))
    # Pillow's own reading of the tag is the second opinion.
    from PIL import ImageOps

    upright = ImageOps.exif_transpose(Image.open(io.BytesIO(data)))
    assert kept.size == upright.size
    off = np.asarray(kept, dtype=int) - np.asarray(upright, dtype=int)
    assert np.abs(off).mean() < 1.0


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "HEIC"])
def test_the_profile_stays(kind):
    data = FILES[kind]
    assert (PROFILE in cleaned(data).content) == (PROFILE in data)


@pytest.mark.parametrize("data", FILES.values(), ids=FILES)
def test_a_clean_picture_stays_the_same_file(data):
    once = cleaned(data).content
    assert cleaned(once).content == once


def test_a_wide_gamut_without_a_profile_keeps_its_colours():
    image = Image.new("RGB", (64, 48), (40, 180, 60))
    out = io.BytesIO()
    heif = pillow_heif.from_pillow(image)
    nclx = {"color_primaries": 12, "transfer_characteristics": 13, "matrix_coefficients": 6,
            "full_range_flag": 1}  # fmt: skip
    heif.save(out, quality=-1, save_nclx_profile=True, **nclx)
    data = out.getvalue()
    before, after = load_picture(data), load_picture(cleaned(data).content)
    assert "P3" in before.profile
    seen = np.clip(before.linear.reshape(-1, 3).mean(0), 0, 1)
    assert after.linear.reshape(-1, 3).mean(0) == pytest.approx(seen, abs=0.01)


@pytest.mark.parametrize(
    "data", [b"", b"GIF89a" + bytes(40), picture("JPEG")[:200], picture("PNG", size=(8, 8))]
)
def test_what_cannot_be_measured_is_not_kept(store, data):
    jobs.add(store, small_job())
    with pytest.raises(ImageError):
        photos.add_photo(store, 1, data)
    assert jobs.opened(store, 1).photos == []


def test_a_photo_is_kept_once_by_the_hash_of_its_content(store):
    jobs.add(store, small_job())
    jobs.add(store, small_job())
    data = picture("JPEG", exif=True)
    first = photos.add_photo(store, 1, data, "door")
    content = photos.photo_content(store, first.sha256)
    assert hashlib.sha256(content).hexdigest() == first.sha256
    assert photos.add_photo(store, 1, data) == first
    assert photos.add_photo(store, 1, content, "left door").name == "left door"
    second = photos.add_photo(store, 2, data)
    assert second.sha256 == first.sha256
    assert [p.name for p in jobs.opened(store, 1).photos] == ["left door"]
    with pytest.raises(UnknownError, match="no photo has the hash"):
        photos.photo_content(store, "0" * 64)
    with pytest.raises(UnknownError):
        photos.add_photo(store, 9, data)
