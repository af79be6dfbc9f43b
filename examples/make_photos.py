"""Makes the example photos: invented scenes of one linen cupboard, with the truth beside them.

    PYTHONPATH=service:tests python examples/make_photos.py [FOLDER]

Nothing here was photographed. Spectra are recovered from the job's invented
colours, and a phone camera reckoned in spectra (tests/reference/camera.py) takes
the pictures: light falling off two to one, glare, blur, noise, JPEG. truth.json
says for each picture where things lie, in the words that requests use, and what
their colours are, CIELAB D65 and 2 degrees.
"""

from __future__ import annotations

import argparse
import io
import json
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from reference import camera, surfaces
from showthrough.colour.lights import WAVELENGTHS
from showthrough.colour.spectrum import SURFACE_BOUNDS, recover_spectra, spectrum_to_lab
from showthrough.film.hiding import constants_from_colour
from showthrough.film.optics import film_reflectance, inside_reflectance, outside_reflectance

SIZE = (800, 600)
GRID = np.arange(380.0, 781.0, 5.0)

TOPCOAT = (66.0, -24.0, 55.0)
BROWN, BROWN_DARK = (40.0, 13.0, 21.0), (31.0, 10.0, 14.0)
FILLER, SANDED = (79.5, 2.0, 22.0), (69.0, 9.0, 28.0)
WHITE_CARD = (95.0, -0.3, 1.2)
BENCH = (58.0, 3.0, 9.0)
CARD_BLACK, CARD_WHITE = (9.0, 0.0, 0.0), (93.0, -0.3, 1.8)

WET_FILM_UM, VOLUME_SOLIDS = 45.0, 0.38


def spectrum(lab: tuple[float, float, float]) -> np.ndarray:
    """A plausible reflectance of a colour, shape (31,)."""
    return recover_spectra([lab], SURFACE_BOUNDS).reflectance[0]


def wide(reflectance: np.ndarray) -> np.ndarray:
    """The same on the camera's wavelengths, shape (81,)."""
    return np.interp(GRID, WAVELENGTHS, reflectance)


def thing(lab: tuple[float, float, float]) -> np.ndarray:
    """What the camera needs of a thing of this colour."""
    return wide(spectrum(lab))


def rounded(lab: Any) -> list[float]:
    """CIELAB as it is written down."""
    return [round(float(v), 2) for v in lab]


def card(box: tuple[float, ...]) -> dict[str, Any]:
    """The white card as requests say it: a little inside its edges."""
    left, top, right, bottom = box
    inner = [left + 0.01, top + 0.015, right - 0.01, bottom - 0.015]
    return {"region": [round(v, 4) for v in inner], "colour": {"lab": list(WHITE_CARD)}}


def taken(scene: camera.Scene, light: str, seed: int, **disturbances: Any) -> bytes:
    """A photo of a scene, the same at each run."""
    rng = np.random.default_rng(seed)
    settings = {"noise": 0.006, "quality": 80, "glare": 4, **disturbances}
    data: bytes = camera.photograph(scene, camera.phone(), light, rng, **settings)
    return data


def chip(light: str, seed: int) -> tuple[bytes, dict[str, Any]]:
    """A chip of the topcoat beside a white card."""
    scene = camera.Scene(*SIZE, thing(BENCH))
    card_box, chip_box = (0.12, 0.25, 0.42, 0.75), (0.5, 0.3, 0.82, 0.7)
    scene.add_box(thing(WHITE_CARD), card_box)
    scene.add_box(thing(TOPCOAT), chip_box)
    words = {"D65": "cloud", "A": "bulb"}
    request = {"region": [0.52, 0.33, 0.8, 0.67], "cards": [card(card_box)], "light": words[light]}
    return taken(scene, light, seed), {"light": light, "request": request, "lab": list(TOPCOAT)}


def chip_by_chart() -> tuple[bytes, dict[str, Any]]:
    """The same chip beside a 24-patch chart, under white LED light."""
    scene = camera.Scene(*SIZE, thing(BENCH))
    left, top, right, bottom = box = (0.08, 0.2, 0.62, 0.7)
    scene.add_chart(camera.chart_spectra(), box)
    scene.add_box(thing(TOPCOAT), (0.68, 0.3, 0.94, 0.66))
    corners = [[left, top], [right, top], [right, bottom], [left, bottom]]
    request = {
        "region": [0.7, 0.33, 0.92, 0.63],
        "chart": {"corners": corners},
        "light": "led",
    }
    truth = {"light": "LED-B3", "request": request, "lab": list(TOPCOAT)}
    return taken(scene, "LED-B3", 3), truth


