"""The jobs that run and those that are done: kept, opened, copied, and told how they went."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.concurrency import run_in_threadpool

from showthrough.errors import InputError, UnknownError
from showthrough.files import toml_table
from showthrough.jobs.answers.prediction import LearnedShown
from showthrough.jobs.answers.whole import StepShown
from showthrough.jobs.whole import plan
from showthrough.records import store as records
from showthrough.say.learned import planned_today
from showthrough.say.plan import step_line
from showthrough.web.api.records import MOST_IMPORT_BYTES
from showthrough.web.forms.paths import fields_of_job, job_of, number_of
from showthrough.web.pages.asked import KEPT, Asked, AskedBy, posted, surroundings
from showthrough.web.pages.bench import begun, mend_context, page_of
from showthrough.web.shell import PLACES, as_file, rendered

if TYPE_CHECKING:
    from showthrough.records.store.opening.opened import Store
    from showthrough.records.store.shape.rows import JobLine, StepDone, StoredJob

_PLACE = PLACES[4]
_MOST_SHOWN = 60
_CAME = {"even": "it looked even", "colour": "the colour was right", "": "did not look"}
"""What a last coat was judged by."""
_FAILED = {
    "": "nothing of these",
    "bleeding": "stains bled through",
    "adhesion": "paint came off",
    "runs": "runs",
    "other": "something else",
}
_MEASURED = {
    "used_ml": ("Topcoat used", "ml"),
    "minutes": ("Time at the bench", "minutes"),
    "area_m2": ("Area that it covers", "m²"),
    "wet_film_um": ("Wet film of a coat", "µm"),
    "recoat_h": ("Between coats", "hours"),
}
"""What may be told of a job beside the one question."""

router = APIRouter(include_in_schema=False, default_response_class=HTMLResponse)


@router.get("/jobs")
@router.post("/jobs")
def jobs(asked: AskedBy) -> Response:
    """The place of the jobs."""
    return _list(asked)


def _list(asked: Asked, **more: Any) -> Response:

    context = surroundings(asked, _PLACE) | {
        "q": asked.page.get("q", ""),
        "running": [],
        "finished": [],
        "away": [],
        "trouble": [],
        "text": "",
        "customer": "",
        "told": [],
        "begun": begun(asked.fields),
        "learned": None,
        "in_hand": None,
        "saved": asked.page.get("saved"),
    }
    try:
        with records.opened.open_store() as store:
            context["in_hand"] = _in_hand(store, asked)
            lines = records.jobs.listed(store, context["q"], most=_MOST_SHOWN)
            context["away"] = records.jobs.listed(
                store, context["q"], state="archived", most=_MOST_SHOWN
            )
            context["learned"] = _learned(store, asked)
        context |= {
            "running": [line for line in lines if line.state == "open"],
            "finished": [line for line in lines if line.state != "open"],
        }
    except InputError as error:
        context["trouble"] = [str(problem) for problem in error.problems]
    return rendered("jobs.html", context | more)


def _in_hand(store: Store, asked: Asked) -> JobLine | None:
    """The kept job that the one in hand is, where there is one."""
    if asked.kept is None:
        return None
    try:
        return records.jobs.opened(store, asked.kept[0]).line
    except UnknownError:
        return None


def _learned(store: Store, asked: Asked) -> LearnedShown | None:
    """What finished jobs make of the job in hand, where that says anything."""
    if not begun(asked.fields):
        return None
    try:
        return plan(records.lessons.taught(store, job_of(asked.fields))).learned
    except InputError:
        return None  # the job's own faults are told where it is planned


@router.post("/jobs/keep")
def kept(asked: AskedBy) -> Response:
    """Keep the job that came along, as a new one or as the next version of a kept one."""
    old, said = asked.kept, job_of(asked.fields)
    customer = dict(asked.pairs).get("customer", "").strip()
    try:
        with records.opened.open_store() as store:
            if old is None:
                line = records.jobs.add(store, said, customer=customer or None)
            else:
                line = records.jobs.save(store, old[0], said, made_from=old[1])
    except InputError as error:
        if any(problem.code == "stale" for problem in error.problems):
            return _list(
                asked, trouble=[problem.message for problem in error.problems], customer=customer
            )
        if all(problem.field == "customer" for problem in error.problems):
            told = [problem.message for problem in error.problems]
            return _list(asked, wrong={"customer": told}, customer=customer)
        return rendered("mend.html", surroundings(asked, _PLACE) | mend_context(asked, error))
    now = Asked(asked.fields, {**asked.page, KEPT: f"{line.number}.{line.version}"})
    if now.long:  # no address holds it beside the list
        return _see(f"/jobs/one?job={line.number}&saved=kept")
    return _see(now.href("/jobs", saved="kept"))


def _see(address: str) -> Response:
    return RedirectResponse(address, status_code=303)


def _of_job(then: Callable[[Store, StoredJob, Asked], Response]) -> Callable[..., Response]:
    """A route on the job that a page names by its number."""

    def answered(asked: AskedBy) -> Response:

        number = asked.page.get("job", "")
        try:
            with records.opened.open_store() as store:
                wanted = int(number) if number.isascii() and number.isdecimal() else number
                return then(store, records.jobs.opened(store, wanted), asked)
        except InputError as error:
            return _list(Asked({}), trouble=[problem.message for problem in error.problems])

    return answered


def _one(store: Store, found: StoredJob, asked: Asked, **more: Any) -> Response:
    """One kept job."""
    line = found.line
    answer = found.answer.answer if found.answer else {}
    ways = answer.get("ways") or [{}]
    said = ways[0].get("topcoats")
    own = Asked(fields_of_job(found.shown.job), {KEPT: f"{line.number}.{line.version}"})
    first = max((said or 3) - 1, 1)
    return rendered(
        "job.html",
        surroundings(own, _PLACE)
        | {
            "found": found,
            "line": line,
            "headline": answer.get("headline", ""),
            "said": said,
            "counts": range(first, first + 6),
            "came": _CAME,
            "failed": _FAILED,
            "measured": _MEASURED,
            "groups": [group["name"] for group in found.shown.job.get("group", ())],
            "typed": {},
            "steps": _steps(found),
            "today": _today(store, found),
            "saved": asked.page.get("saved"),
        }
        | more,
    )


def _today(store: Store, found: StoredJob) -> str:
    """What the job comes to today, where that is not what was kept, and why."""
    try:
        again = records.jobs.reckoned_again(store, found.line.number)
    except InputError as error:
        return " ".join(["It cannot be planned today.", *(str(p) for p in error.problems)])
    if again is None or found.answer is None:
        return ""
    said = (found.answer.answer["headline"], again.today["headline"], again.planned)
    return planned_today(*said, again.taught_then, again.taught_now)


def _steps(found: StoredJob) -> list[tuple[str, StepDone | None]]:
    """Steps of the plan that was answered, in its words, with that each was done; then others.

    A step that comes twice is done as often as it was said to be.
    """
    told = list(found.steps)
    out: list[tuple[str, StepDone | None]] = []
    for step in (found.answer.answer if found.answer else {}).get("steps", ()):
        # As it was answered then: a release of today need not know all its keys.
        shown = StepShown.model_construct(**step)
        words = step_line(shown, ", ".join(shown.groups))[:_LONGEST_STEP].strip()
        mine = next((one for one in told if one.step == words), None)
        if mine is not None:
            told.remove(mine)
        out.append((words, mine))
    return [*out, *((one.step, one) for one in told)]


_LONGEST_STEP = 200
"""Signs of a step that the records take."""


def _tick(store: Store, found: StoredJob, asked: Asked) -> Response:
    """A step that was done, or was not after all."""
    number, said = found.line.number, dict(asked.pairs)
    try:
        if said.get("undo"):
            records.outcomes.step_undone(store, number, said["undo"])
        else:
            records.outcomes.step_done(store, number, said.get("step", ""))
    except InputError as error:
        wrong = {"step": [p.message for p in error.problems]}
        return _one(store, found, asked, wrong=wrong)
    return _see(f"/jobs/one?job={number}#steps")


def _copy(store: Store, found: StoredJob, _asked: Asked) -> Response:
    """A new job that says the same."""
    return _see(
        f"/jobs/one?job={records.jobs.duplicate(store, found.line.number).number}&saved=kept"
    )


def _mark(store: Store, found: StoredJob, asked: Asked) -> Response:
    """Open, done or archived."""
    state: Any = dict(asked.pairs).get("state", "")
    line = records.jobs.set_state(store, found.line.number, state)
    return _see("/jobs" if line.state == "archived" else f"/jobs/one?job={line.number}")


def _log(store: Store, found: StoredJob, asked: Asked) -> Response:
    """How a job went."""
    said = dict(asked.pairs)
    number = found.line.number
    if said.get("undo"):
        records.outcomes.undo(store, number, said["undo"])
        return _see(f"/jobs/one?job={number}&saved=undone")
    after = said.get("after", "")
    failed: Any = said.get("failed_by") or None
    came: Any = None if failed else said.get("came") or None
    # A coat that bled or came off was not enough, whatever it looked like.
    usual = "not enough" if failed else "enough" if came else "did not look"
    result: Any = said.get("result") or usual
    measured: dict[str, Any] = {
        key: number_of(said[key].strip()) for key in _MEASURED if said.get(key, "").strip()
    }
    try:
        count: Any = int(after) if after.isascii() and after.isdecimal() else after
        records.outcomes.log(
            store,
            number,
            after=count,
            result=result,
            stopped_by=came,
            failed_by=failed,
            group=said.get("group") or None,
            note=said.get("note", ""),
            **measured,
        )
    except InputError as error:
        wrong = {p.field: [p.message] for p in error.problems}
        return _one(store, found, asked, wrong=wrong, typed=said)
    return _see(f"/jobs/one?job={number}&saved=told")


router.add_api_route("/jobs/one", _of_job(_one), methods=["GET"])
for _name, _then in (("step", _tick), ("copy", _copy), ("mark", _mark), ("log", _log)):
    router.add_api_route(f"/jobs/{_name}", _of_job(_then), methods=["POST"])


@router.get("/jobs/export.json")
def exported_all() -> Response:
    """Everything that is kept, as one file."""
    with records.opened.open_store() as store:
        return as_file(records.exchange.exported(store), "application/json", "showthrough.json")


@router.post("/jobs/import")
async def imported(request: Request) -> Response:
    """Take in what another machine exported."""
    text = dict(await posted(request, MOST_IMPORT_BYTES)).get("records", "")
    return await run_in_threadpool(_import, text)


def _import(text: str) -> Response:

    try:
        with records.opened.open_store() as store:
            done = records.exchange.import_all(store, text)
    except InputError as error:
        told = [f"the file {p.message}" if p.field == "export" else str(p) for p in error.problems]
        return _list(Asked({}), wrong={"records": told})
    new = [f"{count} {kind}" for kind, count in done.added.items() if count]
    told = [f"New here: {', '.join(new)}." if new else "Nothing in it was new here."]
    return _list(Asked({}), told=[*told, *done.renumbered, *done.conflicts])


@router.post("/jobs/open")
async def opened_file(request: Request) -> Response:
    """The plan of a job file that was chosen, or pasted."""
    text = dict(await posted(request)).get("job", "")
    return await run_in_threadpool(_from_file, text)


_LONGEST_SHOWN = 20_000


def _from_file(text: str) -> Response:
    try:
        fields = fields_of_job(toml_table(text))
    except (ValueError, InputError) as error:
        problems = error.problems if isinstance(error, InputError) else ()
        told = [str(p) for p in problems] or [f"this is no job file: {error}"]
        return _list(Asked({}), wrong={"job": told}, text=text[:_LONGEST_SHOWN])
    asked = Asked(fields)
    return page_of(asked) if asked.long else _see(asked.href("/"))
