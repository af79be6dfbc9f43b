"""The sheets that the words of a job open: which fields stand on which, in which order.

Every place of a job has its field on one of them; a list shows its rows and some to spare.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from showthrough.jobs.schema.bench import MOST_GROUPS
from showthrough.jobs.schema.job import MOST_PATCHES, MOST_UNDERCOATS
from showthrough.web.forms.paths import Fields
from showthrough.workshop.size.area import SHAPES


@dataclass(frozen=True, slots=True)
class Block:
    """Fields that belong together; with ``rows`` they are those of each row of a list."""

    title: str
    keys: tuple[str, ...]
    rows: str = ""
    spare: int = 1
    most: int = 12
    closed: bool = False
    hint: str = ""


@dataclass(frozen=True, slots=True)
class Word:
    """One sheet."""

    key: str
    title: str
    blocks: tuple[Block, ...] = ()
    own: tuple[str, ...] = ()
    """Fields that its own part of the page draws."""


_SUPPLY_TIMES = ("recoat_h", "handle_h", "cure_d", "least_c", "label_film_um")
_CAN = ("ml", "size", "price")


def _keys(place: str, keys: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(f"{place}.{key}" for key in keys)


def _reading(place: str) -> Block:
    return Block(
        "How it was read",
        _keys(place, ("radius", "specular", "illuminant", "observer")),
        closed=True,
    )


_SURFACE_OWN = ("colour", "ground", "skin", "porous", "bleeds", "share")
_SHAPE = ("shape", "count", "faces", "profile")
"""Fields of every shape; its lengths come when it is chosen."""
_FINISH = ("kind", "coats", "chemistry", "tool", "wet_film_um")
_LABEL = ("label.contrast_ratio", "label.spreading_rate_m2_l", "label.tested")
_SPRAY = ("gun", "openness", "thinning", "session_loss_ml", "transfer_efficiency", "flips")
_USED = ("ml", "g", "area_m2", "coats", "density_g_ml")

_WORDS = (
    Word(
        "topcoat",
        "Which new colour?",
        (_reading("topcoat.colour"),),
        ("topcoat.colour", "topcoat.body"),
    ),
    Word(
        "tool",
        "How do you put it on?",
        (
            Block(
                "I know the film",
                (
                    "application.wet_film_um",
                    *_keys("application.paint_used", _USED),
                ),
                closed=True,
                hint="A gauge, or the paint used over an area.",
            ),
            Block("Spray and loss", _keys("application", _SPRAY), closed=True),
            Block(
                "Coats",
                _keys("application", ("least_topcoats", "sanding_loss", "evenness_cv")),
                closed=True,
            ),
        ),
        ("application.tool", "application.coat"),
    ),
    Word("area", "How big is it?", (), ("area_m2", "area_ft2", "units", "unit", "pieces")),
    Word(
        "paint",
        "What do you know of the paint?",
        (
            Block(
                "",
                _keys(
                    "topcoat",
                    ("pigment", "name", "volume_solids", "chemistry", "sheen", "bonds"),
                ),
            ),
            Block("The label on hiding", (*_keys("topcoat", _LABEL), "topcoat.tio2_share")),
            Block("Measured", ("topcoat.paint",), hint="As a drawdown gives it."),
        ),
    ),
    Word(
        "money",
        "Money",
        (
            Block(
                "",
                _keys(
                    "money",
                    (
                        "currency",
                        "labour_per_hour",
                        "purchase",
                        "hardware",
                        "sheet",
                        "booth",
                        "disposal",
                        "delivery",
                        "fees",
                    ),
                ),
            ),
            Block(
                "The price",
                _keys("money", ("margin", "markup", "fee_rate", "tax_rate", "charge")),
            ),
            Block("The plan", ("rank_by",)),
        ),
    ),
    Word(
        "cans",
        "Your shop and your shelf",
        (
            Block("What you have of the topcoat", ("topcoat.shelf_ml",)),
            Block("Prices are in", ("money.currency",)),
            Block("Its cans in the shop", _CAN, rows="topcoat.cans", spare=2),
            Block("How sure", ("buying.wished", "buying.keep_ml")),
            Block("What its label says of drying", _keys("topcoat", _SUPPLY_TIMES), closed=True),
            Block(
                "Bonding coats, sealers and undercoats in the shop",
                (
                    "step",
                    "shelf_ml",
                    "chemistry",
                    *(f"cans.{n}.{key}" for n in (1, 2, 3) for key in _CAN),
                    *_SUPPLY_TIMES,
                ),
                rows="product",
                most=24,
            ),
        ),
    ),
    Word(
        "under",
        "Undercoats that you have",
        (
            Block(
                "",
                (
                    "name",
                    "colour",
                    "shelf_ml",
                    "bonds",
                    "blocks",
                    "volume_solids",
                    "wet_film_um",
                    *_LABEL,
                    "colour.radius",
                ),
                rows="undercoat",
                most=MOST_UNDERCOATS,
            ),
        ),
    ),
    Word("parts", "Parts of the piece", (Block("", ("unit",)),)),
    Word(
        "finish",
        "What goes over it?",
        (
            Block("", _keys("finish", _FINISH)),
            Block("What you have of it", ("finish.shelf_ml",)),
            Block("Prices are in", ("money.currency",)),
            Block("Its cans in the shop", _CAN, rows="finish.cans", spare=2),
            Block("What its label says of drying", _keys("finish", _SUPPLY_TIMES), closed=True),
        ),
    ),
    Word(
        "days",
        "Room and days",
        (
            Block(
                "The room",
                _keys("room", ("temperature_c", "humidity_percent", "night_c", "surface_c")),
            ),
            Block("The days", _keys("days", ("start", "zone", "days_off"))),
            Block(
                "Your week",
                _keys("days.week", ("mon", "tue", "wed", "thu", "fri", "sat", "sun")),
                hint="Empty all: Monday to Friday, 8 to 12 and 13 to 17 (default).",
            ),
        ),
    ),
    Word(
        "piece",
        "The piece",
        (
            Block("", ("title", "child", "antique")),
            Block("A test piece", ("test_piece.coats", "test_piece.enough")),
        ),
    ),
    Word(
        "beside",
        "Handles and second colours",
        (
            Block("Handles", ("finishes",)),
            Block(
                "Second colours and woods to choose from",
                ("name", "colour", "kind"),
                rows="second_colour",
                spare=2,
                most=200,
                hint="None: the sample swatches (default).",
            ),
        ),
    ),
)
WORDS = {word.key: word for word in _WORDS}

_NUMBERED = re.compile(r"(?P<kind>surface|part)\.(?P<n>[1-9]\d?)")


def word_of(key: str) -> Word | None:
    """The sheet of a word; those of patches and parts carry their number."""
    found = _NUMBERED.fullmatch(key)
    if found is None:
        return WORDS.get(key)
    n = int(found["n"])
    if found["kind"] == "surface":
        return _surface(f"surface.{n}", key) if n <= MOST_PATCHES else None
    return _part(f"group.{n}", key) if n <= MOST_GROUPS else None


def _surface(place: str, key: str) -> Word:
    return Word(
        key,
        "What is there now?",
        (
            Block(
                "More about it",
                _keys(place, ("name", "condition", "stain", "sanded_through", "edge")),
                closed=True,
            ),
            Block(
                "Lead test",
                _keys(place, ("lead_test.by", "lead_test.result", "lead_test.date")),
                closed=True,
            ),
            _reading(f"{place}.colour"),
        ),
        _keys(place, _SURFACE_OWN),
    )


def _part(place: str, key: str) -> Word:
    return Word(
        key,
        "One part of the piece",
        (
            Block("", _keys(place, ("name", "area_m2", "area_ft2"))),
            Block("or its shapes", _SHAPE, rows=f"{place}.shape", most=60),
            Block(
                "A paint of its own",
                _keys(f"{place}.topcoat", ("colour", "name", "volume_solids", "chemistry")),
                closed=True,
            ),
            Block(
                "A surface of its own",
                ("name", *_SURFACE_OWN),
                rows=f"{place}.surface",
                most=MOST_PATCHES,
                closed=True,
            ),
            Block(
                "Put on its own way",
                _keys(f"{place}.application", ("tool", "coat", "wet_film_um", *_SPRAY)),
                closed=True,
            ),
            Block("What goes over it", _keys(f"{place}.finish", _FINISH), closed=True),
        ),
    )


@dataclass(frozen=True, slots=True)
class Section:
    """A block with the paths of its fields in a certain job."""

    block: Block
    rows: tuple[tuple[str, ...], ...]
    said: int
    """Fields of it that hold something."""


def sections(word: Word, fields: Mapping[str, str]) -> tuple[Section, ...]:
    """The blocks of a sheet with all their rows."""
    out = []
    for block in word.blocks:
        rows: tuple[tuple[str, ...], ...] = (block.keys,)
        if block.rows:
            count = min(count_of(fields, block.rows) + block.spare, max(block.most, 1))
            rows = tuple(_keys(f"{block.rows}.{n}", block.keys) for n in range(1, count + 1))
        if block.rows.endswith(".shape"):
            rows = tuple(_with_lengths(row, fields) for row in rows)
        out.append(Section(block, rows, sum(path in fields for row in rows for path in row)))
    return tuple(out)


def _with_lengths(row: tuple[str, ...], fields: Mapping[str, str]) -> tuple[str, ...]:
    """A shape's row with those lengths that it has, and any that were said."""
    place = row[0].removesuffix("shape")
    rule = SHAPES.get(fields.get(row[0], ""))
    keys = () if rule is None else rule.sizes
    said = [path for path in fields if path.startswith(place) and path not in row]
    lengths = dict.fromkeys((*(f"{place}{key}" for key in keys), *said))
    return (row[0], *lengths, *row[1:])


