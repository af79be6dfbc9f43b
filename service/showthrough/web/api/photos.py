"""Routes that take a photo: multipart, the picture as ``photo``, JSON as ``request``."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response
from pydantic import BaseModel

from showthrough.errors import InputError, shown
from showthrough.jobs.answers.photos import ChipAnswer, DrawdownAnswer, SurfaceAnswer
from showthrough.jobs.photos.photos import read_chip, read_drawdown, read_surface
from showthrough.jobs.photos.preview import draw_preview
from showthrough.jobs.schema.job import EXAMPLE_JOB
from showthrough.jobs.schema.photo import (
    ChipRequest,
    DrawdownRequest,
    PreviewRequest,
    SurfaceRequest,
)
from showthrough.photo.preview.picture import encode_picture
from showthrough.web.api.jobs import REFUSALS
from showthrough.web.body import SentFile, is_multipart, parts_of, read_limited

router = APIRouter(prefix="/api")

MOST_BODY_BYTES = 100_000_000

BODY_MODELS: tuple[type[BaseModel], ...] = (
    ChipRequest,
    SurfaceRequest,
    DrawdownRequest,
    PreviewRequest,
)


@dataclass(frozen=True, slots=True)
class PhotoForm:
    """What came: the picture, if any, and the request beside it."""

    photo: bytes | None
    request: Mapping[str, Any]

    def needed(self) -> bytes:
        """The picture, or an error where it is missing."""
        if self.photo is None:
            raise InputError.at("photo", "", "a picture is needed: send it as the part photo")
        return self.photo


async def photo_form(request: Request) -> PhotoForm:
    """The parts of a multipart body; a JSON body is a request without a picture."""
    if not is_multipart(request):
        return PhotoForm(None, _json(await read_limited(request, MOST_BODY_BYTES)))
    parts = await parts_of(request, MOST_BODY_BYTES, files=1, fields=2)
    names = [name for name, _ in parts]
    for name in names:
        if name not in _PARTS or names.count(name) > 1:
            what = "comes twice" if name in _PARTS else "is not a part that is known here"
            raise InputError.at(shown(name), "", f"{what}; send {' and '.join(_PARTS)}, each once")
    photo, text = dict(parts).get("photo"), dict(parts).get("request")
    if isinstance(text, SentFile):
        text = text.content.decode("utf-8", "replace")
    if isinstance(photo, str):
        raise InputError.at("photo", photo, "must be a file")
    content = None if photo is None else photo.content
    return PhotoForm(content, _json(text.encode()) if text else {})


_PARTS = ("photo", "request")


def _json(raw: bytes) -> Mapping[str, Any]:
    try:
        request = json.loads(raw)
    except (ValueError, RecursionError) as error:
        text = raw[:60].decode("utf-8", "replace")
        raise InputError.at("request", text, f"not JSON: {error}") from error
    if not isinstance(request, Mapping):
        raise InputError.at(
            "request", shown(request), "a request must be a table of keys and values"
        )
    return request


Form = Annotated[PhotoForm, Depends(photo_form)]

_PLACE = [0.42, 0.4, 0.58, 0.6]
_CARD = {"region": [0.1, 0.4, 0.3, 0.6], "kind": "white"}


def _body(
    model: type[BaseModel], example: dict[str, Any], needed: Sequence[str] = ("photo",)
) -> dict[str, Any]:
    """OpenAPI for a picture with a request beside it; a request that needs none may come alone."""
    parts: dict[str, Any] = {
        "photo": {"type": "string", "format": "binary", "description": "JPEG, PNG, WebP or HEIC"},
        "request": {"$ref": f"#/components/schemas/{model.__name__}"},
    }
    content: dict[str, Any] = {
        "multipart/form-data": {
            "schema": {
                "type": "object",
                "properties": parts,
                "required": needed,
                "additionalProperties": False,
            },
            "encoding": {"request": {"contentType": "application/json"}},
            "example": {"request": example},
        }
    }
    if "photo" not in needed:
        content["application/json"] = {"schema": parts["request"], "example": example}
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
    answer = read_chip(form.needed(), form.request)
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
    answer = read_surface(form.needed(), form.request)
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
        ("request",),
    ),
    summary="A paint measured over a black and white card",
)
def post_drawdown(form: Form) -> Response:
    """Four readings as JSON, or a photo with the regions that they lie in."""
    answer = read_drawdown(form.request, form.photo)
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
    openapi_extra=_body(
        PreviewRequest, {"job": EXAMPLE_JOB, "areas": [{"region": _PLACE}]}, _PARTS
    ),
    summary="A photo as it would look after each coat",
)
def post_preview(form: Form, request: Request) -> Response:
    """A PNG with the coats side by side; a zip of one PNG a coat for accept: application/zip."""
    drawn = draw_preview(form.needed(), form.request, most_pixels=_MOST_PREVIEW_PIXELS)
    if "application/zip" not in request.headers.get("accept", ""):
        return Response(encode_picture(drawn.side_by_side()), media_type="image/png")
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as archive:
        for frame in drawn.frames():
            archive.writestr(f"coat-{frame.coat}.png", encode_picture(frame.image))
        archive.writestr("answer.json", drawn.answer.model_dump_json(indent=2))
    return Response(out.getvalue(), media_type="application/zip")


_MOST_PREVIEW_PIXELS = 3_000_000
