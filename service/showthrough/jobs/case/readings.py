"""The reading that one colour of a job stands for, and the colour in every notation."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypedDict

from pydantic import ValidationError

from showthrough.colour.lights import DEFAULT_ILLUMINANT, DEFAULT_OBSERVER
from showthrough.colour.names import describe_colour
from showthrough.colour.notation import EXAMPLES, NOTATIONS, format_colour, parse_colour
from showthrough.colour.reading import Reading, colour_of
from showthrough.colour.spectrum import SURFACE_BOUNDS
from showthrough.colour.tristimulus import reading_from_lab, reading_from_lch, reading_from_xyz
from showthrough.errors import InputError, NotationError, Problem, shown
from showthrough.jobs.schema.job import NOTATION_KEYS, ColourInput
from showthrough.jobs.schema.wrong import problems_of

if TYPE_CHECKING:
    from showthrough.colour.files.swatches import Swatch, SwatchFile


class _Light(TypedDict):
    illuminant: str | None
    observer: int | None
    specular_included: bool


def reading_of(value: ColourInput, folder: Path | None = None) -> Reading:
    """The reading that one colour of a job stands for.

    Raises:
        InputError: not exactly one notation, or the notation is wrong.
    """
    given = [key for key in NOTATION_KEYS if getattr(value, key) is not None]
    if len(given) != 1:
        what = "has none" if not given else f"has {' and '.join(given)}"
        raise InputError.at(
            "", what, f"a colour needs exactly one of {', '.join(NOTATION_KEYS)}; this one {what}"
        )
    key = given[0]
    light: _Light = {
        "illuminant": value.illuminant,
        "observer": value.observer,
        "specular_included": value.specular == "included",
    }
    if key == "text":
        return _reading_from_text(str(value.text), light)
    if key == "swatch":
        _refuse_light("a sample swatch", light)
        return _swatch(str(value.swatch)).reading
    if key == "spectrum":
        assert value.spectrum is not None
        _refuse_light("a spectrum", {**light, "specular_included": False})
        from showthrough.colour.files.spectra import reading_from_grid

        return reading_from_grid(
            value.spectrum.start_nm,
            value.spectrum.step_nm,
            value.spectrum.values,
            percent=False,
            specular_included=light["specular_included"],
        )
    if key == "spectrum_file":
        said = "specular" in value.model_fields_set
        return _reading_of_file(
            str(value.spectrum_file), value.sample, folder, light, specular_said=said
        )
    return _reading_of_numbers(key, getattr(value, key), light)


def swatch_of(value: ColourInput) -> Swatch | None:
    """The sample swatch that a colour names, or None where it is a notation."""
    if value.swatch is not None:
        return _swatch(value.swatch)
    if value.text is None:
        return None
    try:
        parse_colour(value.text)
    except NotationError:
        try:
            return _swatch(value.text)
        except NotationError:
            if _css_word(value.text) is None:
                raise
    except InputError:
        return None
    return None


def _swatch(name: str) -> Swatch:
    from showthrough.colour.files.swatches import find_swatch

    return find_swatch(name)


def _reading_from_text(text: str, light: _Light) -> Reading:
    """A notation, else the name of a sample swatch, else a colour word of CSS."""
    try:
        return parse_colour(text, **light)
    except NotationError as error:
        try:
            reading = _swatch(text).reading
        except InputError as unknown:
            if word := _css_word(text):
                found = parse_colour(word, **light)
                assert found.lab is not None
                # The word is understood, never repeated: sentences take our own words for it.
                return replace(found, text=describe_colour(found.lab))
            # What holds a sign or begins with a figure was meant as a notation.
            if not text[:1].isalpha() or any(c in text for c in "#()"):
                raise error from None
            near = unknown.problems[0].message.partition("; ")[2]
            code = "; shop and maker codes are not known" if any(c.isdigit() for c in text) else ""
            message = (
                f"{shown(text, 30)!r} is no colour here{code}; {near}; or write it as "
                f"{EXAMPLES['hex']} or {EXAMPLES['lab']}"
            )
            raise NotationError([Problem("", shown(text), message, "notation")]) from None
    _refuse_light("a sample swatch", light)
    return reading


def name_for(text: str) -> str:
    """What to call something by the colour text typed for it; a word of CSS becomes ours."""
    if code := _css_word(text):
        return describe_colour(parse_colour(code).lab or (0.0, 0.0, 0.0))
    return text


def _css_word(text: str) -> str | None:
    """The hex code of a colour word of CSS, in any case and in its parts, or None.

    Source: W3C CSS Color Module Level 4, section 6.1, as Pillow carries it.
    """
    word = re.sub(r"[\s_-]+", "", text).lower()
    if not word.isalpha():
        return None
    from PIL.ImageColor import colormap

    code = colormap.get(word)
    return code if isinstance(code, str) else None


def _refuse_light(what: str, light: _Light) -> None:
    """Refuse a stated light that would be passed over."""
    stated = [key for key, value in light.items() if value]
    if stated:
        key = stated[0].removesuffix("_included")
        shown_value = light[stated[0]]  # type: ignore[literal-required] # one of its own keys
        raise InputError.at(
            key,
            "included" if shown_value is True else shown_value,
            f"{what} carries its own light; leave {key} out, or give the colour as lab",
        )


def _number(value: float) -> str:
    """Every digit, and no ".0": as a painter types it, so that all doors repeat the same."""
    return repr(float(value)).removesuffix(".0")


_MAKE = {"lab": reading_from_lab, "lch": reading_from_lch, "xyz": reading_from_xyz}


def _reading_of_numbers(key: str, value: Any, light: _Light) -> Reading:
    """A notation given under its own key: the text form says the same."""
    if key in _MAKE:
        return _MAKE[key](
            value,
            light["illuminant"] or DEFAULT_ILLUMINANT,
            DEFAULT_OBSERVER if light["observer"] is None else light["observer"],
            specular_included=light["specular_included"],
            text=f"{key}({' '.join(_number(v) for v in value)})",
        )
    if key == "lrv":
        return parse_colour(f"lrv({_number(value)})", **light)
    return parse_colour(value, **light)


def _reading_of_file(
    name: str, sample: str | None, folder: Path | None, light: _Light, *, specular_said: bool
) -> Reading:
    from showthrough.colour.files.spectra import read_spectral_file

    if folder is None:
        raise InputError.at(
            "spectrum_file",
            name,
            "files are read only for a job file; send the spectrum inline as spectrum",
            "file_refused",
        )
    if "\0" in name:
        raise InputError.at("spectrum_file", name, f"{name!r} is not the name of a file")
    # What the file itself says of its mirror reflection holds unless the job says otherwise.
    return read_spectral_file(
        folder / name,
        sample,
        illuminant=light["illuminant"],
        observer=light["observer"],
        specular_included=light["specular_included"] if specular_said else None,
    )


def read_swatch_file(path: str | Path, *, strict: bool = True) -> SwatchFile:
    """The painter's own swatches: a table, or a collection in the format of ISO 28178.

    Args:
        path: the file.
        strict: whether every row must be in order.

    Raises:
        InputError: the file cannot be read, no row of it can be used, or it must be in order
            and is not; the first faults are listed, the rest counted.
    """
    from showthrough.colour.files.spectra import text_of_file
    from showthrough.colour.files.swatches import read_swatches

    try:
        return read_swatches(text_of_file(Path(path))).checked(strict=strict)
    except InputError as error:
        raise error.within("swatches") from None


def notations(
    text: str, illuminant: str | None = None, observer: int | None = None
) -> list[tuple[str, str]]:
    """The colour in words and in each notation, D65 and 2 degrees unless it has its own light.

    Raises:
        InputError: the text is no colour, or no surface can have it.
    """
    try:
        value = ColourInput(text=text)
    except ValidationError as error:
        raise InputError(problems_of(error, ColourInput)) from error
    light = {"illuminant": illuminant, "observer": observer}
    reading = reading_of(value.model_copy(update={k: v for k, v in light.items() if v is not None}))
    colour = colour_of(reading, SURFACE_BOUNDS)
    rows = [("words", describe_colour(colour.lab))]
    rows += [(name, format_colour(colour.lab, name, colour.reflectance)) for name in NOTATIONS]
    rows += [("note", note) for note in colour.notes]
    return rows
