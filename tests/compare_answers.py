"""Answers of seeded random jobs by two versions, by hand.

``python tests/compare_answers.py write FILE`` keeps what the version in use answers (predict,
soften, sweep and palette for each job); ``... compare FILE`` says which answers differ now:
counts must agree exactly, numbers to one unit in their last printed digit.
"""

from __future__ import annotations

import json
import sys
from collections import Counter
from pathlib import Path
from typing import Any

from reference.random_jobs import random_jobs
from showthrough import InputError, palette_for, predict, soften, sweep

USE_CASES = {"predict": predict, "soften": soften, "sweep": sweep, "palette": palette_for}


def answers(count: int, seed: int) -> list[dict[str, Any]]:
    """Every use case's answer to every job, or its problems."""
    out = []
    for job in random_jobs(count, seed):
        row: dict[str, Any] = {"job": job}
        for name, use_case in USE_CASES.items():
            try:
                row[name] = json.loads(use_case(job).model_dump_json())
            except InputError as error:
                row[name] = {"problems": [p.as_dict() for p in error.problems]}
        out.append(row)
    return out


def differences(old: Any, new: Any, path: str = "") -> list[tuple[str, Any, Any]]:
    """Places where two answers say different things; keys that only the new one has pass."""
    if isinstance(old, dict) and isinstance(new, dict):
        out = [(f"{path}.{key}", old[key], None) for key in old if key not in new]
        for key in old.keys() & new.keys():
            out += differences(old[key], new[key], f"{path}.{key}")
        return out
    if isinstance(old, list) and isinstance(new, list):
        if path == ".rows":  # a table: its order follows its figures
            old, new = (sorted(rows, key=lambda row: row["name"]) for rows in (old, new))
        if len(old) != len(new):
            return [(f"{path}[]", len(old), len(new))]
        return [d for i in range(len(old)) for d in differences(old[i], new[i], f"{path}[{i}]")]
    if isinstance(old, float) and isinstance(new, float):
        digits = max(len(repr(v).partition(".")[2]) for v in (old, new))
        return [] if abs(old - new) <= 1.01 * 10.0**-digits else [(path, old, new)]
    return [] if old == new else [(path, old, new)]


def _marks(job: dict[str, Any]) -> str:
    """What a job holds that earlier versions carried into some answers only."""
    patches = job["surface"]
    radius = any("radius" in c["colour"] for c in (*patches, job["topcoat"]))
    drinks = any(p.get("porous") or p.get("sanded_through") for p in patches)
    return f"{' radius' if radius else ''}{' drinks' if drinks else ''}"


def main() -> None:
    """Write, or compare and print."""
    what, file = sys.argv[1], Path(sys.argv[2])
    if what == "write":
        file.write_text(json.dumps(answers(500, 20261)), encoding="utf-8")
        return
    before = json.loads(file.read_text(encoding="utf-8"))[: int((*sys.argv, 500)[3])]
    count = len(before)
    jobs: Counter[str] = Counter()
    keys: Counter[str] = Counter()
    for i, (old, new) in enumerate(zip(before, answers(count, 20261), strict=True)):
        for name in USE_CASES:
            found = differences(old[name], new[name])
            if found:
                jobs[f"{name}{_marks(old['job'])}"] += 1
            for path, was, now in found:
                plain = "".join(c for c in path if not c.isdigit())
                keys[f"{name}{plain}"] += 1
                if keys[f"{name}{plain}"] <= 2:
                    line = f"job {i}{_marks(old['job'])} {name}{path}: {was!r} -> {now!r}\n"
                    sys.stdout.write(line)
    sys.stdout.write(f"jobs that differ, of {count}: {dict(jobs)}\n")
    for key, times in keys.most_common():
        sys.stdout.write(f"{times:6} {key}\n")


if __name__ == "__main__":
    main()
