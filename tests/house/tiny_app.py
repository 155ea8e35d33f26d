"""The smallest app with one sound page and one page for each fault the browser has to tell on."""

from __future__ import annotations

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

FRAME = """<!doctype html><html lang="en"><head><title>Tiny</title>
<meta name="viewport" content="width=device-width"><link rel="icon" href="data:,">{head}</head>
<body><main><h1>Tiny</h1>{body}</main></body></html>"""

COUNTER = """<button onclick="said.textContent = 'counted 1'">Count</button><p id="said">counted 0</p>"""

PAGES = {
    "/": ("", COUNTER, 200),
    "/refused": ("", "<p>Minutes cannot be negative.</p>", 422),
    "/throws": ("", "<script>throw Error('the wheel came off')</script>", 200),
    "/complains": ("", "<script>console.error('not happy')</script>", 200),
    "/fault": ("", "<p>Broken.</p>", 500),
    "/no-style": ('<link rel="stylesheet" href="/missing.css">', "<p>Plain.</p>", 200),
    "/outside": ("", '<img alt="A car" src="http://outside.example/picture.png">', 200),
    "/unlabelled": ("", '<input type="text">', 200),
}


def show(request: Request) -> Response:
    """The page of this path."""
    head, body, status = PAGES[request.url.path]
    return HTMLResponse(FRAME.format(head=head, body=body), status)


app = Starlette(routes=[Route(path, show) for path in PAGES])
