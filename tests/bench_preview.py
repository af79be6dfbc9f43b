"""Speed, memory and accuracy of the preview. Run by hand:

    PYTHONPATH=service:tests python tests/bench_preview.py

Past numbers stand at the end of this file.
"""

# ruff: noqa: T201 - prints its table

import os
import resource
import time

import numpy as np

from reference.pine_board import pine_board
from reference.preview_sets import PAINTS, Table, colour_sets, direct_codes, seen_lab
from showthrough.colour.difference import ciede2000
from showthrough.colour.space import linear_rgb_to_xyz, srgb_to_linear, xyz_to_lab
from showthrough.colour.spectrum import SURFACE_BOUNDS, recover_spectra
from showthrough.film.hiding import Paint
from showthrough.photo.place import Region
from showthrough.photo.preview.areas import PaintedArea
from showthrough.photo.preview.model import GLARE, Coating, painted_light, surface_spectra
from showthrough.photo.preview.preview import preview

FILMS_UM = (17.0, 34.0, 51.0, 68.0, 85.0, 102.0)
THIN_UM = (5.0, 7.6, 17.0, 34.0, 51.0, 102.0)
SIZE = (4000, 3000)
RUNS = 5


def main() -> None:
    board = pine_board(*SIZE)
    paint = PAINTS["yellow-green"]
    print(f"{SIZE[0] * SIZE[1] / 1e6:.0f} megapixels, {len(FILMS_UM)} coats, without encoding")
    cpu = _time("8-bit numbers", board.photo, paint)
    pixels = srgb_to_linear(board.photo[::100, ::6].reshape(-1, 3) / 255.0)
    start = time.process_time()
    painted_light(surface_spectra(pixels), "coated", Coating(paint), FILMS_UM)
    direct = (time.process_time() - start) / len(pixels) * SIZE[0] * SIZE[1]
    print(
        f"  directly, scaled from {len(pixels)} pixels: {direct:.0f} processor seconds, "
        f"{direct / cpu:.0f} times as long"
    )
    linear = np.empty(board.photo.shape, dtype=np.float32)
    for row, codes in zip(linear, board.photo, strict=True):
        row[:] = srgb_to_linear(codes / 255.0)
    del board
    _time("linear light", linear, paint)
    del linear

    print("CIEDE2000 to the direct model: 99.9th percentile / most, over paints, skins and coats")
    print(f"  films {THIN_UM} um")
    for name, colours in colour_sets(np.random.default_rng(1), 20_000).items():
        _accuracy(name, colours)


def _time(name: str, photo: np.ndarray, paint: Paint) -> float:
    """Print times and memory; the best processor time."""
    whole = [PaintedArea(Region.rectangle(0.0, 0.0, 1.0, 1.0))]
    walls, cpus = [], []
    for _ in range(RUNS):
        wall, cpu = time.perf_counter(), time.process_time()
        frames = list(preview(photo, whole, paint, FILMS_UM).frames())
        walls.append(time.perf_counter() - wall)
        cpus.append(time.process_time() - cpu)
        assert len(frames) == len(FILMS_UM) + 1
        del frames
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3
    print(
        f"  {name}: {min(walls):.2f} s at best, {np.median(walls):.2f} median of {RUNS}; "
        f"{min(cpus):.2f} processor seconds on {os.cpu_count()} processors "
        f"(load {os.getloadavg()[0]:.1f}); most memory {peak:.0f} MB"
    )
    return min(cpus)


def _accuracy(name: str, colours: np.ndarray) -> None:
    spectra, lattice = surface_spectra(colours), Table(colours)
    table, file, alone = [], [], []
    for skin in ("coated", "bare"):
        for paint in PAINTS.values():
            coating = Coating(paint)
            true = direct_codes(painted_light(spectra, skin, coating, THIN_UM))
            codes = lattice.codes(skin, coating, THIN_UM)
            lab = seen_lab(true)
            table.append(ciede2000(seen_lab(codes), lab))
            file.append(ciede2000(seen_lab(np.rint(codes)), lab))
            alone.append(ciede2000(seen_lab(np.rint(true)), lab))
    print(
        f"  {name:7s} {_two(table)}; as 8-bit numbers {_two(file)} "
        f"(rounding alone {_two(alone)}); {_glare(colours)}"
    )


def _two(differences: list[np.ndarray]) -> str:
    every = np.stack(differences)
    return f"{np.quantile(every, 0.999):.2f} / {every.max():.2f}"


def _glare(colours: np.ndarray) -> str:
    """How far the first coat moves where light above ``GLARE`` is taken as that."""
    bright = colours[colours.max(axis=1) > GLARE]
    share = len(bright) / len(colours)
    if not len(bright):
        return "no glare"
    bright = np.clip(bright[:500], 0.0, 1.0)
    free = recover_spectra(xyz_to_lab(linear_rgb_to_xyz(bright)), SURFACE_BOUNDS)
    held = surface_spectra(bright)
    moved = []
    for paint in PAINTS.values():
        pair = [
            seen_lab(direct_codes(painted_light(s, "coated", Coating(paint), (17.0,))))
            for s in (
                np.clip(free.reflectance, *SURFACE_BOUNDS)[free.reachable],
                held[free.reachable],
            )
        ]
        moved.append(ciede2000(*pair))
    middle, high = np.quantile(np.stack(moved), [0.5, 0.95])
    return f"glare {share:.1%}, which moves coat 1 by {middle:.2f} (median), {high:.2f} (95 %)"


if __name__ == "__main__":
    main()

# Past numbers, two processors of 2.3 GHz with 512-bit vectors:
#
# 12 megapixels, 6 coats, without encoding
#   8-bit numbers: 0.98 s at best; 1.65 processor seconds; most memory 399 MB
#   directly: 276 processor seconds, 167 times as long
#   linear light: 1.75 s at best (others at work); 1.73 processor seconds; most memory 565 MB
# CIEDE2000 to the direct model: 99.9th percentile / most, over paints, skins and coats
#   random  0.04 / 0.79      dark 0.27 / 0.99       bright 0.06 / 0.14    pine 0.01 / 0.05
#   white   0.07 / 0.14      walnut 0.25 / 0.76     enamel 0.01 / 0.03
# 8-bit numbers alone cost 0.75 to 0.88 / 1.09, with or without the table.
