"""The painter's records as the page reaches them, and a job with what kept ones teach it."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from typing import TYPE_CHECKING, Any

from showthrough.errors import StoreError
from showthrough.records.store.opening.there import is_there

if TYPE_CHECKING:
    from showthrough.records.store.opening.opened import Store


def open_records() -> Store:
    """The records; the database's libraries load here, not before.

    Raises:
        StoreError: they cannot be read.
    """
    from showthrough.records.store.opening.opened import open_store

    return open_store()


def known(job: Mapping[str, Any]) -> Mapping[str, Any]:
    """The job, with what was learned where jobs are kept.

    Raises:
        InputError: with every problem of the job, by field.
    """
    if is_there():
        from showthrough.records.store.kept.lessons import taught

        # Records that cannot be read are no reason to withhold a plan; their place tells why.
        with suppress(StoreError), open_records() as store:
            return taught(store, job)
    return job
