"""What the trade's arithmetic costs beside importing numpy: ratios, run by hand.

.venv/bin/python tests/workshop/bench_plan.py
"""

from __future__ import annotations

import subprocess
import sys
import time
from datetime import UTC, datetime
from decimal import Decimal

from showthrough.workshop.days.drying import Climate
from showthrough.workshop.days.hours import WorkingHours
from showthrough.workshop.days.schedule import Piece, hand_over
from showthrough.workshop.days.steps import Step
from showthrough.workshop.paint.cans import Can, shop
from showthrough.workshop.paint.quantity import Coating, PatchHiding, amounts_to_hide
from showthrough.workshop.price.money import Money

CANS = [Can(ml, Money(Decimal(price), "EUR")) for ml, price in ((250, 9), (750, 21), (2500, 58))]
STEPS = (
    Step("wash", 1.9),
    Step("sand", 1.9),
    Step("coat", 1.9, tool="hvlp", coats={3: 0.3, 4: 0.5, 5: 0.2}),
    Step("clear", 1.9),
    Step("hardware on"),
)


def paint():
    drawn = amounts_to_hide(Coating(1.9, "hvlp", wet_film_um=45.0), (PatchHiding(43.0),))
    shop(drawn, CANS)


def days():
    start = datetime(2027, 3, 1, 8, tzinfo=UTC)
    hand_over([Piece("cupboard", STEPS)], start, WorkingHours("Europe/Berlin"), Climate(20, 50))


def seconds(call, times=20):
    call()
    best = float("inf")
    for _ in range(times):
        begin = time.perf_counter()
        call()
        best = min(best, time.perf_counter() - begin)
    return best


def numpy_import():
    subprocess.run([sys.executable, "-c", "import numpy"], check=True)


if __name__ == "__main__":
    unit = seconds(numpy_import, 3)
    for name, call in (("paint and cans of one product", paint), ("days of one piece", days)):
        print(f"{name}: {seconds(call) / unit:.3f} of starting Python with numpy")  # noqa: T201 - a report
