"""Hardware finishes: what they are called, and how they look on a piece of furniture.

The list is ``swatches/finishes.csv``. A code names a finish *and* its base
metal; the older US code names the look alone, so several codes may share one.

Source: codes of ANSI/BHMA A156.18, from public listings; colours as the file says.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import cache, lru_cache
from typing import NamedTuple

import numpy as np

from showthrough.colour.files.shipped import swatch_text
from showthrough.colour.lights import FloatArray, frozen
from showthrough.colour.spectrum import SURFACE_BOUNDS, recover_spectra
from showthrough.errors import InputError, alike, shown
from showthrough.palette.metals import SURFACES, in_service_reflectance
from showthrough.palette.reasons import Lab
from showthrough.tables import records_of


class Finish(NamedTuple):
    """One hardware finish."""

    code: str
    """Code of the open standard, three figures."""
    us: str
    """Older US code; empty where there is none."""
    name: str
    """Plain description."""
    base: str
    """What the fitting is made of."""
    metal: str
    """Metal whose optical constants are used; empty for coatings."""
    surface: str
    """bright, satin, aged, and so on."""
    lab: Lab
    """In service: how the fitting looks in a room, CIELAB, D65, 2 degrees."""
    clean_lab: Lab | None
    """The clean polished metal, where constants are published."""
    known: str
    """``computed`` from constants and a surface model, ``typical`` (invented) or ``given``."""
    on_furniture: bool
    """Whether it belongs in a furniture painter's shortlist."""
    note: str
    """What to know about the colour or the finish; may be empty."""

    @property
    def label(self) -> str:
        """Description with its codes, as in "satin nickel (619, US15)"."""
        codes = ", ".join(code for code in (self.code, self.us) if code)
        return f"{self.name} ({codes})" if codes else self.name


@lru_cache(maxsize=512)
def finish_spectrum(finish: Finish) -> FloatArray:
    """In-service reflectance of a finish, shape (31,).

    From the metal where the colour was computed, else the smoothest spectrum with
    that colour.
    """
    if finish.known == "computed":
        return frozen(in_service_reflectance(finish.metal, SURFACES[finish.surface]))
    return frozen(recover_spectra([finish.lab], SURFACE_BOUNDS).reflectance[0])


def _lab(row: dict[str, str], prefix: str = "") -> Lab | None:
    if not row[f"{prefix}L"]:
        return None
    lightness, a, b = (float(row[f"{prefix}{axis}"]) for axis in "Lab")
    return lightness, a, b


def parse_finishes(text: str) -> tuple[Finish, ...]:
    """Finishes from the text of a CSV file with the columns of ``finishes.csv``."""
    found = []
    for row in records_of(text):
        lab = _lab(row)
        if lab is None:
            raise InputError.at("finishes", row["code"], f"finish {row['code']} has no colour")
        found.append(
            Finish(
                code=row["code"],
                us=row["us"],
                name=row["name"],
                base=row["base"],
                metal=row["metal"],
                surface=row["surface"],
                lab=lab,
                clean_lab=_lab(row, "clean_"),
                known=row["known"],
                on_furniture=row["furniture"] == "yes",
                note=row["note"],
            )
        )
    return tuple(found)


@cache
def all_finishes() -> tuple[Finish, ...]:
    """Every finish of the sample file, in the order of its codes."""
    return parse_finishes(swatch_text("finishes.csv"))


def distinct_looks(finishes: Iterable[Finish]) -> tuple[Finish, ...]:
    """The first finish of each look: plated copies of one US code are left out."""
    first: dict[str, Finish] = {}
    for finish in finishes:
        first.setdefault(finish.us or finish.code or finish.name, finish)
    return tuple(first.values())


@cache
def usual_finishes() -> tuple[Finish, ...]:
    """The shortlist used where the painter gives none: furniture finishes, each look once."""
    return distinct_looks(f for f in all_finishes() if f.on_furniture)


_TRADE_WORDS = {
    "chrome": "chromium",
    "aluminum": "aluminium",
    "anodized": "anodised",
    "oxidized": "oxidised",
    "polished": "bright",
    "brushed": "satin",
    "matt": "flat",
    "matte": "flat",
}
"""What shops also say for the words of the list (common practice, no source)."""

_LONGEST_QUERY = 80


def _plain(text: str) -> str:
    """Lower case, single spaces, no stops; "US 10-B" and "us10b" become one."""
    words = re.sub(r"[^a-z0-9]+", " ", text[:_LONGEST_QUERY].lower()).split()
    code = "".join(words)
    if re.fullmatch(r"(us)?[0-9]{1,4}[a-z]?|usp", code):
        return code
    return " ".join(_TRADE_WORDS.get(word, word) for word in words)


def find_finishes(code_or_name: str) -> tuple[Finish, ...]:
    """All finishes that a code, a US code or words of a description mean.

    Args:
        code_or_name: "619", "US15", "us 10b", "10B", "satin nickel".

    Returns:
        Those with that code; else with that US code; else with exactly that
        description; else those whose description holds all the words.

    Raises:
        InputError: nothing fits; the message lists near ones.
    """
    wanted = _plain(code_or_name)
    listed = all_finishes()
    us_code = wanted if wanted.startswith("us") else f"us{wanted}"
    words = set(wanted.split())
    for fits in (
        [f for f in listed if f.code == wanted],
        [f for f in listed if f.us.lower() == us_code],
        [f for f in listed if _plain(f.name) == wanted],
        [f for f in listed if words and words <= set(_plain(f.name).split())],
    ):
        if fits:
            return tuple(fits)
    near = "; ".join(f.label for f in near_finishes(code_or_name))
    message = f"no finish {shown(code_or_name)!r}; near ones: {near}"
    raise InputError.at("finish", code_or_name, message, "unknown_finish")


def find_finish(code_or_name: str) -> Finish:
    """The one finish that a code or a description means.

    A US code names a look, so the first finish with that look stands for it.

    Raises:
        InputError: nothing fits, or words that fit several looks; the message lists them.
    """
    fits = find_finishes(code_or_name)
    if len(distinct_looks(fits)) > 1:
        several = "; ".join(f.label for f in fits)
        message = f"{shown(code_or_name)!r} fits several finishes, name one by its code: {several}"
        raise InputError.at("finish", code_or_name, message, "ambiguous_finish")
    return fits[0]


def near_finishes(code_or_name: str, count: int = 5) -> tuple[Finish, ...]:
    """Finishes whose code or description is spelt most like the text; never empty."""
    wanted = _plain(code_or_name)
    listed = all_finishes()
    if re.fullmatch(r"[0-9]{3,4}", wanted):
        number = int(wanted)
        return tuple(sorted(listed, key=lambda f: (abs(int(f.code) - number), f.code))[:count])
    spelt: dict[str, Finish] = {}
    for finish in listed:
        for text in (_plain(finish.name), finish.us.lower(), finish.us.lower()[2:], finish.code):
            if text:
                spelt.setdefault(text, finish)
    close = alike(wanted, spelt, 4 * count, 0.5)
    named = [f for f in listed if set(wanted.split()) & set(_plain(f.name).split())]
    found = dict.fromkeys([*(spelt[text] for text in close), *named, *usual_finishes()])
    return tuple(found)[:count]


def labs_of(finishes: Sequence[Finish]) -> FloatArray:
    """In-service colours, shape (n, 3)."""
    return np.array([f.lab for f in finishes], dtype=float).reshape(-1, 3)
