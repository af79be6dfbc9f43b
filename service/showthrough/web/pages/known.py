"""A job of the page with what the painter's kept jobs teach it: the page is the painter's own."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from typing import Any

from showthrough.errors import StoreError
from showthrough.records.store.there import is_there


def known(job: Mapping[str, Any]) -> Mapping[str, Any]:
    """The job, with what was learned where jobs are kept.

    Raises:
        InputError: with every problem of the job, by field.
    """
    if is_there():
        from showthrough.records.store.lessons import taught
        from showthrough.records.store.opened import open_store

        # Records that cannot be read are no reason to withhold a plan; their place tells why.
        with suppress(StoreError), open_store() as store:
            return taught(store, job)
    return job
