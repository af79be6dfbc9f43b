"""The page: server-rendered HTML over the same jobs."""

from __future__ import annotations

from fastapi import APIRouter, FastAPI

router = APIRouter()


def mount_assets(app: FastAPI) -> None:
    """Serve the page's own style and script."""
