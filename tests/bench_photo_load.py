"""Time and memory to read 50-megapixel photos. Run by hand.

    PYTHONPATH=service python tests/bench_photo_load.py

Two shared cores, 2026-11: JPEG 0.2 s, 0.12 GB; PNG 4.5 s, 0.33 GB; WebP 3.8 s, 0.82 GB
(its decoder keeps several canvases); HEIC 4.2 s, 0.40 GB. Memory is the process's peak.
"""

# ruff: noqa: T201 - prints its table

from __future__ import annotations

import io
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from PIL import Image

SIZE = (8160, 6120)


def write(folder):
    import pillow_heif

    rng = np.random.default_rng(0)
    small = Image.fromarray(rng.integers(0, 255, (30, 40, 3), dtype=np.uint8))
    image = small.resize(SIZE, Image.Resampling.BICUBIC)
    image.save(folder / "large.jpg", quality=85)
    image.save(folder / "large.png", compress_level=1)
    image.save(folder / "large.webp", quality=80, method=0)
    out = io.BytesIO()
    pillow_heif.from_pillow(image).save(out, quality=60)
    (folder / "large.heic").write_bytes(out.getvalue())


def read(path):
    from showthrough.photo.picture.load import load_picture

    data = path.read_bytes()
    start = time.perf_counter()
    picture = load_picture(data, name=path.name)
    seconds = time.perf_counter() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    print(
        f"{path.name:12} {len(data) / 1e6:6.1f} MB {seconds:5.1f} s {peak:5.2f} GB {picture.size}"
    )


def main():
    if len(sys.argv) > 1:
        read(Path(sys.argv[1]))
        return
    with tempfile.TemporaryDirectory() as name:
        write(Path(name))
        for path in sorted(Path(name).iterdir()):
            # A process each: the peak is the process's own.
            subprocess.run([sys.executable, __file__, str(path)], check=True)


if __name__ == "__main__":
    main()
