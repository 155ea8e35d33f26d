"""Whether the pages are up, for whoever starts them."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import FileResponse, PlainTextResponse

from snugfast.web.showing import HERE

pages = APIRouter()


@pages.get("/health", response_class=PlainTextResponse)
async def health() -> str:
    """Answers as soon as the server does; the workshop is not asked."""
    return "well\n"


@pages.get("/favicon.ico", include_in_schema=False)
async def favicon() -> FileResponse:
    return FileResponse(HERE / "static" / "mark.svg", media_type="image/svg+xml")
