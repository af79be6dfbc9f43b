"""Which small changes to the arithmetic no test notices. Run by hand:

    .venv/bin/pip install -e '.[mutation]'
    nice .venv/bin/python tests/mutants.py SEED COUNT [NUMBER,NUMBER,...]

Draws COUNT mutants at random of all that cosmic-ray lists over ``ROOMS``, each a change to one
operator, number, condition or decorator. Each is made in a copy of the tree outside the
repository, where the tests that concern its module run until one fails: the room's own first,
then those of the jobs that stand on it. Prints what came of each, with the diff of each survivor;
with NUMBERs only these of the draw run, as after a new test. Left out of the draw are changes to
annotations, which nothing runs, and what is no Python. ``mutants.md`` tells of the last run and of
what survived it.
"""

# ruff: noqa: T201 - prints its account

from __future__ import annotations

import ast
import difflib
import os
import random
import resource
import shutil
import sys
import tempfile
from collections import Counter
from importlib import import_module
from importlib.util import cache_from_source
from multiprocessing import get_context
from pathlib import Path
from typing import NoReturn

import pytest
from cosmic_ray.ast import ast_nodes, get_ast
from cosmic_ray.mutating import mutate_code
from cosmic_ray.plugins import get_operator, operator_names

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = Path("service", "showthrough")
ROOMS = ("film", "workshop", "jobs/case", "palette/harmony.py", "photo/calibrate/radius.py")

MOST_SECONDS = 120
"""Processor time of a run of tests, about four times the longest: one that hangs is noticed."""

FILM = "film/test_hiding film/test_knowledge"
DRAWDOWN = "film/test_drawdown_table film/test_drawdown_refusals film/test_drawdown"
MONEY = "workshop/test_money jobs/test_whole_money"
LEARNED = "records/test_finished_jobs records/test_own_figures records/test_learning_doors"
CASE = "jobs/test_painter_jobs_data jobs/test_bad_input test_defaults jobs/test_painter_jobs"
PAINTS = f"{CASE} jobs/test_paint_facts jobs/test_known_facts jobs/test_undercoats"

# The longest beginning of a module's path that stands here names its tests: fast ones first.
TESTS = {
    "film": FILM,
    "film/thickness": f"{FILM} film/test_opacity",
    "film/optics": "film/test_optics film/test_exact_transfer film/test_hiding",
    "film/undercoat": "film/test_undercoat",
    "film/coats": "film/test_build workshop/test_quantity",
    "film/drawdown": DRAWDOWN,
    "workshop/cautions": "workshop/test_cautions jobs/test_cautions",
    "workshop/limits": "workshop/test_area workshop/test_drying workshop/test_hours",
    "workshop/days": "workshop/test_drying workshop/test_hours workshop/test_schedule"
    " workshop/test_ics",
    "workshop/grounds": "workshop/test_grounds workshop/test_cautions",
    "workshop/paint": "workshop/test_supplies workshop/test_cans workshop/test_quantity",
    "workshop/price": "workshop/test_money workshop/test_cans",
    "workshop/size": "workshop/test_lengths workshop/test_area workshop/test_quantity",
    "palette": "palette/test_harmony palette/test_seconds palette/test_triples palette/test_shift",
    "photo": "photo/test_constants photo/test_processing photo/test_read photo/test_light",
    "jobs/case": CASE,
    "jobs/case/bench": f"{CASE} jobs/test_whole_paint jobs/test_whole_days",
    "jobs/case/finishes": "jobs/test_palette jobs/test_bad_input",
    "jobs/case/learned": LEARNED,
    "jobs/case/paints": PAINTS,
    "jobs/case/prepared": f"{CASE} jobs/test_uncertainty records/test_own_figures",
    "jobs/case/topcoats": PAINTS,
    "jobs/case/readings": f"jobs/test_typed_colours {CASE}",
    "jobs/case/uncertainty": f"jobs/test_uncertainty {CASE}",
}
JOBS = "test_defaults jobs/test_cautions jobs/test_painter_jobs_data jobs/test_painter_jobs"
WIDER = {
    "film": JOBS,
    "film/drawdown": "film/test_knowledge doors/test_strictness",
    "workshop": f"{JOBS} jobs/test_whole_paint jobs/test_whole_days",
    "workshop/price": "jobs/test_whole_money",
    "palette": "jobs/test_palette",
    "photo": "photo/test_example_photos photo/test_damage",
    "jobs/case": "jobs/test_halfway doors/test_doors_agree",
    "jobs/case/learned": "records/test_taught",
    "jobs/case/bench": f"{MONEY} jobs/test_whole_groups",
    "jobs/case/groups": "jobs/test_whole_groups jobs/test_whole_paint",
    "jobs/case/parts": "jobs/test_whole_groups jobs/test_whole_paint",
    "jobs/case/topcoats": "jobs/test_soften jobs/test_halfway doors/test_doors_agree",
}
EVERY = {"": "test_map"}
"""Of every module, last of all."""

LIBRARIES = (
    "_hypothesis_pytestplugin",
    "colour",
    "fastapi.testclient",
    "hypothesis",
    "numpy",
    "psychrolib",
    "pydantic",
    "scipy.optimize",
    "sqlalchemy",
    "skimage.segmentation",
)

# To name a smaller example of a failure takes minutes and changes no verdict.
PROFILE = """from hypothesis import Phase, settings
phases = [Phase.explicit, Phase.generate]
settings.register_profile(
    "first failure", phases=phases, deadline=None, derandomize=True, database=None
)
"""


