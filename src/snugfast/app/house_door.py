"""Who may come in from the house network: one passphrase, one-time links, and the phones that are signed in.

What has to outlast a stop of the server stands in a file beside the store, readable for its owner only: the
passphrase as an Argon2id hash (RFC 9106) and each session as a SHA-256 hash of a token of 256 bits. It is no
part of the journal, so no archive or backup carries it. One-time links and the count of wrong tries are kept
in memory.
"""

from __future__ import annotations

import json
import os
import re
import secrets
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from hmac import compare_digest
from pathlib import Path
from threading import Lock

from snugfast.app.folders import data_folder
from snugfast.core.errors import BadInput, RefusedAction

# Our choices, elicited: what a house with a few phones can live with.
LEAST_LETTERS = 10
UNSEEN_FOR = timedelta(days=30)  # a session nobody used for so long is over
AT_MOST = timedelta(days=180)  # and so is one that was used all along
LINK_LASTS = timedelta(minutes=10)
FREE_TRIES = 5  # of one address, before each further one has to wait
FIRST_WAIT_S = 30.0  # doubled with each further wrong try
LONGEST_WAIT_S = 900.0
TRIES_OF_ALL = 60  # wrong ones an hour, whoever makes them
FORGOTTEN_AFTER_S = 3600.0
MOST_PHONES = 50
SEEN_TO_THE = timedelta(hours=1)  # how finely the last use is written down

UNNAMED = re.compile(r"Phone \d+")  # what a phone is called when nobody says
SYLLABLES = tuple(c + v for c in "bdfgklmnprstvwz" for v in "aeiou")  # 75 of them: 6.2 bits each


class WrongPassphrase(RefusedAction):
    """Not the passphrase of this workshop."""


class TooManyTries(RefusedAction):
    """Too many wrong passphrases; the next is looked at after a wait."""

    def __init__(self, wait_s: float) -> None:
        minutes = max(1, round(wait_s / 60.0))
        unit = "minute" if minutes == 1 else "minutes"
        super().__init__(
            f"That was too often wrong. Try again in about {minutes} {unit}.",
            "Or scan a new code from the computer: it works at once.",
        )
        self.wait_s = wait_s


class LinkSpent(RefusedAction):
    """A one-time link that was used, or is too old, or never was one."""


@dataclass(frozen=True, slots=True)
class Phone:
    """A device that is signed in. `id` names it on pages; `mark` is the hash of its token."""

    id: str
    name: str
    since: datetime
    seen: datetime
    mark: str

    @property
    def named(self) -> bool:
        """Whether somebody said whose phone it is."""
        return not UNNAMED.fullmatch(self.name)

    @property
    def until(self) -> datetime:
        """When it is signed out unless it is used before."""
        return min(self.seen + UNSEEN_FOR, self.since + AT_MOST)


def door_file(address: str, store_file: Path | None) -> Path:
    """The file of the door: beside the store, or in the data folder for a store on a database server."""
    if store_file is not None:
        return store_file.with_name(f"{store_file.stem}.door.json")
    return data_folder() / f"door-{sha256(address.encode()).hexdigest()[:12]}.json"


def made_up_passphrase() -> str:
    """Eight random syllables in four words: about 50 bits, and easy to type on a phone."""
    return "-".join(secrets.choice(SYLLABLES) + secrets.choice(SYLLABLES) for _ in range(4))


