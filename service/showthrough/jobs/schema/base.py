"""What every model of a job shares: plain numbers, one line of text, no unknown key."""

from __future__ import annotations

from collections.abc import Mapping
from numbers import Real
from typing import Annotated, Any, get_args, get_origin

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    Field,
    Strict,
    model_validator,
)

from showthrough.errors import UNSAFE, harmless


def _one_line(text: str) -> str:
    """Refuse what a terminal would obey instead of showing."""
    found = UNSAFE.search(text)
    if found is not None:
        raise ValueError(
            f"holds the control character {harmless(found[0])}; write it as one line of plain text"
        )
    return text


Number = Annotated[float, Strict()]
Whole = Annotated[int, Strict()]
YesNo = Annotated[bool, Strict()]
"""Every number and yes or no of a job is one of these: ``true`` is no 1, "45" is a text."""

Line = Annotated[str, AfterValidator(_one_line)]
Text = Annotated[Line, Field(max_length=200)]
Name = Annotated[Line, Field(min_length=1, max_length=80)]


def _bare(annotation: Any) -> Any:
    """A type without what is said about it."""
    return get_args(annotation)[0] if get_origin(annotation) is Annotated else annotation


_AS_THEY_ARE = (str, int, dict, list, tuple)


class Model(BaseModel):
    """Unknown keys and NaN are refused; a job does not change once read."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False, defer_build=True)

    @model_validator(mode="before")
    @classmethod
    def _as_written(cls, given: Any) -> Any:
        """Numbers of other libraries as Python's own; 3.0 is a whole number, as JSON has it."""
        # One validator a table: one for each of its fields would slow every start.
        if not isinstance(given, Mapping):
            return given
        return {key: cls._own_number(key, value) for key, value in given.items()}

    @classmethod
    def _own_number(cls, key: Any, value: Any) -> Any:
        # What a file can hold is told first: the look at what other libraries call a number costs.
        if isinstance(value, _AS_THEY_ARE) or not isinstance(value, Real):
            return value
        number = float(value)
        field = cls.model_fields.get(key)
        if field is None:
            return value
        if not number.is_integer():
            return number
        annotation = field.annotation
        whole = int in (annotation, *(_bare(a) for a in get_args(annotation)))
        return int(number) if whole else number
