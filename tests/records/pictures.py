"""Small invented photos, with and without what a camera says of itself and its place."""

from __future__ import annotations

import io
from functools import cache

import numpy as np
from PIL import Image, ImageCms

PLACE = "49 deg 30 min north"
CAMERA = "Invented Camera 7"


@cache
def profile():
    """One for all: a profile holds the second in which it was made."""
    return ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def picture(kind, seed=0, *, exif=False, turn=1, size=(32, 24), **more):
    """A file of a few smooth colours; with ``exif``, of a place, a camera, a moment, a person."""
    rows, columns = np.mgrid[0 : size[1], 0 : size[0]]
    rgb = np.stack([90 + 3 * columns, 80 + 2 * rows, 60 + 20 * seed + 0 * rows], axis=-1)
    image = Image.fromarray(rgb.astype(np.uint8))
    if exif:
        more |= {"exif": told(turn)}
        if kind == "JPEG":
            more |= {"comment": b"painted for Ida Invented", "xmp": b"<x>Ida Invented</x>"}
    out = io.BytesIO()
    image.save(out, kind, **{"icc_profile": profile(), "quality": 95, **more})
    return out.getvalue()


def told(turn=1):
    """EXIF that says much."""
    exif = Image.Exif()
    exif[0x010F] = CAMERA
    exif[0x0112] = turn
    exif[0x013B] = "Ida Invented"
    exif.get_ifd(0x8825)[0x001D] = "2026:05:31"
    exif.get_ifd(0x8825)[0x001B] = PLACE.encode()
    exif.get_ifd(0x8769)[0x9003] = "2026:05:31 08:30:00"
    return exif.tobytes()
