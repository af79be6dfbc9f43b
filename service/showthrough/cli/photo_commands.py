"""What the commands that read photos and drawdowns do."""

from __future__ import annotations

import argparse
import contextlib
import signal
import sys
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from showthrough.cli.commands import job_from_line, keep, progress_bar, save, tell
from showthrough.errors import InputError
from showthrough.files import read_file

_MOST_PHOTO_BYTES = 200_000_000


def photo_bytes(path: str) -> tuple[bytes, str]:
    """A photo's bytes and its name for messages."""
    file = Path(path)
    return read_file(file, "photo", _MOST_PHOTO_BYTES), file.name


def corners(option: str, text: str) -> list[Any]:
    """Numbers of an option: left,top,right,bottom, or x,y of three or more corners."""
    try:
        values = [float(part) for part in text.replace(";", ",").split(",") if part.strip()]
    except ValueError:
        values = []
    if len(values) == 4:
        return values
    if len(values) >= 6 and len(values) % 2 == 0:
        return [list(pair) for pair in zip(values[::2], values[1::2], strict=True)]
    raise InputError.at(
        option,
        text,
        f"{text!r} is no place in the picture; write left,top,right,bottom in fractions of it, as "
        "0.1,0.1,0.3,0.2, or the x,y of three or more corners",
    )


def references(args: argparse.Namespace) -> dict[str, Any]:
    """What the line says of cards, chart, sheets and light."""
    held = {
        "cards": [_card(text) for text in args.card or ()],
        "sheets": [corners("--sheet", text) for text in args.sheet or ()],
        "chart": None if args.chart is None else _chart(args.chart, args.chart_values),
        "light": args.light,
        "processing": "plain" if args.plain else None,
    }
    return {key: value for key, value in held.items() if value not in (None, [])}


def _card(text: str) -> dict[str, Any]:
    where, _, colour = text.partition("=")
    card: dict[str, Any] = {"region": corners("--card", where)}
    if colour:
        card["kind" if colour in {"white", "grey", "black"} else "colour"] = colour
    return card


def _chart(where: str, values: str | None) -> dict[str, Any]:
    chart: dict[str, Any] = {} if where == "find" else {"corners": _chart_corners(where)}
    return chart if values is None else {**chart, "values_file": values}


def _chart_corners(text: str) -> Sequence[Any]:
    found = corners("--chart", text)
    if len(found) == 4 and not isinstance(found[0], list):
        left, top, right, bottom = found
        return [[left, top], [right, top], [right, bottom], [left, bottom]]
    return found


def chip(args: argparse.Namespace) -> None:
    """The colour of a chip in a photo."""
    from showthrough.cli.text.photos import chip_text
    from showthrough.jobs.photos.photos import read_chip

    request = references(args)
    if args.region is not None:
        request["region"] = corners("--region", args.region)
    data, name = photo_bytes(args.photo)
    tell(args, read_chip(data, request, Path(), name=name), chip_text)


def surface(args: argparse.Namespace) -> None:
    """The patches of a bare piece in a photo."""
    from showthrough.cli.text.photos import surface_text, surface_toml
    from showthrough.jobs.photos.photos import read_surface

    request = references(args)
    if args.area is not None:
        request["area"] = corners("--area", args.area)
    if args.most is not None:
        request["most"] = args.most
    data, name = photo_bytes(args.photo)
    answer = read_surface(data, request, Path(), name=name)
    if args.toml:
        sys.stdout.write(surface_toml(answer))
    else:
        tell(args, answer, surface_text)


def drawdown(args: argparse.Namespace) -> None:
    """A paint measured over a black and white card."""
    from showthrough.cli.text.photos import drawdown_text
    from showthrough.jobs.case.resolve import load_toml
    from showthrough.jobs.photos.photos import read_drawdown

    path = Path(args.readings)
    request = load_toml(path, "drawdown")
    if args.photo is None:
        answer = read_drawdown(request, folder=path.parent)
    else:
        data, name = photo_bytes(args.photo)
        answer = read_drawdown(request, data, folder=path.parent, name=name)
    if args.save is not None:
        from showthrough.jobs.photos.photos import paint_toml

        save(Path(args.save), paint_toml(answer.paint).encode(), replace=args.replace)
    tell(args, answer, drawdown_text)


@contextlib.contextmanager
def _uninterrupted() -> Iterator[None]:
    """Ctrl-C waits until this is done: for some quick steps that only make sense together."""
    asked: list[int] = []
    before = signal.signal(signal.SIGINT, lambda number, _: asked.append(number))
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
    if asked:
        raise KeyboardInterrupt


@contextlib.contextmanager
def _all_or_none(
    out: Path, names: Sequence[str], earlier: Sequence[str] = (), *, replace: bool
) -> Iterator[Path]:
    """A folder whose files, of these names, move into ``out`` together or not at all.

    With ``replace`` those of the ``earlier`` names go with them.
    """
    for name in names:
        keep(out / name, replace=replace)
    made = not out.exists()
    try:
        out.mkdir(parents=True, exist_ok=True)
        half = tempfile.TemporaryDirectory(prefix=".half-", dir=out)
    except OSError as error:
        raise InputError.at(
            "out", str(out), f"{out} cannot be made a folder: {error.strerror or error}"
        ) from error
    try:
        with half as folder:
            yield Path(folder)
            with _uninterrupted():
                for name in names:
                    Path(folder, name).replace(out / name)
                for name in earlier if replace else ():
                    (out / name).unlink(missing_ok=True)
    except BaseException:
        # Also where the painter stops it: no trace of a set that was never whole.
        if made and not any(out.iterdir()):
            out.rmdir()
        raise


def preview(args: argparse.Namespace) -> None:
    """One picture for each coat."""
    from showthrough.film.coats import MOST_COATS
    from showthrough.jobs.photos.preview import draw_preview
    from showthrough.photo.preview.picture import encode_picture
    from showthrough.say.chances import plural

    job, folder = job_from_line(args)
    places = [text.partition("=") for text in args.area]
    areas = [
        {"region": corners("--area", where), **({"patch": patch} if patch else {})}
        for where, _, patch in places
    ]
    request: dict[str, Any] = {"job": job, "areas": areas, "undercoat": args.undercoat}
    if args.coats is not None:
        request["coats"] = args.coats
    data, name = photo_bytes(args.photo)
    drawn = draw_preview(data, request, folder, name=name)
    out = Path(args.out)
    every = [f"coat-{coat}.png" for coat in range(MOST_COATS + 1)]
    together = "coats-side-by-side.png"
    names = [together] if args.side_by_side else every[: drawn.answer.coats + 1]
    earlier = [name for name in (*every, together) if name not in names]
    with (
        _all_or_none(out, names, earlier, replace=args.replace) as half,
        progress_bar("percent") as bar,
    ):

        def progress(part: float) -> None:
            bar(round(100 * part), 100)

        if args.side_by_side:
            picture = encode_picture(drawn.side_by_side(progress))
            save(half / names[0], picture, replace=True)
        else:
            for frame in drawn.frames(progress):
                save(half / names[frame.coat], encode_picture(frame.image), replace=True)
    print(f"{plural(drawn.answer.coats, 'coat')} drawn in {out}")
    captions = drawn.answer.captions
    if args.side_by_side:
        print(f"  from left to right: {', '.join(captions)}")
    else:
        print(f"  {names[0]} to {names[-1]}: {', '.join(captions[-len(names) :])}")
    for note in drawn.answer.notes:
        print(f"  - {note}")
