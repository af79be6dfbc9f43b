"""Regenerates the polynomial start of the spectrum recovery.

Run ``python tests/reference/make_start.py FILE``. The recovered spectra do not depend on
the table, only the number of steps does; a test compares the shipped file with this.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from showthrough.colour.lights import weights
from showthrough.colour.smoothest import _level, _newton, start_terms
from showthrough.colour.space import lab_to_xyz
from showthrough.colour.spectrum import PAINT_BOUNDS


def table() -> np.ndarray:
    """Least squares over a lattice of colours, deep ones weighing less; shape (34, terms)."""
    axes = (np.linspace(12.0, 96.0, 15), np.linspace(-75.0, 80.0, 15), np.linspace(-75.0, 95.0, 15))
    lab = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)
    target = lab_to_xyz(lab).T
    keep = (target > 0.0).all(axis=0)
    lab, target = lab[keep], target[:, keep]
    low = np.full(len(lab), PAINT_BOUNDS[0])
    high = np.full(len(lab), PAINT_BOUNDS[1])
    level = _level(target, low, high)
    z, done = _newton(
        target, weights(), low, high, np.repeat(level[None], 31, axis=0), np.zeros((3, len(lab)))
    )
    done &= (np.abs(z) < 7.0).all(axis=0)
    z, lab, level = z[:, done], lab[done], level[done]
    # The multipliers that hold z where it is: least squares on the stationarity condition.
    share = 1.0 / (1.0 + np.exp(-z))
    slope = (high - low)[done] * share * (1.0 - share)
    bend = np.zeros_like(z)
    bend[:-1] += z[:-1] - z[1:]
    bend[1:] += z[1:] - z[:-1]
    jacobian = (slope[:, :, None] * weights()[:, None]).transpose(1, 0, 2)
    held = np.linalg.lstsq
    multipliers = np.array(
        [held(one, column, rcond=None)[0] for one, column in zip(jacobian, bend.T, strict=True)]
    ).T
    root = 1.0 / np.sqrt(1.0 + np.abs(z).max(axis=0) ** 2)
    terms = start_terms(level, lab)
    wanted = np.concatenate([z, multipliers])
    return np.linalg.lstsq((terms * root).T, (wanted * root).T, rcond=None)[0].T


def lines() -> list[str]:
    """The rows of the file."""
    about = (
        "# Start of the spectrum recovery: z in 31 bands and three multipliers as polynomials of"
        " the colour. Made by tests/reference/make_start.py."
    )
    return [about, *(",".join(f"{v:.5g}" for v in row) for row in table())]


if __name__ == "__main__":
    Path(sys.argv[1]).write_text("\n".join(lines()) + "\n", encoding="utf-8")
