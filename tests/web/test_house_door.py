"""The pages in the house network: who gets in, who does not, and what never leaves.

Authority: the laws of this door. The passphrase's hash is Argon2id as RFC 9106 has it (its own library's).
"""

from __future__ import annotations

import json
import logging
import socket
import ssl
import stat
import subprocess
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from argon2 import PasswordHasher
from starlette.testclient import TestClient

from snugfast.app.house_door import FREE_TRIES, TRIES_OF_ALL, HouseDoor, made_up_passphrase
from snugfast.app.house_network import from_the_house, listening
from snugfast.core.errors import BadInput
from snugfast.records.store.engines import file_url
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.app import create_for
from snugfast.web.bench import House
from tests.web.parsed import Page
from tests.web.workshops import BEGAN, Clock, empty_workshop

AT = "http://192.168.1.5:8765"
PASSPHRASE = "nuts and bolts at nine"
SECRETS = ("Bramble", "Ember")  # what only who is in may read


class Hand:
    """A clock that only moves when it is told to."""

    def __init__(self) -> None:
        self.at = datetime(2026, 5, 10, 18, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.at

    def on(self, **further: float) -> None:
        self.at += timedelta(**further)


@pytest.fixture
def hand() -> Hand:
    return Hand()


@pytest.fixture
def house(tmp_path: Path, hand: Hand) -> House:
    """A door with a passphrase; its hash is a quick one, and says so itself."""
    file = tmp_path / "workshop.door.json"
    quick = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    file.write_text(json.dumps({"form": 1, "passphrase": quick.hash(PASSPHRASE), "phones": []}), "utf-8")
    file.chmod(0o600)
    return House(HouseDoor(file, now=hand), AT, False)


Phone = Callable[..., TestClient]


@pytest.fixture
def phone(workshop: Workshop, house: House) -> Phone:
    """A browser somewhere in the house; each call is another one."""
    app = create_for(workshop, house)

    def one(at: str = "192.168.1.20", base: str = AT) -> TestClient:
        return TestClient(app, base_url=base, client=(at, 50000), follow_redirects=False)

    return one


def signed_in(client: TestClient, passphrase: str = PASSPHRASE) -> int:
    status: int = client.post("/door", data={"passphrase": passphrase}).status_code
    return status


def test_at_the_machine_nothing_is_asked(phone: Phone) -> None:
    desk = phone("127.0.0.1", "http://127.0.0.1:8765")
    assert desk.get("/").status_code == 200
    assert "no phone yet" in Page.of(desk.get("/phones")).text.lower()


@pytest.mark.parametrize("sent_on", ["x-forwarded-for", "forwarded", "via", "x-real-ip"])
def test_what_another_program_sends_on_is_not_at_the_machine(phone: Phone, sent_on: str) -> None:
    desk = phone("127.0.0.1", "http://127.0.0.1:8765")
    assert desk.get("/", headers={sent_on: "203.0.113.9"}).headers["location"] == "/door"


def test_a_phone_that_claims_to_be_the_machine_is_not(phone: Phone) -> None:
    liar = phone(base="http://127.0.0.1:8765")
    assert liar.get("/").headers["location"] == "/door"


@pytest.mark.parametrize(
    "path", ["/", "/journal", "/sheet?car=Bramble&make=1", "/openapi.json", "/more", "/phones"]
)
def test_who_is_not_in_is_sent_to_the_door(phone: Phone, path: str) -> None:
    answer = phone().get(path)
    assert answer.status_code == 303
    assert answer.headers["location"].startswith("/door")


def test_who_is_not_in_reads_nothing_of_the_workshop(phone: Phone, workshop: Workshop) -> None:
    with workshop.store.reading() as reads:
        entry = [row.entry.id for row in reads.entries_after(0)][-1]
        before = reads.position()
    client = phone()
    for path in ("/door", "/door/link/x", "/static/nowhere", "/door/nowhere", "/health", "/nowhere"):
        text = client.get(f"{path}?kept={entry}").text
        assert not any(word in text for word in SECRETS), path
    for path in ("/runs", "/keep", "/settings", "/redo", f"/journal/{entry}/withdraw", "/phones/all/out"):
        assert client.post(path, data={"car": "Bramble"}).status_code == 401
    with workshop.store.reading() as reads:
        assert reads.position() == before


def test_the_passphrase_lets_a_phone_in_to_the_page_it_wanted(phone: Phone) -> None:
    client = phone()
    wanted = client.get("/journal?words=gravel").headers["location"]
    form = Page.of(client.get(wanted))
    assert "Plain HTTP" in form.text
    to = next(one for one in form.root.all("input") if one.attributes["name"] == "to").attributes["value"]
    answer = client.post("/door", data={"passphrase": PASSPHRASE, "name": "Pip’s phone", "to": to})
    assert answer.headers["location"] == "/journal?words=gravel"
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=lax" in cookie
    assert client.get("/journal").status_code == 200
    assert phone().get("/journal").status_code == 303, "another phone is not in"
    assert "Pip’s phone" in phone("127.0.0.1", "http://127.0.0.1:8765").get("/phones").text


@pytest.mark.parametrize(
    "to", ["//evil.example", "https://evil.example", "/\\evil.example", "/x\\..", "/\n/evil"]
)
def test_the_door_leads_to_no_other_site(phone: Phone, to: str) -> None:
    answer = phone().post("/door", data={"passphrase": PASSPHRASE, "to": to})
    assert answer.headers["location"] == "/"


def test_a_wrong_passphrase_is_refused_and_soon_has_to_wait(phone: Phone, hand: Hand) -> None:
    client = phone()
    for _ in range(FREE_TRIES):
        assert signed_in(client, "nuts and bolts at ten") == 401
    assert signed_in(client) == 429, "the right one waits too, or the wait would say which is right"
    assert signed_in(phone("192.168.1.21")) == 303, "who comes from elsewhere does not wait"
    hand.on(seconds=31)
    assert signed_in(client) == 303


def wrong_tries(phone: Phone, hand: Hand, tries: int, house: House) -> int:
    """How many of so many wrong passphrases, one a second from ever new addresses, were looked at."""
    looked = 0
    for number in range(tries):
        client = phone(f"10.0.{number // 250}.{number % 250 + 1}")
        looked += signed_in(client, f"wrong {number}") == 401
        hand.on(seconds=1)
    assert house.door.phones() == ()
    return looked


def test_many_addresses_make_no_more_tries(phone: Phone, hand: Hand, house: House) -> None:
    for number in range(TRIES_OF_ALL):
        house.door._wrong[f"10.1.0.{number}"] = [hand()]
    assert wrong_tries(phone, hand, 5, house) == 0
    assert signed_in(phone()) == 429
    client = phone()
    assert client.post(urlsplit(house.link).path).status_code == 303, (
        "a code from the machine works all the same"
    )


@pytest.mark.soak
def test_a_thousand_wrong_passphrases_let_nobody_in(phone: Phone, hand: Hand, house: House) -> None:
    assert wrong_tries(phone, hand, 1000, house) == TRIES_OF_ALL


def test_a_one_time_link_lets_the_first_phone_in_and_is_dead(phone: Phone, house: House) -> None:
    path = urlsplit(house.link).path
    first, thief = phone(), phone("192.168.1.66")
    assert "Come in" in thief.get(path).text, "a look does not use it up"
    answer = first.post(path, data={"name": "Phone of the first"})
    assert answer.status_code == 303
    assert first.get("/journal").status_code == 200
    assert thief.get(path).status_code == 410
    assert thief.post(path).status_code == 410
    assert thief.get("/journal").status_code == 303
    assert urlsplit(house.link).path != path, "the machine shows another"


def test_a_one_time_link_is_too_old_after_ten_minutes(phone: Phone, house: House, hand: Hand) -> None:
    path = urlsplit(house.link).path
    hand.on(minutes=10)
    assert phone().post(path).status_code == 410


def test_a_session_ends(phone: Phone, hand: Hand) -> None:
    client = phone()
    signed_in(client)
    for _ in range(6):
        hand.on(days=29)
        assert client.get("/more").status_code == 200
    hand.on(days=7)
    assert client.get("/more").status_code == 303, "180 days after it began, though it was used all along"
    signed_in(client)
    hand.on(days=30)
    assert client.get("/more").status_code == 303, "not seen for 30 days"
    assert client.post("/runs").status_code == 401


def test_a_session_can_be_ended_from_the_machine_and_by_itself(phone: Phone, house: House) -> None:
    desk, client, other = phone("127.0.0.1", "http://127.0.0.1:8765"), phone(), phone("192.168.1.21")
    signed_in(client)
    signed_in(other)
    assert other.post("/phones/all/out").status_code == 409, "a phone ends no other"
    newest = house.door.phones()[0]
    desk.post(f"/phones/{newest.id}/out")
    assert len(house.door.phones()) == 1
    desk.post("/phones/all/out")
    assert client.get("/more").status_code == other.get("/more").status_code == 303
    signed_in(client)
    client.post("/door/out")
    assert house.door.phones() == ()


def test_sessions_outlast_a_stop_and_end_with_a_new_passphrase(house: House, hand: Hand) -> None:
    token = house.door.use_link(house.door.link(), name="")
    again = HouseDoor(house.door._file, now=hand)
    assert again.seated(token) is not None
    again.set_passphrase("other nuts, other bolts")
    assert again.seated(token) is None
    assert HouseDoor(house.door._file, now=hand).seated(token) is None
    with pytest.raises(BadInput):
        again.set_passphrase("too short")


def test_a_name_bent_to_this_machine_reaches_nothing(phone: Phone) -> None:
    """DNS rebinding: the browser asks under a name that somebody else owns."""
    client = phone()
    signed_in(client)
    for host in ("evil.example", "192.168.1.5.evil.example", "192.168.1.6:8765", "[fd00::5]:8765", ""):
        refused = client.get("/", headers={"host": host})
        assert refused.status_code == 421, host
        assert not any(word in refused.text for word in SECRETS)


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": "http://192.168.1.5:9"},
        {"sec-fetch-site": "cross-site"},
    ],
)
def test_a_form_from_another_site_is_refused_though_the_phone_is_in(
    phone: Phone, headers: dict[str, str]
) -> None:
    client = phone()
    signed_in(client)
    assert client.post("/runs", data={"car": "Bramble"}, headers=headers).status_code == 403
    assert client.post("/door", data={"passphrase": PASSPHRASE}, headers=headers).status_code == 403
    assert client.post("/door/out", headers=headers).status_code == 403


