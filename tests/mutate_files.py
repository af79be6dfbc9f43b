"""Spoils spectrum and swatch files and reads them: ``python tests/mutate_files.py [COUNT] [SEED]``.

Each case takes one of a few sound files, spoils it one to four times and hands it to every
public reader and to the intake of a sweep. Only the project's own errors may come out, no
warning, nothing that is not finite; by hand, also nothing over 2 s of
processor time or 1 GB.
"""

from __future__ import annotations

import random
import resource
import signal
import sys
import tempfile
import time
import warnings
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

from showthrough.colour.files.spectra import parse_spectra, read_spectral_file
from showthrough.colour.files.swatches import parse_swatches
from showthrough.errors import InputError
from showthrough.jobs.case.readings import read_swatch_file
from showthrough.jobs.sweep.sweep import take_in

MOST_SECONDS = 2.0
MOST_BYTES = 1_000_000_000
NM = range(400, 701, 10)


def _collection(fields: str, rows: list[str]) -> str:
    head = ["CGATS.17", 'ORIGINATOR "invented"', 'ILLUMINANT "D50"', "BEGIN_DATA_FORMAT", fields]
    count = [f"NUMBER_OF_SETS {len(rows)}", "BEGIN_DATA"]
    return "\n".join([*head, "END_DATA_FORMAT", *count, *rows, "END_DATA", ""])


def _values(rng: random.Random, part: str, scale: float = 1.0) -> str:
    return part.join(f"{scale * rng.uniform(0.05, 0.9):.4f}" for _ in NM)


def sound_files() -> dict[str, str]:
    """One file of each kind, all of them sound."""
    rng = random.Random(1)  # noqa: S311 - repeatable, not secret
    labs = [(20 + 3 * i, rng.randint(-9, 9), rng.randint(-9, 9)) for i in range(20)]
    bands = " ".join(f"SPECTRAL_NM{nm}" for nm in NM)
    pairs = [" ".join(f"{nm} {rng.uniform(0.1, 0.9):.3f}" for nm in NM) for _ in range(8)]
    tens = list(range(20))
    return {
        "our table": "name,L,a,b,illuminant,observer,specular,note\n"
        + "".join(f"colour {i},{lab[0]},{lab[1]},{lab[2]},D50,2,excluded,x\n"
                  for i, lab in enumerate(labs)),
        "decimal commas": "name;L;a;b\n"
        + "".join(f"colour {i};{lab[0]},5;{lab[1]};{lab[2]}\n" for i, lab in enumerate(labs)),
        "name and hex": "name,hex\n" + "".join(f"colour {i},#{9 * i:02x}8070\n" for i in tens),
        "no header": "".join(f'"colour, {i}",N {i / 3 + 2:.1f}\n' for i in tens),
        "CIELAB": _collection("SAMPLE_ID LAB_L LAB_A LAB_B",
                              [f"{i} {a} {b} {c}" for i, (a, b, c) in enumerate(labs)]),
        "XYZ": _collection("SAMPLE_LOC XYZ_X XYZ_Y XYZ_Z",
                           [f"A{i} {3 * i + 5} {3 * i + 5} {2 * i + 4}" for i in tens]),
        "spectra": _collection(f"SAMPLE_NAME {bands}",
                               [f'"pale {i}" {_values(rng, " ", 100)}' for i in tens]),
        "pairs": _collection("SAMPLE_ID" + " SPECTRAL_NM SPECTRAL_DEC" * len(NM),
                             [f"{i} {row}" for i, row in enumerate(pairs)]),
        "columns": "wavelength,one,two\n" + "".join(f"{nm},0.4,0.{nm}\n" for nm in NM),
        "one column": "".join(f"{nm};0,{nm}\n" for nm in NM),
        "rows": "name," + ",".join(map(str, NM)) + "\n"
        + "".join(f"row {i},{_values(rng, ',')}\n" for i in tens),
    }  # fmt: skip


