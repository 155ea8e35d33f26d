"""The pages as an application: `create()` for a server, `create_for(workshop)` for a workshop at hand."""

from __future__ import annotations

import logging
import os
from collections.abc import Iterable

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import RedirectResponse, Response
from fastapi.staticfiles import StaticFiles
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException

from snugfast import __version__
from snugfast.app.opening import default_address
from snugfast.app.unforeseen import refusal_of
from snugfast.core.errors import SnugfastError, Unforeseen
from snugfast.core.spelling import spelled_as
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.bench import Bench, House, NoWorkshopYet
from snugfast.web.door.seat import Door
from snugfast.web.guard import App, Guard, Receive, Scope, Send
from snugfast.web.routers import ROUTERS
from snugfast.web.showing import HERE, show
from snugfast.web.trouble import TroublePage

READ_ONLY = "SNUGFAST_READ_ONLY"
MORE_HOSTS = "SNUGFAST_HOSTS"  # names parted by commas

LOG = logging.getLogger("snugfast.web")


def create() -> FastAPI:
    """The pages of the workshop that the environment names; it is opened at the first question."""
    bench = Bench(address=default_address(os.environ), read_only=os.environ.get(READ_ONLY) == "1")
    more = os.environ.get(MORE_HOSTS, "").lower().split(",")
    return _app(bench, (name.strip() for name in more))


def create_for(workshop: Workshop, house: House | None = None) -> FastAPI:
    """The pages of a workshop that is open already; with `house` they ask who comes in from the network."""
    bench = Bench.around(workshop)
    bench.house = house
    return _app(bench, ())


def create_in_house(address: str, house: House, *, hosts: Iterable[str], read_only: bool) -> FastAPI:
    """The pages of the workshop at an address, for the house network too."""
    return _app(Bench(address=address, read_only=read_only, house=house), hosts)


def _app(bench: Bench, hosts: Iterable[str]) -> FastAPI:
    app = FastAPI(title="Snugfast", version=__version__, docs_url=None, redoc_url=None)
    app.state.bench = bench
    house = bench.house
    app.add_middleware(Spelled, bench=bench)
    if house is not None:
        app.add_middleware(Door, house=house)
    app.add_middleware(
        Guard,  # outermost: it sees every request first
        hosts=frozenset(filter(None, hosts)),
        read_only=bench.read_only,
        in_house=house is not None,
    )
    app.mount("/static", StaticFiles(directory=HERE / "static"), name="static")
    for router in ROUTERS:
        app.include_router(router)
    app.add_exception_handler(NoWorkshopYet, _first_start)
    app.add_exception_handler(SnugfastError, _refused)
    app.add_exception_handler(RequestValidationError, _unreadable)
    app.add_exception_handler(HTTPException, _no_page)
    for kind in (OSError, MemoryError, Exception):
        app.add_exception_handler(kind, _fault)
    return app


class Spelled:
    """Lets the owner's spelling hold while a page is made and while a form is read."""

    def __init__(self, app: App, *, bench: Bench) -> None:
        self.app = app
        self.bench = bench

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or scope["path"].startswith("/static/"):
            await self.app(scope, receive, send)
            return
        with spelled_as(await run_in_threadpool(self.bench.spelling)):
            await self.app(scope, receive, send)


def _first_start(request: Request, error: Exception) -> Response:
    return RedirectResponse("/first-start", status_code=303)


def _refused(request: Request, error: Exception) -> Response:
    assert isinstance(error, SnugfastError)
    return _trouble(request, TroublePage.of(error))


def _unreadable(request: Request, error: Exception) -> Response:
    """What FastAPI could not read: an address that names nothing, or a form that was not one of ours."""
    assert isinstance(error, RequestValidationError)
    in_path = any(problem["loc"][:1] == ("path",) for problem in error.errors())
    return _trouble(request, TroublePage.no_such_page() if in_path else TroublePage.not_our_form())


def _no_page(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    if error.status_code == 405:
        return _trouble(request, TroublePage.not_that_way())
    return _trouble(request, TroublePage.no_such_page(error.status_code))


def _fault(request: Request, error: Exception) -> Response:
    """What the system answered, in words; what nobody foresaw, under the number it is written down with."""
    route = request.scope.get("route")
    doing = f"{request.method} {getattr(route, 'path', 'a page')}"
    refused = refusal_of(error, doing)
    if isinstance(refused, Unforeseen):
        LOG.error("%s %s", refused.sentence, refused.way_out)
        return _trouble(request, TroublePage.our_fault(refused.number))
    return _trouble(request, TroublePage.of(refused))


def _trouble(request: Request, page: TroublePage) -> Response:
    return show(request, "frame/trouble.html", page, title=page.sentence, status=page.status)
