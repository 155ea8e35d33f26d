"""Coming in: by the passphrase, or by a one-time link; and going out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse, Response
from pydantic import BaseModel

from snugfast.app.house_door import AT_MOST, LinkSpent, Phone, TooManyTries, WrongPassphrase
from snugfast.web.bench import PHONE, House, TheBench
from snugfast.web.door.seat import COOKIE
from snugfast.web.showing import is_signed_out, show
from snugfast.web.troubles import Troubles

pages = APIRouter()


class SignInForm(BaseModel):
    """A passphrase, what the phone is called, and the page that was wanted."""

    passphrase: str = ""
    name: str = ""
    to: str = ""


@dataclass(frozen=True, slots=True)
class SignInPage:
    """The form of the door. What was typed as passphrase is never shown again."""

    name: str
    to: str
    secure: bool
    troubles: Troubles | None


@dataclass(frozen=True, slots=True)
class LinkPage:
    """The button behind a one-time link: a preview of the link by the camera must not use it up."""

    token: str
    secure: bool


@pages.get("/door")
def ask(request: Request, bench: TheBench, to: str = "") -> Response:
    house = bench.house
    if house is None or not is_signed_out(request):
        return RedirectResponse(_own_page(to), status_code=303)
    return _show(request, house, SignInForm(to=to))


@pages.post("/door")
def sign_in(request: Request, bench: TheBench, form: Annotated[SignInForm, Form()]) -> Response:
    house = bench.house
    if house is None:
        return RedirectResponse("/", status_code=303)
    address = request.client.host if request.client else ""
    try:
        token = house.door.sign_in(form.passphrase, address=address, name=form.name)
    except WrongPassphrase as refused:
        return _show(request, house, form, Troubles.of(refused), 401)
    except TooManyTries as refused:
        answer = _show(request, house, form, Troubles.of(refused), 429)
        answer.headers["retry-after"] = str(round(refused.wait_s))
        return answer
    return _come_in(house, token, form.to)


@pages.get("/door/link/{token}")
def see_link(request: Request, bench: TheBench, token: str) -> Response:
    house = bench.house
    if house is None or not is_signed_out(request):
        return RedirectResponse("/", status_code=303)
    if not house.door.link_waits(token):
        return _spent(request, house)
    return show(request, "door/link.html", LinkPage(token, house.secure), title="Come in")


@pages.post("/door/link/{token}")
def use_link(request: Request, bench: TheBench, token: str, form: Annotated[SignInForm, Form()]) -> Response:
    house = bench.house
    if house is None:
        return RedirectResponse("/", status_code=303)
    try:
        return _come_in(house, house.door.use_link(token, name=form.name), "/")
    except LinkSpent:
        return _spent(request, house)


@pages.post("/door/out")
def sign_out(request: Request, bench: TheBench) -> Response:
    """End the session of the phone that asks."""
    phone: Phone | None = request.scope.get(PHONE)
    if bench.house is not None and phone is not None:
        bench.house.door.sign_out(phone.id)
    answer = RedirectResponse("/", status_code=303)
    answer.delete_cookie(COOKIE, path="/")
    return answer


def _come_in(house: House, token: str, to: str) -> Response:
    answer = RedirectResponse(_own_page(to), status_code=303)
    answer.set_cookie(
        COOKIE,
        token,
        max_age=int(AT_MOST.total_seconds()),
        path="/",
        httponly=True,
        samesite="lax",
        secure=house.secure,
    )
    return answer


def _own_page(to: str) -> str:
    """The page that was wanted, when it is one of ours: a path, and no way to another site."""
    ours = to.startswith("/") and not to.startswith(("//", "/\\", "/door")) and to.isprintable()
    return to if ours and "\\" not in to else "/"


def _spent(request: Request, house: House) -> Response:
    refused = LinkSpent(
        "This code was used, or it is too old.", "Show a new one on the computer, or use the passphrase."
    )
    return _show(request, house, SignInForm(), Troubles.of(refused), 410)


def _show(
    request: Request, house: House, form: SignInForm, troubles: Troubles | None = None, status: int = 200
) -> Response:
    page = SignInPage(form.name, form.to, house.secure, troubles)
    return show(request, "door/sign_in.html", page, title="Sign in", status=status)