def test_who_is_outside_the_house_is_refused(phone: Phone) -> None:
    assert phone("8.8.8.8").get("/door").status_code == 403


def test_no_secret_is_kept_or_logged(
    phone: Phone, house: House, caplog: pytest.LogCaptureFixture, capsys: pytest.CaptureFixture[str]
) -> None:
    caplog.set_level(logging.DEBUG)
    link = urlsplit(house.link).path
    client = phone()
    answer = client.post(link)
    signed_in(phone("192.168.1.30"), "a wrong one of mine")
    shown = phone("192.168.1.31").post("/door", data={"passphrase": "a wrong one of mine"}).text
    token = answer.cookies["snugfast-phone"]
    out = capsys.readouterr()
    said = "\n".join(
        (
            *(record.getMessage() for record in caplog.records if not record.name.startswith("httpx")),
            out.out,
            out.err,
            shown,
        )
    )
    kept = house.door._file.read_text("utf-8")
    for secret in (PASSPHRASE, token, link.rsplit("/", 1)[1], "a wrong one of mine"):
        assert secret not in kept
        assert secret not in said
    assert '"$argon2id$' in kept
    assert stat.S_IMODE(house.door._file.stat().st_mode) == 0o600


def test_a_made_up_passphrase_is_long_and_new_each_time() -> None:
    made = {made_up_passphrase() for _ in range(50)}
    assert len(made) == 50
    assert all(len(one) >= 19 for one in made)


