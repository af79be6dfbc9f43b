"""A small share of the long runs in ``fuzz_service.py`` and ``mutate_jobs.py``; same each time."""

from __future__ import annotations

from fuzz_service import fuzz
from mutate_jobs import mutate


def test_requests_made_from_the_description_get_answers_that_it_declares():
    account = fuzz(108)
    assert account.faults == {}
    refused = {path for path, status in account.statuses if status == 422}
    assert len([path for path in refused if path.startswith("/api/records/")]) > 3
    assert {path for path in refused if not path.startswith("/api/records/")} == {
        f"/api/{route}"
        for route in [
            "predict",
            "plan",
            "sheet",
            "palette",
            "log",
            "soften",
            "sweep",
            "chip",
            "surface",
            "drawdown",
            "preview",
        ]
    }
    assert sum(account.statuses[key] for key in account.statuses if key[1] == 200) > 5


def test_spoilt_jobs_are_answered_or_refused_and_nothing_else():
    account = mutate(120, seed=2)
    faults = {what: job for what, job in account.faults.items() if " took " not in what}
    assert faults == {}
    for use in ("predict", "soften", "palette", "sweep", "plan"):
        assert account.outcomes[use, "answered"] > 0
        assert account.outcomes[use, "refused"] > 0
