"""Prints what the search over undercoats finds, opaque and as one real coat.

Run: PYTHONPATH=service python tests/show_undercoat_findings.py
"""

from __future__ import annotations

import sys

import numpy as np

from reference.undercoat_findings import TOPCOATS, finding


def table(*, opaque):
    """Lines of one table: dry topcoat in um over brown laminate."""
    kind = "opaque undercoat" if opaque else "one real coat, 36 um dry"
    yield f"{kind}: dry um of topcoat over brown laminate"
    heads = ("none", 6), ("own L*", 6), ("best grey", 15), ("half tint", 15), ("closed", 7)
    yield f"{'topcoat':14} " + " ".join(f"{name:>{width}}" for name, width in heads)
    for name, lab in TOPCOATS.items():
        f = finding(lab, opaque=opaque)
        grey = f"{f.grey_um:6.1f} ({f.grey_lightness - lab[0]:+5.1f})"
        tint = f"{f.tint_um:6.1f} ({f.tint_lightness - lab[0]:+5.1f})"
        yield (
            f"{name:14} {f.none_um:6.1f} {f.own_grey_um:6.1f} {grey:>15} {tint:>15}"
            f" {f.closed_lightness - lab[0]:+7.1f}"
        )


def closed_rule():
    """Lines on the closed rule against the search for an opaque grey."""
    misses = {}
    for name, lab in TOPCOATS.items():
        f = finding(lab, opaque=True)
        misses[name] = f.closed_lightness - f.grey_lightness
    sizes = np.abs(list(misses.values()))
    yield f"closed rule less search: median {np.median(sizes):.1f} L*, greatest {sizes.max():.1f}"
    over = [f"{name} {miss:+.1f}" for name, miss in misses.items() if abs(miss) > 7.0]
    yield "over 7 L*: " + (", ".join(over) or "none")


def main():
    """Print all tables."""
    for lines in (table(opaque=True), table(opaque=False), closed_rule()):
        sys.stdout.write("\n".join(lines) + "\n\n")


if __name__ == "__main__":
    main()
