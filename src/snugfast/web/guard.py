"""What stands before every page: who may ask, what may be sent, and what a browser may do with the answer."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping, MutableMapping
from html import escape
from ipaddress import ip_address
from typing import Any
from urllib.parse import urlsplit

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

OWN_HOSTS = frozenset(("127.0.0.1", "localhost", "[::1]"))
HARMLESS = frozenset(("GET", "HEAD", "OPTIONS"))
SIGNING_IN = ("/door", "/phones", "/dates/new-feed")  # writes nothing into the workshop
LARGEST_FORM = 1_000_000  # bytes; a build of a few hundred places is a tenth of it
TAKES_PHOTOS = frozenset(("/field/notes",))
LARGEST_PHOTOS = 30_000_000

HEADERS: Mapping[str, str] = {
    "content-security-policy": (
        "default-src 'none'; style-src 'self'; font-src 'self'; img-src 'self'; script-src 'self'; "
        "connect-src 'self'; form-action 'self'; base-uri 'none'; "
        "frame-ancestors 'none'"
    ),
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), geolocation=(), microphone=()",
}


class Guard:
    """Refuses unknown hosts, forms that come from other sites, and writing where only reading is meant.

    An unknown host is how a page elsewhere would reach this one under a name of its own; a form from another
    site is how it would write here with the owner's browser.
    """

    def __init__(self, app: App, *, hosts: frozenset[str], read_only: bool, in_house: bool = False) -> None:
        self.app = app
        self.hosts = OWN_HOSTS | hosts
        self.read_only = read_only
        self.in_house = in_house

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        refused = self._refusal(scope)
        if refused is not None:
            await refuse(send, *refused)
            return
        await self.app(scope, receive, _with_headers(send, scope["path"]))

    def _refusal(self, scope: Scope) -> tuple[int, str, str] | None:
        headers = {
            name.decode("latin-1").lower(): value.decode("latin-1") for name, value in scope["headers"]
        }
        host = headers.get("host", "")
        if name_of(host) not in self.hosts and not self._own_address(scope, host):
            where = "the address" if self.in_house else "127.0.0.1, as"
            return (
                421,
                "These pages do not answer under that name.",
                f"Open them under {where} the command said when it started.",
            )
        if scope["method"] in HARMLESS:
            return None
        if _from_elsewhere(headers, host):
            return (
                403,
                "This form was sent from another site, so nothing was saved.",
                "Open the page here and send it again.",
            )
        if self.read_only and not scope["path"].startswith(SIGNING_IN):
            return (
                403,
                "The pages are open for reading only, so nothing was saved.",
                "Start them without --read-only to write.",
            )
        if "transfer-encoding" in headers:  # a browser says how long its form is; what does not has no end
            return (
                411,
                "That form does not say how long it is, so nothing was saved.",
                "Send it with a browser.",
            )
        largest = LARGEST_PHOTOS if scope["path"] in TAKES_PHOTOS else LARGEST_FORM
        if int(headers.get("content-length", "0") or 0) > largest:
            return 413, "That is more than a form here can hold, so nothing was saved.", "Send less at once."
        return None

    def _own_address(self, scope: Scope, host: str) -> bool:
        """Whether a Host is the very number this connection came in at: no name, so nobody can bend it."""
        server = scope.get("server")
        return bool(self.in_house and server and _same_number(name_of(host), str(server[0])))


def _same_number(name: str, address: str) -> bool:
    """Whether a name in a Host header is a number, and this one; of IPv6 it stands in brackets there."""
    in_brackets = name.startswith("[") and name.endswith("]")
    try:
        said = ip_address(name[1:-1] if in_brackets else name)
        return said == ip_address(address) and in_brackets == (said.version == 6)
    except ValueError:
        return False


def _from_elsewhere(headers: Mapping[str, str], host: str) -> bool:
    """Whether a browser says that a request began on another site. Programs say nothing, and may write."""
    site = headers.get("sec-fetch-site")
    if site is not None and site not in ("same-origin", "none"):
        return True
    origin = headers.get("origin")
    return origin is not None and urlsplit(origin).netloc != host


def name_of(host: str) -> str:
    """The name in a Host header, without its port."""
    name, _, port = host.rpartition(":")
    return (name if name and port.isdigit() else host).lower()


def _with_headers(send: Send, path: str) -> Send:
    added = [(name.encode(), value.encode()) for name, value in HEADERS.items()]
    added.append((b"cache-control", b"max-age=3600" if path.startswith("/static/") else b"no-store"))

    async def send_with(message: Message) -> None:
        if message["type"] == "http.response.start":
            message["headers"] = [*message["headers"], *added]
        await send(message)

    return send_with


async def refuse(send: Send, status: int, sentence: str, way_out: str) -> None:
    body = (
        '<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Refused</title>'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        '<link rel="stylesheet" href="/static/css/ground.css">'
        '<link rel="stylesheet" href="/static/css/frame.css">'
        '</head><body><main class="page">'
        f"<h1>{escape(sentence)}</h1><p>{escape(way_out)}</p></main></body></html>"
    ).encode()
    with_headers = _with_headers(send, "")
    start = {
        "type": "http.response.start",
        "status": status,
        "headers": [(b"content-type", b"text/html; charset=utf-8"), (b"content-length", b"%d" % len(body))],
    }
    await with_headers(start)
    await send({"type": "http.response.body", "body": body})
