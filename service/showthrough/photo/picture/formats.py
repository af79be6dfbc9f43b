"""What kind of file some bytes are, told from their content and never from a name.

Source: the signatures of the formats' own standards (JPEG ITU T.81, PNG ISO 15948,
WebP RFC 9649, HEIF ISO 23008-12); the others are only named in messages.
"""

from __future__ import annotations

from pathlib import PurePath

READABLE = ("JPEG", "PNG", "WebP", "HEIC")
"""Picture files that are read."""

_HEIC_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1")

_SIGNATURES = (
    (b"\xff\xd8\xff", "JPEG"),
    (b"\x89PNG\r\n\x1a\n", "PNG"),
    (b"GIF8", "GIF"),
    (b"BM", "BMP"),
    (b"II*\x00", "TIFF or raw"),
    (b"MM\x00*", "TIFF or raw"),
    (b"8BPS", "layered image"),
    (b"%PDF", "PDF"),
    (b"PK\x03\x04", "zip"),
    (b"<", "text or web"),
)

_ENDINGS = {
    ".jpg": "JPEG",
    ".jpeg": "JPEG",
    ".png": "PNG",
    ".webp": "WebP",
    ".heic": "HEIC",
    ".heif": "HEIC",
    ".gif": "GIF",
    ".bmp": "BMP",
    ".tif": "TIFF or raw",
    ".tiff": "TIFF or raw",
    ".pdf": "PDF",
}


def format_of(data: bytes) -> str | None:
    """Name of the format that the first bytes announce, or None where they announce none."""
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "WebP"
    if data[4:8] == b"ftyp":
        brands = {data[8:12], *(data[i : i + 4] for i in range(16, min(len(data), 64), 4))}
        if brands & {b"avif", b"avis"}:
            return "AVIF"
        return "HEIC" if brands & set(_HEIC_BRANDS) else "video"
    return next((name for start, name in _SIGNATURES if data.startswith(start)), None)


def format_of_name(name: str) -> str | None:
    """Format that a file name's ending promises, or None where it promises none known."""
    return _ENDINGS.get(PurePath(name).suffix.lower())