def modules() -> list[Path]:
    """The files of the rooms, below the root."""
    asked = (ROOT / PACKAGE / room for room in ROOMS)
    files = (sorted(path.rglob("*.py")) if path.is_dir() else [path] for path in asked)
    return [file.relative_to(ROOT) for some in files for file in some]


def every_mutant() -> list[tuple[Path, str, int]]:
    """Module, operator and occurrence of all that the tool lists."""
    names = [name for name in operator_names() if not get_operator(name).arguments()]
    operators = [(name, get_operator(name)()) for name in names]
    listed = []
    for module in modules():
        nodes = list(ast_nodes(get_ast((ROOT / module).read_text("utf-8"))))
        for name, operator in operators:
            count = sum(1 for node in nodes for _ in operator.mutation_positions(node))
            listed += [(module, name, occurrence) for occurrence in range(count)]
    return listed


def mutated(module: Path, name: str, occurrence: int) -> str:
    """The module's text with the change."""
    return mutate_code((ROOT / module).read_text("utf-8"), get_operator(name)(), occurrence)


def running(source: str) -> str | None:
    """What runs of a module: its syntax without annotations, None where it is none at all."""
    try:
        tree = ast.parse(source)
    except SyntaxError:
        return None
    for node in ast.walk(tree):
        if isinstance(node, ast.arg | ast.AnnAssign):
            node.annotation = ast.Constant(None)
        if isinstance(node, ast.FunctionDef):
            node.returns = None
    return ast.dump(tree)


def drawn(seed: int, count: int) -> list[tuple[Path, str, int]]:
    """A random sample of the mutants that change what runs."""
    chosen = random.Random(seed)  # noqa: S311, a sample and no secret
    kept: list[tuple[Path, str, int]] = []
    for mutant in chosen.sample(every := every_mutant(), len(every)):
        before = (ROOT / mutant[0]).read_text("utf-8")
        if running(mutated(*mutant)) not in {running(before), None}:
            kept.append(mutant)
        if len(kept) == count:
            break
    return kept


def tests_of(module: Path, table: dict[str, str]) -> list[str]:
    """The files of tests for one module, the longest matching beginning of its path first."""
    inside = module.relative_to(PACKAGE).with_suffix("").as_posix()
    named = max((key for key in table if inside.startswith(key)), key=len)
    return [f"tests/{name}.py" for name in dict.fromkeys(table[named].split())]


def load_what_never_changes() -> None:
    """Load the libraries once: each run of tests is a fork of this process."""
    for library in LIBRARIES:
        import_module(library)


def run_tests(tree: Path, tests: list[str]) -> NoReturn:
    """Leave this fork with what pytest says of the tests."""
    resource.setrlimit(resource.RLIMIT_CPU, (MOST_SECONDS, MOST_SECONDS))
    silent = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silent, 1)
    os.dup2(silent, 2)
    os.chdir(tree)
    paths = [str(tree / part) for part in ("service", "tests")]
    sys.path[:0] = paths
    os.environ["PYTHONPATH"] = os.pathsep.join(paths)
    os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"
    options = ["-x", "-q", "-p", "_hypothesis_pytestplugin", "-p", "first_failure"]
    loaded = ["-W", "ignore::pytest.PytestAssertRewriteWarning"]
    os._exit(pytest.main([*options, *loaded, "--hypothesis-profile", "first failure", *tests]))


def passed(tree: Path, tests: list[str]) -> bool:
    """Whether the tests pass in this tree; a run that hangs does not."""
    run = get_context("fork").Process(target=run_tests, args=(tree, tests))
    run.start()
    run.join()
    return run.exitcode == 0


def survives(tree: Path, module: Path, text: str) -> bool:
    """Whether no test that concerns the module notices that it reads so."""
    place = tree / module
    before = place.read_text("utf-8")
    compiled = Path(cache_from_source(str(place)))
    try:
        place.write_text(text, "utf-8")
        compiled.unlink(missing_ok=True)  # its clock is too coarse to tell the two texts apart
        return all(passed(tree, tests_of(module, table)) for table in (TESTS, WIDER, EVERY))
    finally:
        place.write_text(before, "utf-8")
        compiled.unlink(missing_ok=True)


def main(seed: int, count: int, numbers: list[int]) -> None:
    """Print what came of each mutant, then the counts of each room."""
    outcome: Counter[tuple[str, str]] = Counter()
    mutants = drawn(seed, count)
    load_what_never_changes()
    with tempfile.TemporaryDirectory() as folder:
        tree = Path(folder, "tree")
        shutil.copytree(ROOT, tree, ignore=shutil.ignore_patterns(".git", ".venv", "__pycache__"))
        (tree / "tests" / "first_failure.py").write_text(PROFILE, "utf-8")
        for number in numbers or range(len(mutants)):
            module, name, occurrence = mutants[number]
            text = mutated(module, name, occurrence)
            alive = survives(tree, module, text)
            said = "SURVIVED" if alive else "killed"
            room = next(r for r in ROOMS if module.is_relative_to(PACKAGE / r))
            outcome[room, said] += 1
            print(f"{number:4} {said:8} {module.relative_to(PACKAGE)} {name}", flush=True)
            if alive:
                lines = (ROOT / module).read_text("utf-8").splitlines()
                shown = difflib.unified_diff(lines, text.splitlines(), lineterm="", n=2)
                print("\n".join(list(shown)[2:]), flush=True)
    for room in ROOMS:
        told = ", ".join(f"{said} {outcome[room, said]}" for said in ("killed", "SURVIVED"))
        print(f"{room}: {told}")


if __name__ == "__main__":
    asked = [int(word) for word in sys.argv[3].split(",")] if len(sys.argv) > 3 else []
    main(int(sys.argv[1]), int(sys.argv[2]), asked)
