"""The words of the commands on records: jobs, paints and customers that are kept."""

from __future__ import annotations

from showthrough.cli import records_commands as commands
from showthrough.cli.words import JOB, REPLACE, Command, flag, one_of, word

_JSON = flag("--json", "as JSON")
_ONE_JOB = word("job", metavar="JOB", help="its number, its title, or words that only it holds")
_CUSTOMER = word("customer", metavar="CUSTOMER", help="number or name")
_SEEN = word("--made-from", type=int, required=True, metavar="N", help="version you saw")

_RESULTS = {
    "enough": "it looked right then, and one coat less did not",
    "not enough": "it did not look right yet",
    "gave up": "it did not look right, and no more was laid",
    "did not look": "so many were laid without looking",
}

_JOBS = (
    Command(
        "add",
        "keep a job with its answer",
        commands.job_add,
        (
            *JOB,
            word("--piece", default="", help="which piece it is, in your words"),
            word("--customer", help="number or name; a new name is a new customer"),
            _JSON,
        ),
    ),
    Command(
        "list",
        "jobs, the one changed last first",
        commands.job_list,
        (
            word("words", nargs="*", metavar="WORD", help="that each of them holds"),
            word("--state", help="open, done or archived (default: open and done)"),
            word("--most", type=int, default=40, help="rows (default: 40)"),
            _JSON,
        ),
    ),
    Command(
        "show",
        "one job, its answer, and what today's model says",
        commands.job_show,
        (
            _ONE_JOB,
            word("--version", dest="at", type=int, metavar="N", help="an earlier version"),
            flag("--toml", "only the job, as a job file"),
            _JSON,
        ),
    ),
    Command(
        "edit",
        "keep a changed job as its next version",
        commands.job_edit,
        (
            _ONE_JOB,
            word("file", metavar="JOB.toml", help="the whole changed job"),
            word(
                "--made-from", type=int, required=True, metavar="N", help="version that you changed"
            ),
            word("--piece", help="which piece it is, in your words"),
            _JSON,
        ),
    ),
    Command(
        "copy",
        "a new job that says the same",
        commands.job_copy,
        (_ONE_JOB, word("--title", help="of the new job"), _JSON),
    ),
    Command(
        "mark",
        "mark a job as open, done or archived",
        commands.job_mark,
        (
            _ONE_JOB,
            word("state", metavar="STATE", help="open, done or archived (kept, not listed)"),
            _JSON,
        ),
    ),
    Command(
        "photo",
        "keep a photo with a job, without its place and time",
        commands.job_photo,
        (
            _ONE_JOB,
            word("photo", metavar="PHOTO", help="JPEG, PNG, WebP or HEIC"),
            word("--name", default="", help="what it shows, in your words"),
            _JSON,
        ),
    ),
    Command(
        "log",
        "how a job came out, or a step that was done",
        commands.job_log,
        (
            _ONE_JOB,
            word("--after", type=int, metavar="TOPCOATS", help="that were laid"),
            one_of(
                *(
                    flag(
                        f"--{result.replace(' ', '-')}",
                        said,
                        dest="result",
                        action="store_const",
                        const=result,
                    )
                    for result, said in _RESULTS.items()
                ),
                word("--step", metavar="STEP", help="a step of the plan that was done, no outcome"),
                flag("--undo", "take the last outcome back"),
                word("--undo-step", metavar="STEP", help="take a step back that was not done"),
            ),
            word(
                "--stopped-by",
                metavar="WHAT",
                help="even: no edge showed; colour: it had the chip's",
            ),
            word(
                "--failed-by",
                metavar="WHY",
                help="bleeding, adhesion, runs or other, where not by hiding",
            ),
            word("--group", help="which group of the job (default: all of it)"),
            word("--used", type=float, metavar="ML", help="paint that went into the topcoats"),
            word("--area", type=float, metavar="M2", help="that they cover"),
            word("--wet-film-um", type=float, metavar="UM", help="of a coat, by a comb"),
            word("--minutes", type=float, help="at the bench for all topcoats"),
            word("--recoat-h", type=float, metavar="HOURS", help="between coats"),
            word("--note", default="", help="anything else"),
            _JSON,
        ),
        "Keep how a job came out: after how many topcoats, and whether that was enough. The "
        "job is done by that unless it did not look right yet.",
    ),
    Command(
        "export",
        "everything that is kept, as one JSON file",
        commands.job_export,
        (word("file", metavar="FILE.json", help="- for standard output"), REPLACE, _JSON),
    ),
    Command(
        "import",
        "take in an export; doing it twice changes nothing",
        commands.job_import,
        (word("file", metavar="FILE.json"), _JSON),
    ),
    Command(
        "backup",
        "a whole copy, also while others work",
        commands.job_backup,
        (word("file", metavar="FILE", help="that is not there yet"), _JSON),
    ),
)