_NASTY = (
    "nan", "inf", "-1", "1e400", "-1e308", "1e308", "1e-320", "9" * 5000, "²", "٣", "1_000", "",
    '"', '""', "#", "\0", "\x1b[2J", "\x1f", "\u2028", "\ufeff", ",", ";", "\t", "%", "0x10",
    "BEGIN_DATA", "END_DATA", "BEGIN_DATA_FORMAT", "END_DATA_FORMAT", "NUMBER_OF_SETS",
    "SPECTRAL_NM400", "SPECTRAL_NM", "LAB_L", "400", "name", "lab(1 2", "#12", "N 99", "D70",
    "=1+1", "x" * 300, "Ω" * 90, "OBSERVER 9", "specular included",
)  # fmt: skip


def _at(rng: random.Random, text: str) -> int:
    return rng.randrange(len(text) + 1)


def _lines(change: Callable[[random.Random, list[str]], None]) -> Callable[..., str]:
    def spoil(rng: random.Random, text: str) -> str:
        lines = text.split("\n")
        change(rng, lines)
        return "\n".join(lines)

    return spoil


def _drop_line(rng: random.Random, lines: list[str]) -> None:
    del lines[rng.randrange(len(lines))]


def _repeat_line(rng: random.Random, lines: list[str]) -> None:
    at = rng.randrange(len(lines))
    lines[at:at] = [lines[at]] * rng.choice([1, 1, 1, 1, 20, 20, 3000, 25_000])


def _move_line(rng: random.Random, lines: list[str]) -> None:
    line = lines.pop(rng.randrange(len(lines)))
    lines.insert(rng.randrange(len(lines) + 1), line)


def _repeat_block(rng: random.Random, lines: list[str]) -> None:
    first = rng.randrange(len(lines))
    block = lines[first : first + rng.randrange(1, 12)]
    lines[first:first] = block * rng.choice([1, 1, 2, 50])


def _repeat_word(rng: random.Random, lines: list[str]) -> None:
    at = rng.randrange(len(lines))
    part = next((p for p in ",;\t" if p in lines[at]), " ")
    words = lines[at].split(part)
    place = rng.randrange(len(words))
    words[place:place] = [words[place]] * rng.choice([1, 1, 1, 19, 19, 400, 200_000])
    lines[at] = part.join(words)


def _swap_word(rng: random.Random, lines: list[str]) -> None:
    for _ in range(rng.choice([1, 1, 3])):
        at = rng.randrange(len(lines))
        part = next((p for p in ",;\t" if p in lines[at]), " ")
        words = lines[at].split(part)
        words[rng.randrange(len(words))] = rng.choice(_NASTY)
        lines[at] = part.join(words)


def _swap_column(rng: random.Random, lines: list[str]) -> None:
    """The same word in one place of every line: a fault thousands of times over."""
    word, place = rng.choice(_NASTY), rng.randrange(6)
    for at, line in enumerate(lines):
        part = next((p for p in ",;\t" if p in line), " ")
        words = line.split(part)
        if place < len(words):
            words[place] = word
            lines[at] = part.join(words)


def _insert(rng: random.Random, text: str) -> str:
    at = _at(rng, text)
    return text[:at] + rng.choice(_NASTY) + text[at:]


def _cut(rng: random.Random, text: str) -> str:
    first, last = sorted((_at(rng, text), _at(rng, text)))
    return rng.choice([text[:first], text[last:], text[:first] + text[last:]])


def _exchange(rng: random.Random, text: str) -> str:
    pairs = [(".", ","), (",", ";"), (";", ","), (" ", "\t"), ("\n", "\r"), ("\n", "\r\n"),
             ("\n", "\n\n\n"), ("\n", "\x0b"), ("0", "7"), ("NM", "PCT"), ("\n", " ")]  # fmt: skip
    old, new = rng.choice(pairs)
    return text.replace(old, new)


_SPOILERS: tuple[Callable[[random.Random, str], str], ...] = (
    *map(_lines, (_drop_line, _repeat_line, _move_line, _repeat_block, _repeat_word, _swap_word)),
    *map(_lines, (_swap_word, _swap_column)),
    _insert,
    _cut,
    _exchange,
)


