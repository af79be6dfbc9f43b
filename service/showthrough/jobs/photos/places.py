"""Problems of a photo's places, named as the request names them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace

from showthrough.errors import InputError, Problem

_COUNTED = re.compile(r"(cards|sheets)\[(\d+)\](.*)", re.DOTALL)
_REFERENCES = ("cards", "sheets", "chart")


def _named(problem: Problem, within: str, own: Mapping[str, str]) -> Problem:
    """The photo room counts its arguments from 0; a request's lists are told from 1."""
    if problem.field in own:
        return replace(problem, field=own[problem.field])
    counted = _COUNTED.fullmatch(problem.field)
    if counted is not None:
        rest = counted[3] or (".region" if counted[1] == "cards" else "")
        problem = replace(problem, field=f"{counted[1]}[{int(counted[2]) + 1}]{rest}")
    if problem.field.startswith("areas["):
        problem = replace(problem, field=problem.field.replace(".where", ".region", 1))
    return problem.within(within) if problem.field.startswith(_REFERENCES) else problem


@contextmanager
def named_as_requested(within: str = "", own: Mapping[str, str] | None = None) -> Iterator[None]:
    """Rename the problems of the photo room; references are told ``within`` that key.

    Cards that the request does not name as such are called by their fields in ``own``.
    """
    try:
        yield
    except InputError as error:
        raise type(error)([_named(p, within, own or {}) for p in error.problems]) from None
