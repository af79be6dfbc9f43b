"""What a request to a page says: the job in its fields, and what the page is asked beside it.

The address holds the job, so that a link is the job, back works and two windows do not know of
each other. A job too long for an address is posted from page to page; nothing is kept.
"""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from functools import cached_property
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import Depends, Request

from showthrough.errors import StoreError
from showthrough.jobs.schema.job import EXAMPLE_JOB
from showthrough.records import store as records
from showthrough.records.store.opening.there import is_there
from showthrough.web.body import is_multipart, parts_of, read_limited
from showthrough.web.forms.edits import settled
from showthrough.web.forms.paths import (
    MOST_FIELDS,
    Fields,
    Pairs,
    fields_of,
    fields_of_job,
    job_of,
    leaf,
    pairs_of,
    query_of,
)
from showthrough.web.shell import LONGEST_LINK, Place

SAMPLE_JOB: dict[str, Any] = EXAMPLE_JOB | {
    "title": "Linen cupboard",
    "area_m2": 2.4,
    "money": {"currency": "EUR", "labour_per_hour": "24.00"},
}
"""The invented job that a first visitor may look at."""

_NOTHING: Mapping[str, str] = {}
_WAS = "was"
"""The fields before a colour was used, as a query: what undo goes back to."""
_USED = {
    "topcoat": "The colour was changed.",
    "finishes": "The handle was chosen.",
    "second_colour": "The second colour was chosen.",
    "undercoat": "The undercoat is among your cans.",
}
KEPT = "kept"
"""The kept job that this one is, as number and version: "12.3"."""
SENT = "sheet"
"""The sheet that sent the job: what is wrong on it is told there."""
LEARNED = "learned"
""""no" where the plan is wished without what finished jobs taught."""
OPEN = "open"
"""Rows and steps that stand open, by their ids with commas between."""
CARRIED = (KEPT, LEARNED)
"""What goes along with a job from page to page."""
_PAGE_FIELDS = (
    *("word", "way", "first", SENT, _WAS, OPEN, *CARRIED),
    *("budget", "sort", "rows", "swatches"),
    *("pages", "paper", "money_shown"),
    *("after", "seen", "left_ml", "tried", "group"),
    *("job", "q", "saved"),
)
MOST_UPLOAD_BYTES = 4_000_000
"""For swatches and job files; the library takes no more rows than fit."""


