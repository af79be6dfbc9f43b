"""Lights, observers and the wavelength bands that everything is reckoned on.

A colour here is seen in 31 bands, 400-700 nm by 10 nm. The tristimulus weights
are a small table made by colour-science (importing that library at run time
would cost most of a second) and checked against it by a test.

Source: ASTM E308 and ASTM E2022; CIE 15 for the lights.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from showthrough.errors import InputError
from showthrough.tables import data_text, rows_of

FloatArray = NDArray[np.float64]


def frozen(values: ArrayLike) -> FloatArray:
    """A copy that nobody can change, for what is shared."""
    copy = np.array(values)
    copy.setflags(write=False)
    return copy


WAVELENGTHS: FloatArray = frozen(np.arange(400.0, 701.0, 10.0))

DEFAULT_ILLUMINANT = "D65"
DEFAULT_OBSERVER = 2

READING_ILLUMINANTS = ("D50", "D65", "A", "C")
"""Illuminants that a reading may state."""

OBSERVERS = (2, 10)
"""CIE 1931 (2 degree) and CIE 1964 (10 degree) standard observers."""


@cache
def _table() -> dict[tuple[str, int], FloatArray]:
    channels: dict[tuple[str, int], list[list[float]]] = {}
    for illuminant, observer, _channel, *values in rows_of(data_text(__file__, "weights.csv"))[1:]:
        channels.setdefault((illuminant, int(observer)), []).append([float(v) for v in values])
    return {key: frozen(np.array(columns).T) for key, columns in channels.items()}


def lights() -> tuple[str, ...]:
    """Names of the CIE lights that colours can be shown under."""
    return tuple(dict.fromkeys(name for name, _ in _table()))


def weights(illuminant: str = DEFAULT_ILLUMINANT, observer: int = DEFAULT_OBSERVER) -> FloatArray:
    """Tristimulus weights of a light and an observer.

    Args:
        illuminant: name of a CIE light, one of ``lights()``.
        observer: 2 or 10 (degrees).

    Returns:
        Weights, shape (31, 3); reflectances times these give XYZ, white Y = 100.

    Raises:
        InputError: the light or the observer is not in the table.

    Source:
        ASTM E308 (table made per ASTM E2022 by colour-science).
    """
    try:
        return _table()[illuminant, observer]
    except KeyError:
        if observer not in OBSERVERS:
            raise InputError.at(
                "observer", observer, f"observer {observer} is not known; use 2 or 10"
            ) from None
        known = ", ".join(lights())
        raise InputError.at(
            "illuminant", illuminant, f"illuminant {illuminant!r} is not known; use one of {known}"
        ) from None


@cache
def white_point(
    illuminant: str = DEFAULT_ILLUMINANT, observer: int = DEFAULT_OBSERVER
) -> FloatArray:
    """XYZ of the perfect white diffuser, shape (3,), Y = 100.

    The sum of the weights is taken, not a rounded published white point, so
    that an even grey has a* = b* = 0 exactly.
    """
    return frozen(weights(illuminant, observer).sum(axis=0))