def _encoded(rng: random.Random, text: str) -> bytes:
    kind = rng.choice(["utf-8"] * 6 + ["utf-8-sig", "utf-16", "utf-16-le", "cp1252", "utf-32"])
    raw = bytearray(text.encode(kind, "replace"))
    if raw and rng.random() < 0.1:
        for _ in range(rng.randrange(1, 6)):
            raw[rng.randrange(len(raw))] = rng.randrange(256)
    return bytes(raw)


def spoilt_files(
    count: int, seed: int = 0, longest: int = 8_500_000
) -> Iterator[tuple[str, bytes]]:
    """The same files for the same seed: what each was, and its bytes."""
    rng = random.Random(seed)  # noqa: S311 - repeatable, not secret
    sound = sound_files()
    for _ in range(count):
        kind = rng.choice(list(sound))
        text = sound[kind]
        for _ in range(rng.randrange(1, 5)):
            text = rng.choice(_SPOILERS)(rng, text)[:longest]
        yield kind, _encoded(rng, text)


def _sample(file: Path) -> list[float]:
    reading = read_spectral_file(file)
    return list(reading.lab or reading.reflectance or ())


def _swept(file: Path) -> list[float]:
    _, colours, left_out, _ = take_in(read_swatch_file(file, strict=False), strict=False)
    assert all(row.name and row.reason for row in left_out)
    return [float(v) for c in colours for v in (*c.lab, *c.reflectance)]


def _text(file: Path) -> str:
    return file.read_bytes().decode("utf-8", "replace")


READERS: dict[str, Callable[[Path], list[float]]] = {
    "spectrum file": _sample,
    "spectra": lambda f: [v for r in parse_spectra(_text(f)) for v in r.lab or r.reflectance or ()],
    "swatches": lambda f: [v for s in parse_swatches(_text(f)) for v in s.reading.lab or ()],
    "sweep": _swept,
}


def outcome_of(reader: str, file: Path) -> str:
    """``read`` or ``refused``; anything else is raised."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        refused = None
        try:
            values = READERS[reader](file)
        except InputError as error:
            refused = error
    if refused is not None:
        assert refused.problems
        assert len(str(refused)) < 20_000, "a refusal that nobody reads"
        return "refused"
    assert np.isfinite(values).all()
    return "read"


def _limited() -> None:
    """No more memory from here on than is allowed, and a clock on every reader."""
    pages = int(Path("/proc/self/statm").read_text("ascii").split()[0])
    most = pages * resource.getpagesize() + MOST_BYTES
    resource.setrlimit(resource.RLIMIT_AS, (most, most))

    def late(*_: object) -> None:
        raise TimeoutError

    signal.signal(signal.SIGPROF, late)


def main(count: int = 2000, seed: int = 0) -> int:
    """Read so many spoilt files; returns how many failed."""
    for reader in READERS:  # what is loaded once does not count
        with tempfile.NamedTemporaryFile() as start:
            start.write(sound_files()["our table"].encode())
            start.flush()
            outcome_of(reader, Path(start.name))
    _limited()
    outcomes: Counter[str] = Counter()
    slowest = (0.0, "")
    with tempfile.TemporaryDirectory() as folder:
        for number, (kind, raw) in enumerate(spoilt_files(count, seed)):
            file = Path(folder) / "spoilt"
            file.write_bytes(raw)
            for reader in READERS:
                label = f"case {number}, {kind}, {len(raw)} bytes, {reader}"
                signal.setitimer(signal.ITIMER_PROF, MOST_SECONDS)
                start_s = time.process_time()
                try:
                    outcomes[outcome_of(reader, file)] += 1
                except Exception as error:  # noqa: BLE001 - whatever it is, it is what is sought
                    outcomes["failed"] += 1
                    sys.stdout.write(f"{label}: {type(error).__name__}: {str(error)[:200]}\n")
                finally:
                    signal.setitimer(signal.ITIMER_PROF, 0.0)
                slowest = max(slowest, (time.process_time() - start_s, label))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    told = f"slowest {slowest[0]:.2f} s ({slowest[1]}), {peak:.0f} MB at most"
    sys.stdout.write(f"{dict(outcomes)} {told}\n")
    return outcomes["failed"]


if __name__ == "__main__":
    sys.exit(min(main(*map(int, sys.argv[1:])), 1))