@dataclass(frozen=True)
class Asked:
    """One request."""

    fields: Fields
    page: Mapping[str, str] = field(default_factory=dict)
    """What the page is asked beside the job."""
    pairs: tuple[tuple[str, str], ...] = ()

    @cached_property
    def job(self) -> Mapping[str, Any]:
        """The job, not yet checked; with what kept jobs teach it unless that is not wished.

        Raises:
            InputError: the job has faults, where there is something to teach it.
        """
        said = job_of(self.fields)
        if self.page.get(LEARNED) != "no" and is_there():
            # Records that cannot be read are no reason to withhold a plan; their place tells why.
            with suppress(StoreError), records.opened.open_store() as store:
                return records.lessons.taught(store, said)
        return said

    @cached_property
    def query(self) -> str:
        """The job as a query."""
        return query_of(self.fields)

    @property
    def address(self) -> str:
        """The plan of this very request, where an address can hold it."""
        return self.href("/", {}, **{_WAS: self.page.get(_WAS, "")})

    @property
    def long(self) -> bool:
        """Whether no address can hold the job."""
        return len(self.query) > LONGEST_LINK

    @property
    def kept(self) -> tuple[int, int] | None:
        """Number and version of the kept job that this one was opened from."""
        number, _, version = self.page.get(KEPT, "").partition(".")
        short = all(
            part.isascii() and part.isdecimal() and len(part) < 10 for part in (number, version)
        )
        return (int(number), int(version)) if short else None

    @property
    def is_sample(self) -> bool:
        """Whether it is the invented job, untouched."""
        return self.fields == fields_of_job(SAMPLE_JOB)

    def href(self, address: str, changes: Mapping[str, str] = _NOTHING, **page: str | int) -> str:
        """Where a link leads: the job with changes, at an address; only the changes if it is long.

        A long job is posted there by a button, which sends its fields along.
        """
        kept = {k: self.page[k] for k in CARRIED if self.page.get(k)} if self.fields else {}
        extra = urlencode([(k, str(v)) for k, v in {**kept, **page}.items() if v != ""])
        if self.long:
            parts = [urlencode(changes), extra]
        elif changes:
            parts = [query_of({k: v for k, v in {**self.fields, **changes}.items() if v}), extra]
        else:
            parts = [self.query, extra]
        query = "&".join(filter(None, parts))
        return f"{address}?{query}" if query else address

    def use(self, changes: Mapping[str, str]) -> str:
        """The plan with another colour, and the way back from it."""
        gone = {k: "" for k in self.fields if any(k.startswith(f"{p}.") for p in changes)}
        was = {k: self.fields.get(k, "") for k in {**changes, **gone}}
        return self.href("/", {**gone, **changes}, **{_WAS: urlencode(was)})

    def with_topcoat(self, topcoat: Fields) -> Asked:
        """The job with another topcoat, all of it, and the way back from it."""
        gone = {k: "" for k in self.fields if k.startswith("topcoat.")}
        was = {k: self.fields.get(k, "") for k in {**gone, **topcoat}}
        fields = {k: v for k, v in {**self.fields, **gone, **topcoat}.items() if v}
        kept = {k: self.page[k] for k in CARRIED if self.page.get(k)}
        return Asked(fields, {**kept, _WAS: urlencode(was)})

    @property
    def used(self) -> str:
        """What was used, in words."""
        places = [name.partition(".")[0] for name, _ in pairs_of(self.page.get(_WAS, ""))]
        return next((_USED[place] for place in places if place in _USED), _USED["topcoat"])

    @property
    def undo(self) -> str:
        """The job as it was before a colour was used; "" where none was."""
        was = self.page.get(_WAS, "")
        if not was:
            return ""
        return self.href("/", {k: v for k, v in pairs_of(was) if leaf(k) is not None})


async def asked_by(request: Request) -> Asked:
    """The request as it came: its query, and behind it in rank what was posted."""
    pairs = [*await posted(request), *pairs_of(request.url.query)]
    page = {k: "\n".join(v.strip().splitlines()) for k, v in pairs if k in _PAGE_FIELDS}
    return Asked(settled(fields_of(pairs), pairs), page, tuple(pairs))


AskedBy = Annotated[Asked, Depends(asked_by)]
"""What a route is handed: it then runs in a thread, as all that reckons does."""


async def posted(request: Request, most: int = MOST_UPLOAD_BYTES) -> Pairs:
    """Names and values of a posted form; a file that was chosen takes its text's place.

    Args:
        request: not yet read.
        most: bytes of the body.

    Raises:
        InputError: the form is too large, or none.
    """
    if request.method != "POST":
        return []
    if not is_multipart(request):
        raw = await read_limited(request, most)
        return pairs_of(raw.decode("utf-8", "replace"))
    parts = await parts_of(request, most, files=4, fields=MOST_FIELDS, field_bytes=most)
    texts = [(name, value) for name, value in parts if isinstance(value, str)]
    files = [
        (name.removesuffix("_file"), file_text(value.content))
        for name, value in parts
        if not isinstance(value, str) and value.name
    ]
    return [*texts, *files]


def file_text(raw: bytes) -> str:
    """The text of a file, as spreadsheets of several kinds save it."""
    if b"\0" in raw:
        return "This file is no plain text: save the table as CSV."
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return raw.decode("cp1252", "replace")


def surroundings(asked: Asked, place: Place | None) -> dict[str, Any]:
    """What every page of a job is drawn with."""
    return {
        "asked": asked,
        "fields": asked.fields,
        "place": place,
        "title": asked.fields.get("title", ""),
        "wrong": {},
        "opened": asked.page.get(OPEN, "").split(","),
        "sample": f"/?{query_of(fields_of_job(SAMPLE_JOB))}",
        "carry": {k: asked.page[k] for k in CARRIED if asked.page.get(k)},
    }
