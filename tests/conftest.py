"""What all tests share."""

from __future__ import annotations

import os

from hypothesis import settings

# Two busy cores make single examples slow now and then; a clock decides no test. In CI the
# same examples are tried each time, so that a failure can be had again.
settings.register_profile("here", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") == "true" else "here")
