"""The shopping page: what to buy, in which sizes, and how sure it is to suffice."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from showthrough.jobs.answers.whole import ProductShown, WholeJob
from showthrough.say.chances import chance_words, plural
from showthrough.say.whole import can_words, nothing_words, shelf_alone, volume_words

_FROM, _TO, _MOST = 0.05, 0.9, 3
"""Numbers of tins that are told beside the choice: from hardly a chance up to nine in ten."""

MIX = "Mix the tins together before the last coat."


def shopping_of(answer: WholeJob) -> dict[str, Any]:
    """What the shopping page of a whole answer shows; ``more`` is used up beside paint."""
    colours = {group.topcoat_name: group.topcoat.hex for group in answer.groups}
    currency = "" if answer.money is None else answer.money.currency
    return {
        "title": answer.title,
        "products": [_product(p, answer.units, currency, colours) for p in answer.paint],
        "more": _more(answer),
        "total": _total(answer, currency),
        "why_not": () if answer.paint else answer.why_not,
        "cautions": answer.cautions_short,
    }


def _product(
    product: ProductShown, units: str, currency: str, colours: Mapping[str, str]
) -> dict[str, Any]:
    """One product to get; ``usual`` where its sizes are usual ones, a default."""
    hex_ = product.colour or ""
    if hex_ == "topcoat":
        hex_ = colours.get(product.product, "")
    tins = sum(can.count for can in product.cans)
    also = [a for a in product.advice if not a.startswith(MIX[:-1])]
    if tins > 1:
        also.insert(0, MIX)
    if product.from_shelf_ml:
        also.insert(0, f"{volume_words(product.from_shelf_ml, units)} of it from the shelf first.")
    if told := shelf_alone(product):
        also.insert(1, f"{told[:1].upper()}{told[1:]}: then buy nothing.")
    if product.thinner_ml:
        also.append(f"Thinner for it: {volume_words(product.thinner_ml, units)}.")
    buy = " and ".join(f"{can.count} × {can_words(can.ml, units)}" for can in product.cans)
    return {
        "name": product.product,
        "hex": hex_,
        "buy": buy or nothing_words(product),
        "sure": "" if product.chance is None else f"enough {chance_words(product.chance)}",
        "amount": _amount(product, units),
        "price": f"{product.price} {currency}" if product.price and currency else "",
        "also": also,
        "usual": bool(product.cans) and not product.sizes_stated,
        "others": _others(product, units),
    }


def _amount(product: ProductShown, units: str) -> str:
    if product.ml_50 is None or product.ml_90 is None:
        return ""
    half, nine = volume_words(product.ml_50, units), volume_words(product.ml_90, units)
    return half if half == nine else f"{half} likely, {nine} in 9 jobs of 10"


def _others(product: ProductShown, units: str) -> list[str]:
    """Other numbers of tins with their chances."""
    out = []
    for size, row in product.chances.items():
        told = []
        for count, chance in sorted(row.items()):
            if chance >= _FROM:
                told.append(f"{count} × {can_words(size, units)}: {chance_words(chance)}")
            if chance >= _TO:
                break
        out += ["; ".join(told[-_MOST:])] if told else []
    return out


def _more(answer: WholeJob) -> list[str]:
    out = []
    if answer.other.wax_g is not None:
        most = answer.other.wax_most_g or answer.other.wax_g
        out.append(f"Wax: {answer.other.wax_g:.0f} g, perhaps {most:.0f} g")
    return out + [
        f"Abrasive paper P{grade}: {plural(count, 'sheet')}"
        for grade, count in answer.other.sheets.items()
    ]


def _total(answer: WholeJob, currency: str) -> str:
    """What all tins come to, where the price of each is known."""
    prices = [p.price for p in answer.paint if p.cans]
    known = [Decimal(price) for price in prices if price is not None]
    if not currency or not known or len(known) < len(prices):
        return ""
    return f"{sum(known, Decimal(0))} {currency}"
