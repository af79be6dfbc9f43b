"""How fast a film dries in the room there is, and when it must not be laid at all.

Water-borne paint dries as fast as the air takes up water: its vapour pressure deficit.
Oil, alkyd and reacting paints go by temperature. The exponent of the film is a guess.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

from showthrough.defaults import Default, defaults_of
from showthrough.errors import ProblemList
from showthrough.workshop.limits import choice, number, numbers

LABEL_C, LABEL_HUMIDITY = 23.0, 50.0
"""Room that a label's drying times are stated for, degC and % (ISO 3270, from memory)."""

DEFAULTS = defaults_of("drying")
"""The rules' constants."""


class Chemistry(NamedTuple):
    """What a kind of product waits for where its label says nothing."""

    recoat_h: Default
    handle_h: Default
    """Refit and stack: films do not block."""
    light_use_d: Default
    cure_d: Default
    least_c: Default
    by_water: bool
    """Dries by giving off water, so that humidity counts; otherwise temperature does."""


_BY_WATER = {"water-borne", "mineral"}


def _chemistry(name: str) -> Chemistry:
    row = defaults_of(name)
    return Chemistry(
        row["recoat"],
        row["handle"],
        row["light use"],
        row["cure"],
        row["least temperature"],
        name in _BY_WATER,
    )


CHEMISTRY = {
    name: _chemistry(name)
    for name in ("water-borne", "alkyd", "shellac", "lacquer", "mineral", "two-pack")
}
"""By chemistry; a label's own times win."""


_BOUNDS = (
    ("humidity_percent", 0.0, 100.0, "%", False),
    ("temperature_c", -20.0, 60.0, "°C", False),
    ("surface_c", -20.0, 60.0, "°C", False),
    ("night_c", -20.0, 60.0, "°C", False),
)


@dataclass(frozen=True, slots=True)
class Climate:
    """The air of the room, and how cold it gets at night.

    Raises:
        InputError: every number out of range, by field.
    """

    temperature_c: float = LABEL_C
    humidity_percent: float = LABEL_HUMIDITY
    """Relative humidity, 0 to 100."""
    surface_c: float | None = None
    """Temperature of the piece; None takes that of the air."""
    night_c: float | None = None
    """Lowest temperature while it dries through the night; None where it does not fall."""

    def __post_init__(self) -> None:
        """Tell all that cannot be, at once."""
        with ProblemList() as wrong:
            numbers(wrong, self, _BOUNDS)
            if (
                not wrong.problems
                and self.night_c is not None
                and self.night_c > self.temperature_c
            ):
                told = f"the night's {self.night_c:g} °C is above the day's {self.temperature_c:g}"
                wrong.add("night_c", self.night_c, told, "order")


class Stop(NamedTuple):
    """A reason not to lay a coat now."""

    code: str
    message: str
    value: float
    limit: float


def saturation_kpa(temperature_c: float) -> float:
    """Vapour pressure of saturated air over water, kPa.

    Source:
        Magnus formula with 17.62 and 243.12 degC (WMO-No. 8, annex 4.B; from memory).
    """
    return 0.6112 * math.exp(17.62 * temperature_c / (243.12 + temperature_c))


def deficit_kpa(temperature_c: float, humidity_percent: float) -> float:
    """Vapour pressure deficit: what the air can still take up, kPa."""
    return saturation_kpa(temperature_c) * (1.0 - humidity_percent / 100.0)


def dew_point_c(temperature_c: float, humidity_percent: float) -> float:
    """Temperature at which the air's water condenses, degC; -inf for dry air.

    Source:
        The Magnus formula of ``saturation_kpa`` solved for the temperature.
    """
    if humidity_percent <= 0.0:
        return -math.inf
    x = math.log(humidity_percent / 100.0) + 17.62 * temperature_c / (243.12 + temperature_c)
    return 243.12 * x / (17.62 - x)


def deficit_factor(climate: Climate) -> float:
    """Deficit of the label's room over that of this one, not clipped; inf in saturated air."""
    here = deficit_kpa(climate.temperature_c, climate.humidity_percent)
    return deficit_kpa(LABEL_C, LABEL_HUMIDITY) / here if here > 0.0 else math.inf


def drying_factor(chemistry: str, climate: Climate, film_ratio: float = 1.0) -> float:
    """Hours here over hours on the label.

    Args:
        chemistry: one of ``CHEMISTRY``.
        climate: the room; its air temperature and humidity count.
        film_ratio: wet film laid over the wet film of the label's times, 0.05 to 20.

    Returns:
        The room's factor, clipped to 0.5 to 6, times film_ratio^1.2 (the exponent is a guess).

    Raises:
        InputError: an unknown chemistry or an absurd film.
    """
    with ProblemList() as wrong:
        choice(wrong, "chemistry", chemistry, CHEMISTRY)
        number(wrong, "film_ratio", film_ratio, 0.05, 20.0, "times the label's film")
    if CHEMISTRY[chemistry].by_water:
        room = deficit_factor(climate)
    else:
        colder = (LABEL_C - climate.temperature_c) / 10.0
        room = DEFAULTS["factor for 10 degC"].value ** colder
    room = min(max(room, DEFAULTS["least factor"].value), DEFAULTS["most factor"].value)
    return room * film_ratio ** DEFAULTS["film exponent"].value


def stops(climate: Climate, chemistry: str, least_c: float | None = None) -> tuple[Stop, ...]:
    """Reasons not to lay a coat in this room; none where it may be laid.

    Args:
        climate: the room, its night included: what dries over night is as cold as the night.
        chemistry: one of ``CHEMISTRY``.
        least_c: the label's least temperature, degC; None takes the chemistry's.

    Raises:
        InputError: an unknown chemistry or an absurd temperature.
    """
    with ProblemList() as wrong:
        choice(wrong, "chemistry", chemistry, CHEMISTRY)
        if least_c is not None:
            number(wrong, "least_c", least_c, -20.0, 40.0, "°C")
    air, night = climate.temperature_c, climate.night_c
    surface = air if climate.surface_c is None else climate.surface_c
    coldest = min(surface, air, surface if night is None else night)
    # The water in the air stays the same over night, and so does its dew point.
    dew = dew_point_c(air, climate.humidity_percent) + DEFAULTS["above dew point"].value
    least = CHEMISTRY[chemistry].least_c.value if least_c is None else least_c
    damp, hot = DEFAULTS["most humidity"].value, DEFAULTS["most temperature"].value
    hottest = max(surface, air)
    when = "in the night" if night is not None and coldest == night else "now"
    stated = climate.humidity_percent
    reasons: tuple[tuple[bool, str, str, float, float], ...] = (
        (
            min(surface, coldest) < dew,
            "dew",
            (
                f"the surface is at {coldest:.1f} °C {when}, under {dew:.1f} (dew point + 3): "
                "water may settle on the film"
            ),
            coldest,
            dew,
        ),
        (
            coldest < least,
            "cold",
            (
                f"{coldest:.1f} °C {when} is under the product's least, {least:.1f}: the film may "
                "not form"
            ),
            coldest,
            least,
        ),
        (
            stated > damp,
            "damp",
            f"{stated:.0f}% relative humidity is over {damp:.0f}%: wait or dry the air",
            stated,
            damp,
        ),
        (
            hottest > hot,
            "hot",
            f"{hottest:.1f} °C is over {hot:.0f}: the film dries before it levels",
            hottest,
            hot,
        ),
    )
    return tuple(Stop._make(stop) for holds, *stop in reasons if holds)
