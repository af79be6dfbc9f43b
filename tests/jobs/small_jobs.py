"""Small invented jobs for the tests of the use cases and of the doors."""

from __future__ import annotations

import json
import math
from typing import Any

from hypothesis import settings
from hypothesis import strategies as st

from showthrough.colour.spectrum import recover_spectra

YELLOW_GREEN = (66, -24, 55)
RED = (42, 58, 38)
VIVID_YELLOW = (82, 6, 80)
WHITE = (96, -0.5, 2)
GREYISH_GREEN = (65, -10, 10)
BROWN_LAMINATE = (40, 11, 19)
BROWN_FINISH = (38, 12, 20)
DARK_WALNUT = (28, 9, 12)

LIGHT_SPRAY = {"tool": "spray", "wet_film_um": 45}
BRUSH = {"tool": "brush", "wet_film_um": 90}

# A busy machine says nothing about a law.
laws = settings(deadline=None, max_examples=40)


def patch(lab: Any = BROWN_FINISH, name: str = "surface", **more: Any) -> dict[str, Any]:
    """One patch; ``lab`` is CIELAB or any colour of a job."""
    colour = {"lab": list(lab)} if isinstance(lab, tuple) else lab
    return {"name": name, "colour": colour, **more}


def small_job(topcoat: Any = YELLOW_GREEN, *surface: dict[str, Any], **more: Any) -> dict[str, Any]:
    """A job of one topcoat (38 % solids) over patches, light sprayed coats unless said."""
    colour = {"lab": list(topcoat)} if isinstance(topcoat, tuple) else topcoat
    coat = {"colour": colour, "volume_solids": 0.38, **more.pop("paint", {})}
    return {
        "topcoat": coat,
        "surface": list(surface) or [patch()],
        "application": LIGHT_SPRAY,
        **more,
    }


def toml_of(value: Any) -> str:
    """A job as TOML: keys at the top, everything below inline."""
    if isinstance(value, dict):
        return "".join(f"{json.dumps(k)} = {_inline(v)}\n" for k, v in value.items())
    raise TypeError


def _inline(value: Any) -> str:
    if isinstance(value, dict):
        inner = ", ".join(f"{json.dumps(k)} = {_inline(v)}" for k, v in value.items())
        return f"{{{inner}}}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(_inline(v) for v in value)}]"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float) and not math.isfinite(value):
        return str(value)
    if isinstance(value, int | float):
        return repr(value)
    # What JSON escapes, TOML escapes in the same way.
    return json.dumps(value, ensure_ascii=False)


def labs(most_chroma: float = 45.0) -> st.SearchStrategy[tuple[float, float, float]]:
    """Colours, most of them within what paint can be."""

    def of(light: float, chroma: float, hue: float) -> tuple[float, float, float]:
        return (
            round(light, 1),
            round(chroma * math.cos(hue), 1),
            round(chroma * math.sin(hue), 1),
        )

    return st.builds(
        of, st.floats(12.0, 95.0), st.floats(0.0, most_chroma), st.floats(0.0, 2.0 * math.pi)
    )


def paint_labs(most_chroma: float = 45.0) -> st.SearchStrategy[tuple[float, float, float]]:
    """Colours that paint can have, so that no job of them may be refused.

    A law that swallowed a refusal could pass without ever being tried; where every colour
    were refused, this strategy finds none and the law fails.
    """
    return labs(most_chroma).filter(lambda lab: bool(recover_spectra(lab).reachable[0]))


def dull_labs() -> st.SearchStrategy[tuple[float, float, float]]:
    """Colours that every paint and every surface can have."""

    def of(light: float, chroma: float, hue: float) -> tuple[float, float, float]:
        return (
            round(light, 1),
            round(chroma * math.cos(hue), 1),
            round(chroma * math.sin(hue), 1),
        )

    return st.builds(of, st.floats(25.0, 85.0), st.floats(0.0, 22.0), st.floats(0.0, 2.0 * math.pi))


@st.composite
def jobs(draw: st.DrawFn, colours: st.SearchStrategy[Any] | None = None) -> dict[str, Any]:
    """Jobs of one to three patches with and without what may be left out."""
    colours = dull_labs() if colours is None else colours
    count = draw(st.integers(1, 3))
    skins = st.sampled_from(["coated", "bare"])
    surface = []
    for i in range(count):
        one = patch(draw(colours), f"patch {i + 1}", skin=draw(skins))
        if draw(st.booleans()):
            one["porous"] = draw(st.booleans())
        if draw(st.booleans()):
            one["ground"] = draw(st.sampled_from(["wood", "varnish", "laminate", "paint"]))
        surface.append(one)
    job = small_job(draw(colours), *surface)
    tool = draw(st.sampled_from(["brush", "roller", "spray", "aerosol"]))
    job["application"] = {"tool": tool}
    if draw(st.booleans()):
        job["application"]["wet_film_um"] = draw(st.integers(15, 120))
    return job


def many_wrong():
    """A job with a fault of every kind that its parts can have."""
    return {
        "titel": "x",
        "topcoat": {"colour": {"lab": [60, 200, 10]}, "volume_solids": 1.5},
        "surface": [
            patch(BROWN_FINISH, "a", share=0.5),
            patch("5ZZ 4/6", "a", share=0.6),
            patch((50, math.nan, 0), "b", skin="shiny"),
        ],
        "application": {"tool": "broom", "wet_film_um": -4},
        "undercoat": [{"name": "can", "colour": "#12"}],
        "finishes": ["606", "zz9"],
    }
