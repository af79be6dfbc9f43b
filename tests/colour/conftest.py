"""Settings for the colour tests."""

from __future__ import annotations

from hypothesis import settings

# A first call may load tables, and the machine may be busy: time is no law of colour.
settings.register_profile("showthrough", deadline=None)
settings.load_profile("showthrough")
