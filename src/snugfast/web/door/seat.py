"""Lets through who sits at this machine or has signed in; sends everybody else to the door."""

from __future__ import annotations

from http.cookies import CookieError, SimpleCookie
from urllib.parse import quote

from snugfast.app.house_network import from_here, from_the_house
from snugfast.web.bench import PHONE, House
from snugfast.web.guard import HARMLESS, OWN_HOSTS, App, Receive, Scope, Send, name_of, refuse
from snugfast.web.showing import SIGNED_OUT

COOKIE = "snugfast-phone"
OPEN_TO_ALL = ("/static/", "/door/link/", "/feed/")
OPEN_PAGES = frozenset(("/door", "/health", "/favicon.ico"))
LARGEST_AT_THE_DOOR = 10_000  # bytes; who is not in yet sends a passphrase and a name
SENT_ON = ("forwarded", "x-forwarded-for", "x-real-ip", "via")


class Door:
    """Stands behind the guard when the pages are open to the house.

    At this machine itself nothing is asked: the connection comes from its loopback, under a loopback name,
    and no other program sent it on.
    """

    def __init__(self, app: App, *, house: House) -> None:
        self.app = app
        self.house = house

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = {
            name.decode("latin-1").lower(): value.decode("latin-1") for name, value in scope["headers"]
        }
        client = (scope.get("client") or ("",))[0]
        if _at_the_machine(client, headers):
            await self.app(scope, receive, send)
            return
        if not from_the_house(client, str((scope.get("server") or ("",))[0])):
            await refuse(send, 403, "These pages are open to the house network only.", "")
            return
        phone = self.house.door.seated(_token(headers.get("cookie", "")))
        if phone is not None:
            scope[PHONE] = phone
            await self.app(scope, receive, send)
            return
        if int(headers.get("content-length", "0") or 0) > LARGEST_AT_THE_DOOR:
            await refuse(send, 413, "That is more than a passphrase, so nothing was looked at.", "")
            return
        path = str(scope["path"])
        if path in OPEN_PAGES or path.startswith(OPEN_TO_ALL):
            scope[SIGNED_OUT] = True
            await self.app(scope, receive, send)
        elif scope["method"] in HARMLESS:
            await _to_the_door(send, path, scope.get("query_string", b"").decode("latin-1"))
        else:
            await refuse(
                send, 401, "You are signed out, so nothing was saved.", "Open the first page and sign in."
            )


def _at_the_machine(client: str, headers: dict[str, str]) -> bool:
    return (
        from_here(client)
        and name_of(headers.get("host", "")) in OWN_HOSTS
        and not any(name in headers for name in SENT_ON)
    )


def _token(cookies: str) -> str:
    try:
        held = SimpleCookie(cookies).get(COOKIE)
    except CookieError:
        return ""
    return held.value if held else ""


async def _to_the_door(send: Send, path: str, query: str) -> None:
    wanted = path + (f"?{query}" if query else "")
    target = "/door" if wanted == "/" else f"/door?to={quote(wanted, safe='/')}"
    await send(
        {
            "type": "http.response.start",
            "status": 303,
            "headers": [(b"location", target.encode()), (b"content-length", b"0")],
        }
    )
    await send({"type": "http.response.body", "body": b""})