_PAINTS = (
    Command(
        "add",
        "put a paint on the shelf",
        commands.paint_add,
        (
            word(
                "paint",
                metavar="COLOUR|FILE.toml",
                help="a colour; a job file, for its topcoat; or a paint measured by drawdown",
            ),
            word("--name", default="", help="what to call it"),
            word("--batch", default="", help="as the can says"),
            word("--volume-solids", type=float, metavar="PART"),
            word("--density", type=float, metavar="G_ML", help="weight of a millilitre, g"),
            word("--size", type=float, metavar="ML", help="of the full can"),
            word("--left", type=float, metavar="ML", help="that it still holds"),
            word("--price", help="of the full can, as '21.00 EUR'"),
            word("--opened", metavar="DAY", help="as 2026-05-31"),
            _JSON,
        ),
    ),
    Command(
        "list",
        "what is there",
        commands.paint_list,
        (
            word("words", nargs="*", metavar="WORD", help="in its name or batch"),
            flag("--archived", "those off the shelf as well"),
            _JSON,
        ),
    ),
    Command(
        "edit",
        "what is left of a paint, or that it is used up",
        commands.paint_edit,
        (
            word("paint", metavar="PAINT", help="its number or name"),
            _SEEN,
            word("--left", type=float, metavar="ML"),
            word("--opened", metavar="DAY"),
            one_of(
                flag(
                    "--archive",
                    "take it off the shelf",
                    dest="archived",
                    action="store_const",
                    const=True,
                ),
                flag(
                    "--restore",
                    "put it back on the shelf",
                    dest="archived",
                    action="store_const",
                    const=False,
                ),
            ),
            _JSON,
        ),
    ),
)

_CUSTOMERS = (
    Command(
        "add",
        "keep a name and how to reach them",
        commands.customer_add,
        (
            word("name"),
            word("--contact", default="", help="address, telephone, on one line"),
            _JSON,
        ),
    ),
    Command("list", "those that are kept", commands.customer_list, (_JSON,)),
    Command(
        "edit",
        "another name or contact",
        commands.customer_edit,
        (
            _CUSTOMER,
            _SEEN,
            word("--name", help="as before if left out"),
            word("--contact", help="as before if left out"),
            _JSON,
        ),
    ),
    Command(
        "erase",
        "forget all that is personal, for good",
        commands.customer_erase,
        (_CUSTOMER, flag("--photos", "the photos of their jobs as well"), _JSON),
    ),
)

RECORDS = (
    Command(
        "job",
        "jobs that are kept: add, list, show, edit, log, export, import, backup",
        description="Jobs that are kept, with every version, answer and outcome.",
        under=_JOBS,
    ),
    Command(
        "paint", "the paints on the shelf", description="The paints on the shelf.", under=_PAINTS
    ),
    Command(
        "customer",
        "customers: add, list, edit, erase",
        description="Whom the pieces belong to.",
        under=_CUSTOMERS,
    ),
)
