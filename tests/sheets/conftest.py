"""The real browser of the page's tests prints the sheet too."""

from __future__ import annotations

from web.conftest import chromium

__all__ = ["chromium"]