class HouseDoor:
    """The door of one workshop to the house network."""

    def __init__(self, file: Path, *, now: Callable[[], datetime]) -> None:
        self._file = file
        self._now = now
        self._lock = Lock()
        self._hashing = Lock()  # one at a time: each takes 64 MiB
        self._link: tuple[str, datetime] | None = None
        self._wrong: dict[str, list[datetime]] = {}
        self._hash, self._phones, self._address, self._feed = _read(file)

    @property
    def address(self) -> str:
        """Where phones found the pages last, such as http://192.168.1.5:8765; what is printed leads there."""
        return self._address

    def opened_at(self, address: str) -> None:
        """Note where phones find the pages from now on."""
        with self._lock:
            self._address = address
            self._write()

    def feed(self) -> str:
        """The secret in the address of the calendar: it reads the dates and nothing else."""
        if not self._feed:
            self.new_feed()
        return self._feed

    def is_feed(self, secret: str) -> bool:
        """Whether a secret is that of the calendar."""
        return bool(self._feed) and compare_digest(self._feed.encode(), secret.encode())

    def new_feed(self) -> None:
        """Give the calendar a new address; the one before reads nothing any more."""
        with self._lock:
            self._feed = secrets.token_urlsafe(24)
            self._write()

    @property
    def has_passphrase(self) -> bool:
        """Whether there is one to sign in with."""
        return bool(self._hash)

    def set_passphrase(self, passphrase: str) -> None:
        """Choose a passphrase; who was signed in before is signed out. Raises BadInput for a short one."""
        from argon2 import PasswordHasher

        said = passphrase.strip()
        if len(said) < LEAST_LETTERS:
            raise BadInput(
                f"A passphrase has at least {LEAST_LETTERS} letters.", "Take a few words that nobody guesses."
            )
        hashed = PasswordHasher().hash(said)
        with self._lock:
            self._hash, self._phones, self._feed = hashed, {}, ""
            self._link = None
            self._write()

    def sign_in(self, passphrase: str, *, address: str, name: str) -> str:
        """A new session's token. Raises TooManyTries before anything is looked at, or WrongPassphrase."""
        from argon2 import PasswordHasher
        from argon2.exceptions import Argon2Error, InvalidHashError

        with self._hashing:
            wait_s = self._wait_s(address)
            if wait_s > 0.0:
                raise TooManyTries(wait_s)
            try:
                PasswordHasher().verify(self._hash, passphrase.strip())
            except (Argon2Error, InvalidHashError):
                with self._lock:
                    self._wrong.setdefault(address, []).append(self._now())
                raise WrongPassphrase("That is not the passphrase.", "Type it again.") from None
        with self._lock:
            self._wrong.pop(address, None)
        return self._seat(name)

    def link(self) -> str:
        """The secret of the one-time link that waits for a phone; a new one when there is none."""
        now = self._now()
        with self._lock:
            if self._link is None or now >= self._link[1]:
                self._link = secrets.token_urlsafe(24), now + LINK_LASTS
            return self._link[0]

    def link_waits(self, token: str) -> bool:
        """Whether a one-time link can still be used."""
        with self._lock:
            return self._fits(token)

    def use_link(self, token: str, *, name: str) -> str:
        """A new session's token for whoever comes first. Raises LinkSpent for everybody after."""
        with self._lock:
            fits = self._fits(token)
            if fits:
                self._link = None
        if not fits:
            raise LinkSpent(
                "This code was used, or it is too old.", "Show a new one on the computer, and scan that."
            )
        return self._seat(name)

    def seated(self, token: str) -> Phone | None:
        """The phone a token belongs to, while its session lasts."""
        if not token:
            return None
        mark, now = _mark(token), self._now()
        with self._lock:
            phone = self._phones.get(mark)
            if phone is None or not compare_digest(phone.mark, mark):
                return None
            if now >= phone.until:
                del self._phones[mark]
                self._write()
                return None
            if now - phone.seen >= SEEN_TO_THE:
                phone = self._phones[mark] = replace(phone, seen=now)
                self._write()
            return phone

    def phones(self) -> tuple[Phone, ...]:
        """Who is signed in, the latest first."""
        now = self._now()
        with self._lock:
            live = [phone for phone in self._phones.values() if now < phone.until]
        return tuple(sorted(live, key=lambda phone: phone.seen, reverse=True))

    def sign_out(self, phone_id: str) -> None:
        """End one session; an unknown one is ended already."""
        with self._lock:
            self._phones = {mark: one for mark, one in self._phones.items() if one.id != phone_id}
            self._write()

    def sign_out_all(self) -> None:
        """End every session."""
        with self._lock:
            self._phones = {}
            self._link = None
            self._write()

    def _fits(self, token: str) -> bool:
        if self._link is None or self._now() >= self._link[1]:
            return False
        return compare_digest(self._link[0].encode(), token.encode())

    def _seat(self, name: str) -> str:
        token, now = secrets.token_urlsafe(32), self._now()
        with self._lock:
            live = sorted((one for one in self._phones.values() if now < one.until), key=lambda one: one.seen)
            self._phones = {one.mark: one for one in live[-(MOST_PHONES - 1) :]}
            called = " ".join(name.split())[:40] or f"Phone {len(self._phones) + 1}"
            phone = Phone(secrets.token_hex(6), called, now, now, _mark(token))
            self._phones[phone.mark] = phone
            self._write()
        return token

    def _wait_s(self, address: str) -> float:
        """How long the next try from an address has to wait, in seconds; none when not above zero."""
        now = self._now()
        with self._lock:
            self._wrong = {
                who: fresh
                for who, tries in self._wrong.items()
                if (fresh := [at for at in tries if (now - at).total_seconds() < FORGOTTEN_AFTER_S])
            }
            own = self._wrong.get(address, [])
            every = sorted(at for tries in self._wrong.values() for at in tries)
        waits = [0.0]
        if len(own) >= FREE_TRIES:
            wait_s = min(LONGEST_WAIT_S, FIRST_WAIT_S * 2.0 ** (len(own) - FREE_TRIES))
            waits.append(wait_s - (now - own[-1]).total_seconds())
        if len(every) >= TRIES_OF_ALL:
            waits.append(FORGOTTEN_AFTER_S - (now - every[-TRIES_OF_ALL]).total_seconds())
        return max(waits)

    def _write(self) -> None:
        held = {
            "form": 1,
            "passphrase": self._hash,
            "address": self._address,
            "feed": self._feed,
            "phones": [
                {**asdict(one), "since": one.since.isoformat(), "seen": one.seen.isoformat()}
                for one in self._phones.values()
            ],
        }
        part = self._file.with_name(f"{self._file.name}.{os.getpid()}.part")
        part.unlink(missing_ok=True)
        with os.fdopen(
            os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w", encoding="utf-8"
        ) as out:
            json.dump(held, out)
        part.replace(self._file)


def _read(file: Path) -> tuple[str, dict[str, Phone], str, str]:
    if not file.is_file():
        return "", {}, "", ""
    try:
        held = json.loads(file.read_text("utf-8"))
        phones = [
            Phone(one["id"], one["name"], _time(one["since"]), _time(one["seen"]), one["mark"])
            for one in held["phones"]
        ]
        marked = {one.mark: one for one in phones}
        return str(held["passphrase"]), marked, str(held.get("address", "")), str(held.get("feed", ""))
    except (ValueError, KeyError, TypeError) as broken:
        raise RefusedAction(
            f"{file} cannot be read, so nobody can be let in.",
            "Delete it, and choose a passphrase anew: nothing of the workshop is in it.",
        ) from broken


def _time(text: str) -> datetime:
    return datetime.fromisoformat(text).astimezone(UTC)


def _mark(token: str) -> str:
    return sha256(token.encode()).hexdigest()
