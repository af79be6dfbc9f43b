"""A phone camera reckoned in spectra: photos whose true colours are known.

Light spectrum times reflectance times the sensor's sensitivities, an imperfect
white balance, the maker's 3x3 matrix, then the disturbances: light falling off
across the picture, glare, blur, noise, and at last the sRGB curve and JPEG.
Nothing here scales RGB to imitate a light. What a phone does after the sensor, a tone
curve and the like, is in ``processing.py`` and is off unless asked for.

Sources: lights, observer, sensitivities, evaluation samples and chart spectra as
carried by colour-science 0.4.7 (CIE; Nikon 5100 measured by NPL; Canon EOS 5D
Mark II and 190 training patches from the Academy's open camera data set). A third
camera, the pocket one, is invented: its sensitivities are bells with a tail.
"""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

import numpy as np
from PIL import Image

from reference.processing import processed
from showthrough.colour.space import (
    linear_rgb_to_xyz,
    linear_to_srgb,
    xyz_to_lab,
    xyz_to_linear_rgb,
)

LIGHTS = ("D50", "D65", "D75", "LED-B3", "A")

BRADFORD = np.array(
    [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
)


def _colour():
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
    return colour


@cache
def _shape():
    return _colour().SpectralShape(380, 780, 5)


def _aligned(spectrum):
    """Values at 380-780 nm by 5; 0 beyond the ends of a sensitivity."""
    zero = {"method": "Constant", "left": 0, "right": 0}
    return spectrum.copy().align(_shape(), extrapolator_kwargs=zero).values


@cache
def evaluation_samples():
    """The 99 colour evaluation samples of CIE 224:2017, reflectances (99, 81)."""
    from colour.quality.cfi2017 import load_TCS_CIE2017

    return np.asarray(load_TCS_CIE2017(_shape()).values).T


@cache
def _academy(name):
    root = Path(_colour().__file__).parent / "characterisation" / "datasets" / "rawtoaces"
    table = np.genfromtxt(root / name, delimiter=",", skip_header=1)
    grid = np.arange(380.0, 781.0, 5.0)
    columns = [np.interp(grid, table[:, 0], c, left=0.0, right=0.0) for c in table[:, 1:].T]
    return np.array(columns)


@cache
def training_samples():
    """190 patches less those that shine brighter than white, (n, 81): never tested on."""
    patches = _academy("190_Patches.csv")
    good = (patches.max(axis=1) < 1.0) & (patches.min(axis=1) > -1e-3)
    return np.clip(patches[good], 0.0, 1.0)


@cache
def lamp_samples():
    """Test colours of lamps (CIE 1995 and 2024, NIST 7.4 and 9.0), reflectances (n, 81)."""
    from colour.quality.datasets import SDS_TCS, SDS_VS

    sets = [*SDS_TCS.values(), *SDS_VS.values()]
    return np.array([_aligned(spectrum) for one in sets for spectrum in one.values()])


@cache
def chart_spectra(name=None):
    """Reflectances of a 24-patch chart in reading order, (24, 81); the average of measured ones."""
    sets = _colour().SDS_COLOURCHECKERS
    chart = next(iter(sets.values())) if name is None else sets[name]
    return np.array([s.copy().align(_shape()).values for s in chart.values()])


@cache
def light_spectrum(name):
    return _aligned(_colour().SDS_ILLUMINANTS[name])


@cache
def observer():
    return _aligned(_colour().MSDS_CMFS["CIE 1931 2 Degree Standard Observer"])


CAMERAS = ("nikon", "canon", "pocket")
"""Two published sets of sensitivities and an invented phone's."""

BELLS = {
    "pocket": ((602.0, 34.0, 46.0, 0.07), (534.0, 44.0, 40.0, 0.06), (458.0, 26.0, 36.0, 0.05)),
    "aside": ((594.0, 28.0, 40.0, 0.04), (526.0, 36.0, 46.0, 0.05), (466.0, 32.0, 28.0, 0.03)),
}
"""Invented: peak, width below and above it in nm, and a floor that all wavelengths share. The
second is kept aside for judging."""


def _bells(channels):
    """Sensitivities (81, 3) of bells with unlike sides, behind a filter that cuts the infrared."""
    grid = np.arange(380.0, 781.0, 5.0)
    bells = [
        np.exp(-0.5 * ((grid - peak) / np.where(grid < peak, below, above)) ** 2) + floor
        for peak, below, above, floor in channels
    ]
    window = 1.0 / (1.0 + np.exp((grid - 665.0) / 12.0)) / (1.0 + np.exp((405.0 - grid) / 6.0))
    return np.array(bells).T * window[:, None]


@cache
def sensitivities(name="nikon", shift_nm=(0.0, 0.0, 0.0)):
    """Sensor sensitivities (81, 3), each channel moved by some nanometres."""
    if name == "canon":
        table = _academy("CANON_EOS_5DMark_II_RGB_Sensitivities.csv").T
    elif name in BELLS:
        table = _bells(BELLS[name])
    else:
        table = _aligned(_colour().MSDS_CAMERA_SENSITIVITIES["Nikon 5100 (NPL)"])
    grid = np.arange(380.0, 781.0, 5.0)
    moved = [np.interp(grid - s, grid, c) for s, c in zip(shift_nm, table.T, strict=True)]
    return np.clip(np.array(moved).T, 0.0, None)


def neutral(reflectance):
    """An even grey or white, (81,)."""
    return np.full(81, float(reflectance))


def _white(light):
    weight = observer() * light_spectrum(light)[:, None]
    return 100.0 * weight.sum(axis=0) / weight[:, 1].sum()


def tristimulus(reflectance, light="D65"):
    weight = observer() * light_spectrum(light)[:, None]
    return 100.0 * np.asarray(reflectance) @ weight / weight[:, 1].sum()


def true_lab(reflectance):
    """CIELAB under D65 for the 2 degree observer."""
    return xyz_to_lab(tristimulus(reflectance), _white("D65"))


def raw_light(reflectance, sensor, light):
    """What the sensor sees, perfectly white-balanced: an ideal white is 1, 1, 1."""
    weight = sensor * light_spectrum(light)[:, None]
    return np.asarray(reflectance) @ (weight / weight.sum(axis=0))


def _seen_as(reflectance, light):
    """XYZ under a light, adapted to D65 by Bradford: what a maker aims at."""
    gain = (BRADFORD @ _white("D65")) / (BRADFORD @ _white(light))
    adapt = np.linalg.solve(BRADFORD, gain[:, None] * BRADFORD)
    return tristimulus(reflectance, light) @ adapt.T


def unit_rows(first_two):
    """A 3x3 matrix that keeps white, from its first two columns."""
    columns = np.reshape(first_two, (3, 2))
    return np.column_stack([columns, 1.0 - columns.sum(axis=1)])


def best_matrix(given, wanted_xyz):
    """The 3x3 with rows that add to 1 of least mean CIELAB distance."""
    from scipy.optimize import minimize

    wanted = xyz_to_lab(wanted_xyz)

    def miss(first_two):
        xyz = linear_rgb_to_xyz(given @ unit_rows(first_two).T)
        return np.sqrt(((xyz_to_lab(xyz) - wanted) ** 2).sum(axis=1)).mean()

    start = np.linalg.lstsq(given, xyz_to_linear_rgb(wanted_xyz), rcond=None)[0].T[:, :2]
    return unit_rows(minimize(miss, start.ravel(), method="Powell", tol=1e-6).x)


@dataclass(frozen=True)
class Phone:
    """A camera and how its maker turns sensor numbers into sRGB."""

    sensor: np.ndarray
    daylight: np.ndarray
    warm: np.ndarray | None = None
    """A second matrix for bulb light; between the two the maker interpolates."""

    def matrix(self, light):
        if self.warm is None:
            return self.daylight
        kelvin = {"D50": 5003, "D65": 6504, "D75": 7504, "LED-B3": 4103, "A": 2856}[light]
        # Interpolated over reciprocal temperature, as open raw formats do.
        share = np.clip((1 / kelvin - 1 / 6504) / (1 / 2856 - 1 / 6504), 0.0, 1.0)
        return share * self.warm + (1.0 - share) * self.daylight


def made_phone(sensor, samples, matrices=1):
    """A phone whose matrix or matrices were fitted on some samples."""

    def fitted(light):
        return best_matrix(raw_light(samples, sensor, light), _seen_as(samples, light))

    return Phone(sensor, fitted("D65"), fitted("A") if matrices == 2 else None)


@cache
def phone(name="nikon", matrices=1):
    """A phone whose matrix or matrices were fitted on the training samples."""
    return made_phone(sensitivities(name), training_samples(), matrices)


def awb_gains(rng, low=0.10, high=0.15):
    """An automatic white balance that misses each channel by 10-15 %, up or down."""
    return 1.0 + rng.uniform(low, high, 3) * rng.choice([-1.0, 1.0], 3)


def flat_numbers(reflectance, camera, light, gains, exposure):
    """Linear sRGB in the file for flat, undisturbed colours, (n, 3), clipped."""
    raw = raw_light(reflectance, camera.sensor, light) * gains * exposure
    return np.clip(np.clip(raw, 0.0, 1.0) @ camera.matrix(light).T, 0.0, 1.0)


@dataclass
class Scene:
    """Flat things lying in one plane: which colour each pixel shows, and how much of it."""

    width: int
    height: int
    ground: np.ndarray
    spectra: list[np.ndarray] = field(default_factory=list)
    layers: list[tuple] = field(default_factory=list)

    def add(self, reflectance, cover):
        """Lay a colour over what is there; cover 0 to 1, shape (h, w)."""
        self.spectra.append(np.asarray(reflectance))
        self.layers.append(((slice(None), slice(None)), np.asarray(cover, dtype=np.float32)))

    def add_box(self, reflectance, box):
        """The same for a rectangle left, top, right, bottom in fractions."""
        left, top, right, bottom = box
        rows = slice(round(top * self.height), round(bottom * self.height))
        columns = slice(round(left * self.width), round(right * self.width))
        self.spectra.append(np.asarray(reflectance))
        self.layers.append(((rows, columns), None))

    def add_chart(self, spectra, box):
        """A 24-patch chart whose patch area fills a box: black board, patches with gaps."""
        left, top, right, bottom = box
        wide, high = (right - left) / 6, (bottom - top) / 4
        self.add_box(
            neutral(0.04),
            (left - 0.1 * wide, top - 0.1 * high, right + 0.1 * wide, bottom + 0.1 * high),
        )
        for i, spectrum in enumerate(spectra):
            x, y = left + (i % 6) * wide, top + (i // 6) * high
            self.add_box(
                spectrum, (x + 0.06 * wide, y + 0.06 * high, x + 0.94 * wide, y + 0.94 * high)
            )

    def raw(self, camera, light):
        """The sensor's picture in even light, float32 (h, w, 3)."""
        picture = np.empty((self.height, self.width, 3), dtype=np.float32)
        picture[:] = raw_light(self.ground, camera.sensor, light)
        for spectrum, (place, cover) in zip(self.spectra, self.layers, strict=True):
            colour = raw_light(spectrum, camera.sensor, light).astype(np.float32)
            if cover is None:
                picture[place] = colour
            else:
                picture += cover[..., None] * (colour - picture)
        return picture


def fall_off(rng, width, height, ratio=2.0):
    """Light over the picture, brightest 1 and darkest 1/ratio: a ramp or a near lamp."""
    y, x = np.mgrid[0:height, 0:width]
    x, y = (x + 0.5) / width - 0.5, ((y + 0.5) / height - 0.5) * height / width
    turn = rng.uniform(0.0, 2.0 * np.pi)
    along = np.cos(turn) * x + np.sin(turn) * y
    if rng.random() < 0.5:
        light = along
        light = (light - light.min()) / np.ptp(light)
        return 1.0 / ratio + (1.0 - 1.0 / ratio) * light
    # A lamp over one side: distance and slant, (1 + r^2/h^2)^-2, stretched to the ratio.
    centre = rng.uniform(0.2, 0.5)
    square = (x - centre * np.cos(turn)) ** 2 + (y - centre * np.sin(turn)) ** 2
    lamp = (1.0 + square / 0.8**2) ** -2.0
    power = np.log(ratio) / np.log(lamp.max() / lamp.min())
    return (lamp / lamp.max()) ** power


def near_lamp(height, place):
    """In place of ``fall_off``: a lamp so many picture widths above a place, distance and slant."""

    def light(_rng, width, rows, _ratio):
        y, x = np.mgrid[0:rows, 0:width]
        square = ((x + 0.5) / width - place[0]) ** 2 + ((y + 0.5) / width - place[1]) ** 2
        lamp = (1.0 + square / height**2) ** -2.0
        return lamp / lamp.max()

    return light


def glare_spots(rng, width, height, count=6, strength=0.8):
    """Mirror light added in soft spots, (h, w)."""
    glare = np.zeros((height, width), dtype=np.float32)
    for _ in range(count):
        size = rng.uniform(0.008, 0.025) * width
        x = np.arange(width) - rng.uniform(0, width)
        y = np.arange(height)[:, None] - rng.uniform(0, height)
        bell = np.exp(-(x * x) / (2 * size * size)) * np.exp(-(y * y) / (2 * size * size))
        glare += strength * rng.uniform(0.4, 1.5) * bell.astype(np.float32)
    return glare


def photograph(
    scene,
    camera,
    light,
    rng,
    *,
    ratio=2.0,
    noise=0.01,
    blur_px=0.8,
    glare=6,
    quality=75,
    level=(0.7, 0.88),
    gains=None,
    tone=1.0,
    processing=None,
):
    """A photo file of a scene.

    Args:
        scene: what lies in front of the camera.
        camera: the phone.
        light: name of a CIE light.
        rng: numpy generator; all chance comes from it.
        ratio: brightest to darkest light across the picture.
        noise: standard deviation at full light; falls with the root of the light.
        blur_px: standard deviation of the blur.
        glare: number of glare spots.
        quality: JPEG quality, or None for PNG.
        level: the file's linear number for a white of 0.9 in the best light, drawn from
            this range.
        gains: white balance; drawn where None.
        tone: exponent of a tone curve on the linear picture; 1 is none.
        processing: what the phone does after the sensor; nothing where None.

    Returns:
        The file's bytes.
    """
    from scipy.ndimage import gaussian_filter

    picture = scene.raw(camera, light)
    size = (scene.width, scene.height)
    shade = fall_off(rng, *size, ratio) if ratio > 1 else np.ones(size[::-1])
    mirror = glare_spots(rng, *size, glare) if glare else np.zeros(size[::-1])
    picture = (picture + mirror[..., None]) * shade[..., None].astype(np.float32)
    if blur_px:
        picture = gaussian_filter(picture, (blur_px, blur_px, 0))
    gains = awb_gains(rng) if gains is None else np.asarray(gains)
    # The phone's exposure keeps white paper below the limit of every channel.
    white = 0.9 * gains @ camera.matrix(light).T
    gain = gains * rng.uniform(*level) / max(white.max(), 0.9 * gains.max())
    picture = picture * gain.astype(np.float32)
    if noise:
        sigma = noise * np.sqrt(np.clip(picture, 0.0, None) + 0.02)
        picture = picture + sigma * rng.standard_normal(picture.shape, dtype=np.float32)
    matrix = camera.matrix(light).astype(np.float32)
    linear = np.clip(np.clip(picture, 0.0, 1.0) @ matrix.T, 0.0, 1.0)
    if tone != 1.0:
        linear = linear**tone
    shown = linear_to_srgb(linear) if processing is None else processed(linear, processing)
    numbers = np.rint(255.0 * shown).astype(np.uint8)
    out = io.BytesIO()
    if quality is None:
        Image.fromarray(numbers).save(out, "PNG", compress_level=1)
    else:
        Image.fromarray(numbers).save(out, "JPEG", quality=quality)
    return out.getvalue()
