"""How a phone bent the numbers of a picture, and bending them back.

Phones lay a tone curve over a picture, S-shaped as a rule. What was done to one picture is
found from references in it: a chart, or two cards.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from showthrough.colour.lights import FloatArray
from showthrough.colour.space import srgb_to_linear
from showthrough.photo.picture.encoding import LightArray
from showthrough.photo.picture.load import Picture
from showthrough.photo.sensor import to_sensor

_NODES = np.linspace(0.0, 1.0, 513)
_STEEPEST = 0.9
"""Bends that would turn the curve back on itself are held to this."""


@dataclass(frozen=True, slots=True)
class Tone:
    """What straightens the encoded numbers u of a file: u + sum of bends[k] sin((k + 1) pi u)."""

    bends: tuple[float, ...] = ()

    @property
    def none(self) -> bool:
        """Whether there is nothing to straighten."""
        return not any(self.bends)

    def straight(self, linear: FloatArray | LightArray) -> FloatArray:
        """Linear sRGB of the file to linear light before the phone bent it, shape (..., 3)."""
        if self.none:
            return np.asarray(linear, dtype=float)
        nodes = srgb_to_linear(_NODES)
        shift = srgb_to_linear(np.clip(_NODES + self.shift(), 0.0, 1.0)) - nodes
        # Beyond the ends there is nothing to bend: the shift is nil there.
        return np.asarray(linear + np.interp(linear, nodes, shift), dtype=float)

    def of_sensor(self, sensor: FloatArray) -> FloatArray:
        """The same for numbers of the typical sensor."""
        if self.none:
            return sensor
        return self.straight(sensor @ np.linalg.inv(to_sensor()).T) @ to_sensor().T

    def straightened(self, picture: Picture) -> Picture:
        """The picture before the phone bent it."""
        if self.none:
            return picture
        return replace(picture, linear=self.straight(picture.linear).astype(np.float32))

    def shift(self) -> FloatArray:
        """What is added to the encoded numbers, at 513 even steps from 0 to 1."""
        turns = np.pi * np.arange(1, len(self.bends) + 1)
        steep = float(np.abs(turns * self.bends).sum())
        held = min(1.0, _STEEPEST / max(steep, 1e-9))
        return held * np.sin(_NODES[:, None] * turns) @ np.array(self.bends)


PLAIN = Tone()
"""Nothing to straighten."""
