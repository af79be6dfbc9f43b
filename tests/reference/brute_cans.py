"""The cheapest set of cans by trying every set."""

from __future__ import annotations

import math
from itertools import product


def cheapest(need, cans):
    """(price, number of cans, ml) of the best set; ``cans`` is rows of (ml, price)."""
    tries = product(*(range(math.ceil(need / ml) + 1) for ml, _ in cans))
    held = (
        (
            sum(n * price for n, (_, price) in zip(counts, cans, strict=True)),
            sum(counts),
            sum(n * ml for n, (ml, _) in zip(counts, cans, strict=True)),
        )
        for counts in tries
    )
    return min(found for found in held if found[2] >= need)
