"""The body of a request: read no further than it may be, and parted where it is a form of parts."""

from __future__ import annotations

from collections.abc import AsyncGenerator
from dataclasses import dataclass

from fastapi import Request
from starlette.datastructures import UploadFile
from starlette.formparsers import MultiPartException, MultiPartParser

from showthrough.errors import InputError


@dataclass(frozen=True, slots=True)
class SentFile:
    """A file that came as a part."""

    name: str
    """As the sender calls it; may be empty."""
    content: bytes


_MOST_IN_MEMORY = 16_000_000
"""A larger file waits in a nameless temporary file, which ends with the request."""


async def read_limited(request: Request, most: int) -> bytes:
    """The body, read no further than it may be; not at all where it says that it is longer."""
    return b"".join([chunk async for chunk in _limited(request, most)])


async def _limited(request: Request, most: int) -> AsyncGenerator[bytes]:
    size = 0
    stated = request.headers.get("content-length", "")
    check_length(int(stated) if stated.isdecimal() else 0, most)
    async for chunk in request.stream():
        size += len(chunk)
        check_length(size, most)
        yield chunk


def check_length(size: int, most: int) -> None:
    """Raises InputError with the code ``too_large`` where a body has more bytes than it may."""
    if size > most:
        told = f"a picture or file sent here has at most {most / 1e6:g} MB: send a smaller one"
        raise InputError.at("body", f"over {most} bytes", told, "too_large")


def is_multipart(request: Request) -> bool:
    """Whether the body says that it is a form of parts."""
    return request.headers.get("content-type", "").startswith("multipart/form-data")


async def parts_of(
    request: Request, most: int, *, files: int, fields: int, field_bytes: int = 1024 * 1024
) -> list[tuple[str, str | SentFile]]:
    """Names and contents of the parts of a body, in order.

    Args:
        request: not yet read.
        most: bytes of the body.
        files: files that may be among the parts.
        fields: texts that may be.
        field_bytes: bytes of one text.

    Raises:
        InputError: the body is too large, or no such form.
    """
    try:
        parser = MultiPartParser(
            request.headers,
            _limited(request, most),
            max_files=files,
            max_fields=fields,
            max_part_size=field_bytes,
        )
        parser.spool_max_size = _MOST_IN_MEMORY
        form = await parser.parse()
    except (MultiPartException, KeyError, UnicodeDecodeError) as error:
        kind = request.headers.get("content-type", "")
        raise InputError.at("body", kind, f"not a multipart form: {error}") from error
    try:
        return [
            (name, SentFile(part.filename or "", await part.read()))
            if isinstance(part, UploadFile)
            else (name, part)
            for name, part in form.multi_items()
        ]
    finally:
        await form.close()