def count_of(fields: Mapping[str, str], place: str) -> int:
    """Rows of a list."""
    inside = (name.removeprefix(f"{place}.") for name in fields if name.startswith(f"{place}."))
    numbers = (name.partition(".")[0] for name in inside)
    return max((int(n) for n in numbers if n.isdecimal()), default=0)


def paths_on(word: Word, fields: Mapping[str, str]) -> Iterator[str]:
    """Every field of a sheet."""
    yield from word.own
    for section in sections(word, fields):
        for row in section.rows:
            yield from row


def kept_beside(word: Word, fields: Fields) -> Fields:
    """The fields of a job that a sheet does not show, and so carries along."""
    shown = set(paths_on(word, fields))
    return {name: text for name, text in fields.items() if name not in shown}


def word_at(path: str) -> str:
    """The sheet on which the field of a path stands."""
    head = path.split(".")
    if head[0] == "surface" and len(head) > 1 and head[1].isdecimal():
        return f"surface.{head[1]}"
    if head[0] == "group":
        return f"part.{head[1]}" if len(head) > 1 and head[1].isdecimal() else "parts"
    for word in _WORDS:
        for place in (*word.own, *(k for b in word.blocks for k in (*b.keys, b.rows) if k)):
            if path == place or path.startswith(f"{place}."):
                return word.key
    return {"surface": "surface.1", "topcoat": "topcoat", "undercoat": "under"}.get(
        head[0], "piece"
    )