def door() -> tuple[bytes, dict[str, Any]]:
    """A door of the cupboard: brown finish with its grain, a filled ring mark, a sanded edge."""
    width, height = SIZE
    dark = surfaces.grain(height, width, 4, period=58.0, share=0.35)
    ring = surfaces.disc(height, width, 0.66, 0.36, 0.1)
    sanded = np.zeros((height, width), dtype=bool)
    sanded[int(0.8 * height) :, int(0.45 * width) :] = True
    labels = np.where(dark, 1, 0)
    labels[ring], labels[sanded] = 2, 3
    card_box = (0.05, 0.62, 0.27, 0.94)
    scene = camera.Scene(*SIZE, thing(BROWN))
    for number, lab in ((1, BROWN_DARK), (2, FILLER), (3, SANDED)):
        scene.add(thing(lab), labels == number)
    scene.add_box(thing(WHITE_CARD), card_box)
    left, top, right, bottom = card_box
    labels[int(top * height) : int(bottom * height), int(left * width) : int(right * width)] = -1
    names = ("light grain", "dark grain", "filled ring mark", "sanded-through edge")
    labs = (BROWN, BROWN_DARK, FILLER, SANDED)
    surface = (labels >= 0).sum()
    patches = [
        {"name": name, "lab": list(lab), "share": round(float((labels == i).sum() / surface), 4)}
        for i, (name, lab) in enumerate(zip(names, labs, strict=True))
    ]
    request = {"cards": [card(card_box)], "light": "cloud"}
    truth = {"light": "D65", "request": request, "patches": patches}
    return taken(scene, "D65", 5, glare=2), truth


def drawdown() -> tuple[bytes, dict[str, Any]]:
    """One film of the topcoat over a black and white card, a white card beside it."""
    absorption, scattering = constants_from_colour(spectrum(TOPCOAT))
    scene = camera.Scene(*SIZE, thing(BENCH))
    card_box = (0.04, 0.2, 0.2, 0.8)
    scene.add_box(thing(WHITE_CARD), card_box)
    places = {
        "bare_white": (0.26, 0.12, 0.61, 0.36),
        "bare_black": (0.61, 0.12, 0.96, 0.36),
        "over_white": (0.26, 0.36, 0.61, 0.9),
        "over_black": (0.61, 0.36, 0.96, 0.9),
    }
    regions, labs = {}, {}
    for name, box in places.items():
        bare = spectrum(CARD_WHITE if name.endswith("white") else CARD_BLACK)
        seen = bare
        if name.startswith("over"):
            dry = WET_FILM_UM * VOLUME_SOLIDS
            inside = film_reflectance(absorption, scattering, dry, inside_reflectance(bare))
            seen = outside_reflectance(inside)
        scene.add_box(wide(seen), box)
        left, top, right, bottom = box
        regions[name] = [round(left + 0.04, 4), round(top + 0.05, 4)]
        regions[name] += [round(right - 0.04, 4), round(bottom - 0.05, 4)]
        labs[name] = rounded(spectrum_to_lab(seen))
    request = {
        "wet_film_um": WET_FILM_UM,
        "volume_solids": VOLUME_SOLIDS,
        "regions": regions,
        "photo": {"cards": [card(card_box)], "light": "cloud"},
    }
    truth = {"light": "D65", "request": request, "labs": labs}
    truth["scattering_per_um"] = round(float(scattering.mean()), 4)
    return taken(scene, "D65", 6, glare=2), truth


def cut_out(photo: bytes, region: list[float]) -> bytes:
    """A PNG of a region alone, as a painter may cut a chip out of a photo."""
    image = Image.open(io.BytesIO(photo))
    left, top, right, bottom = region
    box = (left * image.width, top * image.height, right * image.width, bottom * image.height)
    out = io.BytesIO()
    image.crop(tuple(round(v) for v in box)).resize((120, 108)).save(out, "PNG", optimize=True)
    return out.getvalue()


def main() -> None:
    """Write the pictures and truth.json."""
    parser = argparse.ArgumentParser(description=__doc__)
    folder_help = "where to write; examples/photos if absent"
    parser.add_argument("folder", nargs="?", help=folder_help)
    folder = Path(parser.parse_args().folder or Path(__file__).parent / "photos")
    folder.mkdir(parents=True, exist_ok=True)
    made = {
        "door.jpg": door(),
        "chip-daylight.jpg": chip("D65", 1),
        "chip-bulb.jpg": chip("A", 2),
        "chip-chart.jpg": chip_by_chart(),
        "drawdown.jpg": drawdown(),
    }
    photo, truth = made["chip-daylight.jpg"]
    alone = {"light": "D65", "request": {}, "lab": truth["lab"]}
    made["chip-alone.png"] = cut_out(photo, truth["request"]["region"]), alone
    for name, (data, _) in made.items():
        (folder / name).write_bytes(data)
        print(f"{name:20} {len(data) / 1000:6.0f} kB")
    about = "Invented and simulated: made by examples/make_photos.py. CIELAB is D65, 2 degrees."
    table = {"about": about, "photos": {name: truth for name, (_, truth) in made.items()}}
    (folder / "truth.json").write_text(json.dumps(table, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
