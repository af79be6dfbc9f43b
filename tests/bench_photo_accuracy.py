"""How near a colour read from a phone photo comes to the truth. Run by hand.

    PYTHONPATH=service:tests python tests/bench_photo_accuracy.py KEEP.csv [--batches N] [--table]

Three cameras photograph chips of the 99 CIE evaluation samples under five lights, plain and
processed, beside a chart, a white and a grey card; each photo is read by each of them. A batch
is one photo of each kind; 80 make 400 photos a row. Readings are kept in a file outside the
project, so that a run goes on where an earlier one stopped; ``--table`` writes the table to
``bench_photo_accuracy.md``. See tests/reference/camera.py and processing.py for what the
simulated phones do, and what they lack.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np

from reference import camera
from reference.photo_trials import COLOURED, NOTHING, WAYS
from reference.processed_trials import rows, run, saved
from reference.processing import SHAPES

TABLE = Path(__file__).with_suffix(".md")
SEED = 57
BASES = {
    "card": "card",
    "two cards": "cards",
    "two cards, light not stated": "cards",
    "chart": "chart",
    "chart, light not stated": "chart",
    COLOURED[1]: "cards",
    NOTHING: "none",
}
"""What of the table each way rests on."""

ALWAYS = ("card", "two cards", "chart", "two cards, light not stated")
"""Ways of 400 photos a row."""

SELDOM = 4
"""Of so many batches one is also read by a chart with no light stated, and with no reference; one
more has photos of their own, in which a coloured card lies beside the white and the grey one."""

DAYLIGHT = ("D50", "D65", "D75")
HEAD = ("in the picture", "file", "", "photos", "median", "95 % below", "inside", "usual radius")


def line(kept, way, processed, choose, name):
    """One row of the table: trials of a way that are chosen by camera and light."""
    trials = saved(way, processed, kept)
    radii = trials.radii(BASES[way], processed)
    here = choose(trials)
    errors, radii = trials.errors[here], radii[here]
    return (
        way,
        "processed" if processed else "plain",
        name,
        str(errors.size),
        f"{np.median(errors):.1f}",
        f"{np.quantile(errors, 0.95):.1f}",
        f"{(errors <= radii).mean():.0%}",
        f"{np.median(radii):.1f}",
    )


def ways(kept):
    """The ways of the table of which there are readings."""
    found = {row[0] for row in kept}
    return [way for way in BASES if way in found]


def by_camera(kept):
    """Rows of 400 photos: cameras, plain and processed, by each way; all lights alike."""
    for way in ways(kept):
        for processed in (False, True):
            for name in camera.CAMERAS:
                yield line(kept, way, processed, lambda t, n=name: t.cameras == n, name)


def by_light(kept):
    """The same photos by light, all cameras together."""
    for way in ways(kept):
        for processed in (False, True):
            for light in camera.LIGHTS:
                yield line(kept, way, processed, lambda t, n=light: t.lights == n, light)


def together(kept):
    """Share inside over all rows of 400."""
    found = []
    for way in ALWAYS:
        for processed in (False, True):
            trials = saved(way, processed, kept)
            found.append(trials.errors <= trials.radii(BASES[way], processed))
    return float(np.concatenate(found).mean())


def unstated(kept):
    """Usual radius with the light not stated over that with it stated, by two cards."""
    for processed in (False, True):
        silent, stated = (
            float(np.median(saved(way, processed, kept).radii("cards", processed)))
            for way in ("two cards, light not stated", "two cards")
        )
        yield f"{silent / stated:.2f} ({'processed' if processed else 'plain'})"


def markdown(kept):
    """The whole table as text."""

    def table(lines):
        cells = [HEAD, ["---"] * len(HEAD), *lines]
        return "\n".join("| " + " | ".join(row) + " |" for row in cells)

    return (
        "# Colours read from simulated photos\n\n"
        "Made by `tests/bench_photo_accuracy.py --table`; errors and radii in CIEDE2000. Two "
        "published sets of sensitivities (nikon, canon) and an invented one (pocket). Processed: "
        "tone curve up to 25 of 255, local brightening, saturation, sharpening; of plain files it "
        "is stated that they are. The kind of light is stated unless the row says otherwise.\n\n"
        "Inside over all rows of card, two cards (light stated or not) and chart: "
        f"{together(kept):.1%}.\n\n"
        "Two cards, usual radius with the light not stated over that with it stated: "
        f"{', '.join(unstated(kept))}.\n\n"
        f"By camera, all five lights alike:\n\n{table(by_camera(kept))}\n\n"
        f"By light, all cameras alike:\n\n{table(by_light(kept))}\n"
    )


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("keep", type=Path, metavar="KEEP.csv")
    parser.add_argument("--batches", type=int, default=80)
    parser.add_argument("--table", action="store_true", help="write the table from what is kept")
    options = parser.parse_args()
    settings = {"samples": camera.evaluation_samples(), "shapes": SHAPES, "seed": SEED}
    for batches in range(1, options.batches + 1):
        read = (*WAYS, NOTHING) if batches % SELDOM == 1 else ALWAYS
        run(options.keep, batches, ways=read, **settings)
    run(options.keep, options.batches // SELDOM, ways=COLOURED[1:], **settings)
    text = markdown(rows(options.keep))
    if options.table:
        TABLE.write_text(text, encoding="utf-8")
    print(text)  # noqa: T201 - prints its table


if __name__ == "__main__":
    main()
