"""Routes that take a photo: multipart, the picture as ``photo``, JSON as ``request``."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import AsyncIterator
from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response
from pydantic import BaseModel
from starlette.datastructures import UploadFile
from starlette.formparsers import MultiPartException, MultiPartParser

from showthrough.errors import InputError, shown
from showthrough.jobs.photo_schema import (
    ChipAnswer,
    ChipRequest,
    DrawdownAnswer,
    DrawdownRequest,
    PreviewRequest,
    SurfaceAnswer,
    SurfaceRequest,
)
from showthrough.jobs.photos import read_chip, read_drawdown, read_surface
from showthrough.jobs.preview import draw_preview
from showthrough.jobs.schema import EXAMPLE_JOB
from showthrough.photo.preview_picture import encode_picture
from showthrough.web.api import REFUSALS, read_limited

router = APIRouter(prefix="/api")

MOST_BODY_BYTES = 100_000_000

BODY_MODELS: tuple[type[BaseModel], ...] = (
    ChipRequest,
    SurfaceRequest,
    DrawdownRequest,
    PreviewRequest,
)


class InMemoryParser(MultiPartParser):
    """Keeps a photo out of the temporary folder: the body is held in memory already."""

    spool_max_size = MOST_BODY_BYTES + 1


@dataclass(frozen=True, slots=True)
class PhotoForm:
    """What came: the picture, if any, and the request beside it."""

    photo: bytes | None
    name: str
    request: Any

    def needed(self) -> bytes:
        """The picture, or an error where it is missing."""
        if self.photo is None:
            raise InputError.at("photo", "", "a picture is needed: send it as the part photo")
        return self.photo


async def photo_form(request: Request) -> PhotoForm:
    """The parts of a multipart body; a JSON body is a request without a picture."""
    raw = await read_limited(request, MOST_BODY_BYTES)
    kind = request.headers.get("content-type", "")
    if not kind.startswith("multipart/form-data"):
        return PhotoForm(None, "photo", _json(raw))

    async def stream() -> AsyncIterator[bytes]:
        yield raw

    try:
        parser = InMemoryParser(request.headers, stream(), max_files=1, max_fields=2)  # type: ignore[arg-type]
        form = await parser.parse()
    except (MultiPartException, KeyError, UnicodeDecodeError) as error:
        raise InputError.at("body", kind, f"not a multipart form: {error}") from error
    photo = form.get("photo")
    text = form.get("request")
    data, name = None, "photo"
    if isinstance(photo, UploadFile):
        data, name = await photo.read(), photo.filename or "photo"
    elif photo is not None:
        raise InputError.at("photo", shown(photo), "must be a file")
    if isinstance(text, UploadFile):
        text = (await text.read()).decode("utf-8", "replace")
    await form.close()
    return PhotoForm(data, name, _json(text.encode()) if text else {})


def _json(raw: bytes) -> Any:
    try:
        return json.loads(raw)
    except (ValueError, RecursionError) as error:
        text = raw[:60].decode("utf-8", "replace")
        raise InputError.at("request", text, f"not JSON: {error}") from error


Form = Annotated[PhotoForm, Depends(photo_form)]

_PLACE = [0.42, 0.4, 0.58, 0.6]
_CARD = {"region": [0.1, 0.4, 0.3, 0.6], "kind": "white"}


def _body(model: type[BaseModel], example: dict[str, Any], *, photo: bool = True) -> dict[str, Any]:
    """OpenAPI for a picture with a request beside it."""
    parts: dict[str, Any] = {
        "photo": {"type": "string", "format": "binary", "description": "JPEG, PNG, WebP or HEIC"},
        "request": {"$ref": f"#/components/schemas/{model.__name__}"},
    }
    content = {
        "multipart/form-data": {
            "schema": {
                "type": "object",
                "properties": parts,
                "required": ["photo"] if photo else ["request"],
            },
            "encoding": {"request": {"contentType": "application/json"}},
            "example": {"request": example},
        }
    }
    return {"requestBody": {"required": True, "content": content}}


@router.post(
    "/chip",
    response_model=ChipAnswer,
    responses=REFUSALS,
    openapi_extra=_body(ChipRequest, {"region": _PLACE, "cards": [_CARD]}),
    summary="The colour of a chip or lid smear in a photo",
)
def post_chip(form: Form) -> Response:
    """Without a region the picture is taken to show nothing but the chip."""
    answer = read_chip(form.needed(), form.request, name=form.name)
    return Response(answer.model_dump_json(), media_type="application/json")


@router.post(
    "/surface",
    response_model=SurfaceAnswer,
    responses=REFUSALS,
    openapi_extra=_body(SurfaceRequest, {"cards": [_CARD], "most": 4}),
    summary="The patches of a bare piece in a photo",
)
def post_surface(form: Form) -> Response:
    """Patches with shares, colours and outlines, ready for a job's surface."""
    answer = read_surface(form.needed(), form.request, name=form.name)
    return Response(answer.model_dump_json(), media_type="application/json")


@router.post(
    "/drawdown",
    response_model=DrawdownAnswer,
    responses=REFUSALS,
    openapi_extra=_body(
        DrawdownRequest,
        {
            "name": "bright yellow-green",
            "wet_film_um": 100,
            "volume_solids": 0.38,
            "bare_black": {"lab": [6, 0, 0]},
            "bare_white": {"lab": [93, 0, 2]},
            "over_black": {"lab": [57, -22, 42]},
            "over_white": {"lab": [68, -24, 58]},
        },
        photo=False,
    ),
    summary="A paint measured over a black and white card",
)
def post_drawdown(form: Form) -> Response:
    """Four readings as JSON, or a photo with the regions that they lie in."""
    answer = read_drawdown(form.request, form.photo, name=form.name)
    return Response(answer.model_dump_json(), media_type="application/json")


@router.post(
    "/preview",
    responses=REFUSALS
    | {
        200: {
            "description": "The coats side by side, or each in a file where a zip is asked for.",
            "content": {"image/png": {}, "application/zip": {}},
        }
    },
    response_class=Response,
    openapi_extra=_body(PreviewRequest, {"job": EXAMPLE_JOB, "areas": [{"region": _PLACE}]}),
    summary="A photo as it would look after each coat",
)
def post_preview(form: Form, request: Request) -> Response:
    """A PNG with the coats side by side; a zip of one PNG a coat for accept: application/zip."""
    drawn = draw_preview(
        form.needed(), form.request, name=form.name, most_pixels=_MOST_PREVIEW_PIXELS
    )
    if "application/zip" not in request.headers.get("accept", ""):
        return Response(encode_picture(drawn.side_by_side()), media_type="image/png")
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as archive:
        for frame in drawn.frames():
            archive.writestr(f"coat-{frame.coat}.png", encode_picture(frame.image))
        archive.writestr("answer.json", drawn.answer.model_dump_json(indent=2))
    return Response(out.getvalue(), media_type="application/zip")


_MOST_PREVIEW_PIXELS = 3_000_000