def test_every_page_of_the_door_says_what_a_browser_may_do(phone: Phone) -> None:
    for path in ("/door", "/", "/door/link/none"):
        headers = phone().get(path).headers
        assert "default-src 'none'" in headers["content-security-policy"]
        assert headers["cache-control"] == "no-store"


def test_the_pages_without_a_house_have_no_door(client: TestClient) -> None:
    assert client.get("/door", follow_redirects=False).headers["location"] == "/"
    assert "serve --house" in client.get("/phones").text


def test_who_is_not_in_sends_no_more_than_a_passphrase(phone: Phone) -> None:
    client = phone()
    assert client.post("/door", data={"passphrase": "x" * 11_000}).status_code == 413
    endless = client.post("/door", content=(chunk for chunk in [b"passphrase=", b"x" * 100]))
    assert endless.status_code == 411, "a body that does not say how long it is"


def test_the_command_opens_the_house_and_nothing_else(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every address of this machine, no log of addresses, and nobody speaks for somebody else."""
    import uvicorn
    from click.testing import CliRunner

    from snugfast.cli.main import snugfast

    started: dict[str, Any] = {}

    class Started:
        def __init__(self, config: uvicorn.Config) -> None:
            started.update(vars(config))

        def run(self, sockets: list[socket.socket]) -> None:
            started["at"] = {one.getsockname()[:2] for one in sockets}
            for one in sockets:
                one.close()

    monkeypatch.setattr(uvicorn, "Server", Started)
    file = tmp_path / "shed" / "workshop.sqlite"
    file.parent.mkdir()
    empty_workshop(Clock(BEGAN), file_url(file)).store.close()
    for name in ("own.pem", "own.key"):
        (tmp_path / name).write_text("owner's own")
    command = ["--workshop", str(file), "serve", "--port", "8998"]
    owner = CliRunner()
    house = [*command, "--house", "--address", "Shed.local"]
    first = owner.invoke(snugfast, house, input="nuts and bolts at nine\nnuts and bolts at nine\n")
    assert first.exit_code == 0, first.output
    assert "http://shed.local:8998/door/link/" in first.output
    assert "Plain HTTP" in first.output
    assert "nuts and bolts" not in first.output
    assert ("0.0.0.0", 8998) in started["at"] and started["at"] <= {("0.0.0.0", 8998), ("::", 8998)}
    assert started["access_log"] is False
    assert started["proxy_headers"] is False

    own = ["--certificate", str(tmp_path / "own.pem"), "--key", str(tmp_path / "own.key")]
    secure = owner.invoke(snugfast, [*house, *own])
    assert "https://shed.local:8998" in secure.output, "asked once, the passphrase stays"
    assert "Plain HTTP" not in secure.output
    assert (started["ssl_certfile"], started["ssl_keyfile"]) == (tmp_path / "own.pem", tmp_path / "own.key")
    assert owner.invoke(snugfast, [*house, *own[:2]]).exit_code != 0
    short = owner.invoke(snugfast, [*house, "--new-passphrase"], input="short\nshort\n")
    assert short.exit_code != 0


def test_over_https_the_cookie_is_never_sent_in_the_open(workshop: Workshop, house: House) -> None:
    app = create_for(workshop, House(house.door, AT.replace("http", "https"), True))
    client = TestClient(app, base_url=AT.replace("http", "https"), client=("192.168.1.20", 1))
    answer = client.post("/door", data={"passphrase": PASSPHRASE}, follow_redirects=False)
    assert "secure" in answer.headers["set-cookie"].lower()
    assert "Plain HTTP" not in client.get("/door").text


def test_no_archive_carries_the_door(workshop: Workshop, house: House, tmp_path: Path) -> None:
    from snugfast.usecases.safekeeping.hand_over import hand_over

    house.door.link()
    signed = house.door.use_link(house.door.link(), name="Red phone")
    told = repr(hand_over(workshop))
    assert "Red phone" not in told and "argon2" not in told and signed not in told


def test_what_a_phone_answers_is_its_owners(phone: Phone, workshop: Workshop) -> None:
    ada, desk = phone(), phone("127.0.0.1", "http://127.0.0.1:8765")
    ada.post("/door", data={"passphrase": PASSPHRASE, "name": "Ada"})
    with workshop.store.reading() as reads:
        before = {person.name for person in reads.people()}
    assert "Ada" not in before, "who only reads is nobody yet"
    sheet = Page.of(desk.get("/sheet?car=Bramble&minutes=20&make=1", follow_redirects=True))
    first = next(form for form in sheet.forms("/sheets/") if "/rounds/" in form.action)
    assert first.send(ada, "Skipped").status_code == 303
    with workshop.store.reading() as reads:
        people = {person.id: person.name for person in reads.people()}
        latest = [row.entry for row in reads.entries_after(0)][-1]
    assert people[latest.author] == "Ada"
    seen = Page.of(desk.get(str(sheet.response.url), follow_redirects=True))
    assert "(Ada)" in seen.text, "the owner sees who answered"
    mine = Page.of(ada.get(str(sheet.response.url.path) + "?" + sheet.response.url.query.decode()))
    assert "(Ada)" not in mine.text, "who answered need not be told"
    unnamed = phone("192.168.1.21")
    signed_in(unnamed)
    unnamed.post("/settings", data={"clock": "12 h"})
    with workshop.store.reading() as reads:
        assert {person.name for person in reads.people()} == before | {"Ada"}


@pytest.mark.parametrize(
    ("asking", "at", "is_in"),
    [
        ("fe80::1", "fe80::2", True),
        ("fd12:3456::20", "fd12:3456::5", True),
        ("2003:db:1:2::20", "2003:db:1:2::5", True),  # public, on the same link
        ("2003:db:1:3::20", "2003:db:1:2::5", False),
        ("2003:db:1:2::20", "192.168.1.5", False),
        ("::ffff:192.168.1.20", "::ffff:192.168.1.5", True),
        ("::ffff:8.8.8.8", "::ffff:192.168.1.5", False),
        ("8.8.8.8", "8.8.8.9", False),
        ("", "", False),
    ],
)
def test_who_is_in_the_house(asking: str, at: str, is_in: bool) -> None:
    assert from_the_house(asking, at) is is_in


def test_a_number_of_ipv6_is_a_name_of_its_own(workshop: Workshop, house: House) -> None:
    app = create_for(workshop, house)

    def asked(host: str) -> int:
        base = TestClient(
            app, base_url="http://[fd12::5]:8765", client=("fd12::20", 1), follow_redirects=False
        )
        return int(base.get("/", headers={"host": host}).status_code)

    assert asked("[fd12::5]:8765") == 303, "to the door"
    assert asked("[fd12:0:0::5]:8765") == 303, "the same number"
    for other in ("[fd12::6]:8765", "fd12::5", "evil.example:8765"):
        assert asked(other) == 421


def test_an_owners_certificate_shakes_hands(workshop: Workshop, house: House, tmp_path: Path) -> None:
    """A real TLS handshake with a certificate that is made here; without trust in it, none."""
    import uvicorn

    pem, key = tmp_path / "own.pem", tmp_path / "own.key"
    command = (
        "openssl req -x509 -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -days 2 -subj /CN=shed.local"
    )
    names = "subjectAltName=IP:127.0.0.1,DNS:shed.local"
    made = [*command.split(), "-addext", names, "-keyout", str(key), "-out", str(pem)]
    subprocess.run(made, check=True, capture_output=True)
    (four, *others) = listening(0)
    for one in others:
        one.close()
    app = create_for(workshop, House(house.door, "https://shed.local", True))
    server = uvicorn.Server(uvicorn.Config(app, log_level="error", ssl_certfile=pem, ssl_keyfile=key))
    running = threading.Thread(target=server.run, kwargs={"sockets": [four]}, daemon=True)
    running.start()
    address = f"127.0.0.1:{four.getsockname()[1]}"
    try:
        while not server.started:
            time.sleep(0.01)
        trusting = ssl.create_default_context(cafile=str(pem))
        plain = socket.create_connection(("127.0.0.1", four.getsockname()[1]), timeout=10)
        with plain, trusting.wrap_socket(plain, server_hostname="shed.local") as wrapped:
            assert wrapped.version() in ("TLSv1.2", "TLSv1.3")
        with urllib.request.urlopen(f"https://{address}/health", context=trusting, timeout=10) as answer:
            assert answer.status == 200
        with pytest.raises(urllib.error.URLError, match="CERTIFICATE_VERIFY_FAILED"):
            urllib.request.urlopen(
                f"https://{address}/health", context=ssl.create_default_context(), timeout=10
            )
        with pytest.raises(OSError):
            urllib.request.urlopen(f"http://{address}/health", timeout=10)
    finally:
        server.should_exit = True
        running.join(10)
