"""The sheet of a job as one HTML file: no script, nothing from elsewhere, ready for paper."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import Any, Literal, get_args

from jinja2 import Environment, PackageLoader, StrictUndefined

from showthrough.errors import ProblemList
from showthrough.jobs.case.prepared import PreparedJob
from showthrough.jobs.whole import plan
from showthrough.sheets.bench import bench_of
from showthrough.sheets.customer import customer_of
from showthrough.sheets.shopping import shopping_of

Pages = Literal["all", "bench", "customer", "shopping"]
Paper = Literal["a4", "letter"]

PAGES: tuple[Pages, ...] = get_args(Pages)
PAPERS: tuple[Paper, ...] = get_args(Paper)


def sheet(
    job: Mapping[str, Any] | PreparedJob,
    folder: Path | None = None,
    *,
    now: datetime | None = None,
    pages: Pages = "all",
    paper: Paper | None = None,
    money: bool = False,
) -> str:
    """The printed sheet of a job as HTML.

    Args:
        job: a job as a mapping (the words of the TOML file), or one already prepared.
        folder: where files that the job names are looked for; None refuses files.
        now: the present, an aware moment; the clock's if absent. Work begins then where the
            job states no start.
        pages: bench, customer, shopping, or all of them in this order.
        paper: a4 or letter; letter for a job in US units and a4 for others if absent.
        money: show price and clause on the customer's page. Costs never stand there.

    Returns:
        One self-contained file: style inside, no script, nothing fetched. Each page carries
        the job's cautions.

    Raises:
        InputError: with every problem of the job and of the options, by field.
    """
    wrong = ProblemList()
    if pages not in PAGES:
        wrong.add("pages", pages, f"one of {', '.join(PAGES)} works")
    if paper is not None and paper not in PAPERS:
        wrong.add("paper", paper, f"one of {', '.join(PAPERS)} works")
    with wrong.collecting():
        answer = plan(job, folder, now=now)
    wrong.raise_if_any()
    own = paper or ("letter" if answer.units == "us" else "a4")
    wanted = PAGES[1:] if pages == "all" else (pages,)
    return (
        _environment()
        .get_template("sheet.html")
        .render(
            title=answer.title or answer.topcoat_name,
            paper=own,
            bench=bench_of(answer) if "bench" in wanted else None,
            customer=customer_of(answer, money=money) if "customer" in wanted else None,
            shopping=shopping_of(answer) if "shopping" in wanted else None,
            cautions=answer.cautions_short,
        )
    )


@cache
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("showthrough.sheets", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
