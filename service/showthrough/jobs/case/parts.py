"""Checks of a job's parts that a schema cannot say, each on its own.

They hold for a sound job and for the sound parts of one that is wrong elsewhere, so
that one round mends all.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from showthrough.errors import InputError, ProblemList
from showthrough.film.coats import USUAL_DENSITY_G_ML, wet_film_from_use
from showthrough.film.hiding import check_label
from showthrough.jobs.case.finishes import shortlist_of
from showthrough.jobs.schema.bench import LEAST_WET_UM, MOST_WET_UM
from showthrough.jobs.schema.job import Application, Label
from showthrough.workshop.paint.transfer import Transfer, transfer_of

_M = TypeVar("_M", bound=BaseModel)


def sound(model: type[_M], value: Any) -> _M | None:
    """The part as its model, or None where it is absent or wrong."""
    if value is None:
        return None
    try:
        return model.model_validate(value)
    except ValidationError:
        return None


def rows_of(data: Mapping[str, Any], key: str) -> list[Mapping[str, Any]]:
    """The tables in a list of a job; none where it is no list."""
    rows = data.get(key)
    return [r for r in rows if isinstance(r, Mapping)] if isinstance(rows, list | tuple) else []


def check_parts(data: Mapping[str, Any], problems: ProblemList) -> None:
    """Note what is wrong with labels, application, finishes and the names of own cans."""
    for field, label in _labels(data):
        with problems.collecting(field):
            check_label(label.contrast_ratio, label.spreading_rate_m2_l)
    application = sound(Application, data.get("application"))
    if application is not None:
        _check_application(application, problems)
    names = data.get("finishes")
    if isinstance(names, list | tuple) and all(isinstance(name, str) for name in names):
        with problems.collecting():
            shortlist_of(list(names))
    check_names("undercoat", "undercoats", rows_of(data, "undercoat"), "", problems)


def check_names(
    key: str, what: str, rows: Sequence[Mapping[str, Any]], unsaid: str, problems: ProblemList
) -> None:
    """Note names that stand twice; capitals and spaces at the ends do not tell names apart."""
    names = [row.get("name", unsaid) for row in rows]
    plain = [name.strip().casefold() if isinstance(name, str) else "" for name in names]
    for name, count in Counter(plain).items():
        if count > 1 and name:
            places = ", ".join(f"{key}[{i + 1}]" for i, n in enumerate(plain) if n == name)
            problems.add(
                key,
                name,
                f"{count} {what} are called “{name}” ({places}); each needs a name of its own",
                "duplicate_name",
            )


def _labels(data: Mapping[str, Any]) -> Iterator[tuple[str, Label]]:
    topcoat = data.get("topcoat")
    holders = [("topcoat", topcoat)] if isinstance(topcoat, Mapping) else []
    holders += [(f"undercoat[{i + 1}]", can) for i, can in enumerate(rows_of(data, "undercoat"))]
    for field, holder in holders:
        label = sound(Label, holder.get("label"))
        if label is not None:
            yield f"{field}.label", label


def usual_transfer(application: Application) -> Transfer:
    """Part of the paint used that stays on the piece, where the painter does not say."""
    return transfer_of(application.tool, application.gun, application.openness)


def used_wet_film_thickness_um(application: Application) -> float:
    """Wet film of one coat that the paint used makes, µm; stated figures before usual ones."""
    use = application.paint_used
    if use is None or (use.ml is None) == (use.g is None):
        raise InputError.at("paint_used", "", "give the paint used as either ml or g")
    volume_ml = use.ml if use.g is None else use.g / (use.density_g_ml or USUAL_DENSITY_G_ML)
    transfer = application.transfer_efficiency or usual_transfer(application).part.value
    return wet_film_from_use(volume_ml or 0.0, use.area_m2, use.coats, transfer)


def _check_application(application: Application, problems: ProblemList) -> None:
    use = application.paint_used
    if use is None:
        return
    field = "application.paint_used"
    if application.wet_film_um is not None:
        problems.add(
            field, "", "give wet_film_um or paint_used, not both: either says how thick a coat is"
        )
    if use.density_g_ml is not None and use.g is None:
        problems.add(f"{field}.density_g_ml", use.density_g_ml, "goes with g only")
    with problems.collecting("application"):
        wet_um = used_wet_film_thickness_um(application)
        if not LEAST_WET_UM <= wet_um <= MOST_WET_UM:
            film = f"{wet_um:.0f} µm" if wet_um > 1.0 else f"{wet_um:.2g} µm"
            problems.add(
                field,
                film,
                f"the paint used makes a wet film of {film} in a coat; a coat has "
                f"{LEAST_WET_UM:g} to {MOST_WET_UM:g} µm, so check the amount, area and coats",
            )
