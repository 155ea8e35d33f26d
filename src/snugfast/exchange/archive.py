"""The hand-over archive: one documented, versioned ZIP, readable without Snugfast, hostile until read.

Inside: `README.txt` (for people), `manifest.json` (version, counts, fingerprints), `journal.jsonl` (an entry
a line), `people.jsonl`, and `schema.json` (JSON Schema of an entry). Nothing else is expected, nothing else
is opened, and nothing is ever written to a path named inside.
"""

from __future__ import annotations

import json
import os
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from typing import Any
from uuid import UUID

from snugfast.core.errors import BadInput, WrongData
from snugfast.core.findings import Finding
from snugfast.records.codec import canonical, entry_from_document, entry_schema, entry_to_document
from snugfast.records.entries import Entry
from snugfast.records.store.troubles import StoreTrouble, told_in_words
from snugfast.usecases.safekeeping.hand_over import Everything, Person

FORMAT = "snugfast-hand-over"
VERSION = 1
MEMBERS = ("README.txt", "manifest.json", "journal.jsonl", "people.jsonl", "schema.json")
MANIFEST = {"entries": int, "people": int, "workshop": str, "made_at": str, "handed_over_at": str}
LARGEST_MEMBER = 512 * 1024 * 1024  # bytes, unpacked; a century of a busy club is far below
LARGEST_LINE = 2 * 1024 * 1024
MOST_EXPANSION = 200  # times; journal lines pack to a tenth or so
MOST_FINDINGS = 20
SMALL_MEMBERS = ("README.txt", "manifest.json", "schema.json")
LARGEST_SMALL = 8 * 1024 * 1024  # bytes
WINDOW = 256 * 1024  # bytes unpacked at a time while nothing is saved of them
OWNER_ONLY = 0o600  # a journal is nobody else's

README = """Snugfast hand-over, version {version}

This archive holds everything a workshop wrote down. It can be read without Snugfast:

journal.jsonl   one entry a line, as JSON, in order of arrival. “kind” says what happened, “fact” holds it,
                “happened_at” and “recorded_at” are UTC, “replaces” names a corrected entry; an entry of kind
                “withdrawn” takes another back.
people.jsonl    who wrote: identity and name (null for somebody who was erased).
schema.json     the JSON Schema (draft 2020-12) of an entry.
manifest.json   format, version, counts, and the SHA-256 of each file.

Clocks, beliefs and lists are not here: they are worked out from the journal and come out the same.
To take it in: snugfast take-in FILE
"""


@dataclass(frozen=True, slots=True)
class Written:
    """An archive that was written: where, and how much is in it."""

    path: Path
    entries: int
    people: int


class NotAnArchive(BadInput):
    """A file that is no hand-over archive, or not a whole one."""


class ArchiveTooNew(BadInput):
    """A newer program wrote it."""


def write_archive(everything: Everything, to: Path) -> Written:
    """Write the archive under its name at once or not at all. The same workshop gives the same bytes.

    Raises BadInput when the file is there already or its folder is not, a StoreTrouble when the disk is full
    or may not be written.
    """
    if to.exists():
        raise BadInput(f"{to} is there already.", "Name a file that is not there yet.")
    if not to.parent.is_dir():
        raise BadInput(f"{to.parent} is not a folder.", "Make the folder, or name another.")
    files = {
        "README.txt": README.format(version=VERSION).encode(),
        "journal.jsonl": _lines(entry_to_document(entry) for entry in everything.entries),
        "people.jsonl": _lines({"id": str(one.id), "name": one.name} for one in everything.people),
        "schema.json": json.dumps(entry_schema(), ensure_ascii=False, indent=1, sort_keys=True).encode(),
    }
    manifest = {
        "format": FORMAT,
        "version": VERSION,
        "workshop": str(everything.workshop),
        "made_at": everything.made_at.isoformat(),
        "handed_over_at": everything.handed_over_at.isoformat(),
        "entries": len(everything.entries),
        "people": len(everything.people),
        "sha256": {name: sha256(content).hexdigest() for name, content in files.items()},
    }
    files["manifest.json"] = json.dumps(manifest, ensure_ascii=False, indent=1, sort_keys=True).encode()
    _write(files, to)
    return Written(to, len(everything.entries), len(everything.people))


def _write(files: Mapping[str, bytes], to: Path) -> None:
    """Beside it first, and on the disk, so that the name never stands for half of it."""
    part = to.with_name(to.name + ".part")
    try:
        with told_in_words(str(to)):
            handle = os.open(
                part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | getattr(os, "O_BINARY", 0), OWNER_ONLY
            )
            with os.fdopen(handle, "wb") as out:
                with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
                    for name in MEMBERS:
                        packed.writestr(
                            zipfile.ZipInfo(name), files[name], zipfile.ZIP_DEFLATED
                        )  # dated 1980
                out.flush()
                os.fsync(out.fileno())
            part.replace(to)
    except StoreTrouble:
        part.unlink(missing_ok=True)
        raise


def read_archive(path: Path, *, leave_out: bool = False) -> Everything:
    """Everything in an archive, refused as a whole when anything is wrong with it.

    With `leave_out`, lines of the journal that do not read are noted in `unread`, and the others returned.

    Raises NotAnArchive (no archive, half of one, more inside than belongs, too much inside), ArchiveTooNew,
    or WrongData with the lines that do not read.
    """
    try:
        with zipfile.ZipFile(path) as packed:
            return _everything(path, packed, leave_out=leave_out)
    except FileNotFoundError:
        raise NotAnArchive(f"{path} is not there.", "Check the path.") from None
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, NotImplementedError, RuntimeError) as error:
        raise NotAnArchive(f"{path} is not a whole archive: {error}.", "Fetch it again.") from error


def _everything(path: Path, packed: zipfile.ZipFile, *, leave_out: bool) -> Everything:
    """Read line by line from the packed file: what is refused in the end was never in memory whole."""
    manifest = _manifest(packed, _prints(packed))
    findings: list[Finding] = []
    most = None if leave_out else MOST_FINDINGS
    numbered = list(_entries(packed, findings, most))
    unread = tuple(findings) if leave_out else ()
    if leave_out:
        findings.clear()
    entries = tuple(entry for _, entry in numbered)
    people = tuple(_people(packed, findings))
    counts = {"entries": len(entries), "people": len(people)}
    for name, there in counts.items():
        if not (findings or unread) and manifest[name] != there:
            told = f"{manifest[name]} {name} are told, {there} are there"
            findings.append(Finding("manifest.json", told, "fetch it again"))
    if findings:
        raise WrongData(f"{path.name} cannot be taken in", findings[:MOST_FINDINGS])
    return Everything(
        workshop=_identity(manifest["workshop"]),
        made_at=_time(manifest["made_at"]),
        handed_over_at=_time(manifest["handed_over_at"]),
        entries=entries,
        people=people,
        lines=tuple(number for number, _ in numbered),
        unread=unread,
    )


def _prints(packed: zipfile.ZipFile) -> dict[str, str]:
    """The fingerprint of each member, all of them there and none too large."""
    infos = packed.infolist()
    strangers = [info.filename for info in infos if info.filename not in MEMBERS]
    if strangers:
        raise NotAnArchive(
            f"It holds “{strangers[0][:60]}”, which does not belong in a hand-over.", "Ask whoever made it."
        )
    names = [info.filename for info in infos]
    missing = [name for name in MEMBERS if names.count(name) != 1]
    if missing:
        raise NotAnArchive(f"“{missing[0]}” is missing or there twice.", "Fetch it again.")
    return {info.filename: _print_of(packed, info) for info in infos}


def _print_of(packed: zipfile.ZipFile, info: zipfile.ZipInfo) -> str:
    """One member's fingerprint, read through a small window and no further than it may be.

    What a header promises is not believed; a line no journal has ends it too.
    """
    most = min(LARGEST_MEMBER, max(1024 * 1024, info.compress_size * MOST_EXPANSION))
    if info.filename in SMALL_MEMBERS:
        most = min(most, LARGEST_SMALL)
    length = line = 0
    fingerprint = sha256()
    with packed.open(info) as member:
        while window := member.read(WINDOW):
            length += len(window)
            first, *others = window.split(b"\n")
            longest = max((line + len(first), *map(len, others)))
            line = len(others[-1]) if others else line + len(first)
            if length > most or (longest > LARGEST_LINE and info.filename not in SMALL_MEMBERS):
                raise NotAnArchive(
                    f"“{info.filename}” unpacks to far more than a journal.", "Do not take it in."
                )
            fingerprint.update(window)
    return fingerprint.hexdigest()


def _manifest(packed: zipfile.ZipFile, prints: Mapping[str, str]) -> dict[str, Any]:
    manifest = _json(packed.read("manifest.json"))
    if not isinstance(manifest, dict) or manifest.get("format") != FORMAT:
        raise NotAnArchive("It is not a Snugfast hand-over.", "Check the path.")
    version = manifest.get("version")
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise NotAnArchive("Its manifest names no version.", "Fetch it again.")
    if version > VERSION:
        raise ArchiveTooNew(
            f"A newer Snugfast wrote it (version {version}; this one reads {VERSION}).", "Update Snugfast."
        )
    promised = manifest.get("sha256")
    for name, fingerprint in prints.items():
        told = promised.get(name) if isinstance(promised, dict) else None
        if name != "manifest.json" and told != fingerprint:
            raise NotAnArchive(f"“{name}” is not what was written.", "Fetch it again.")
    for key, kind in MANIFEST.items():
        if not isinstance(manifest.get(key), kind):
            raise NotAnArchive(f"Its manifest does not say “{key}”.", "Fetch it again.")
    return manifest


def _entries(
    packed: zipfile.ZipFile, findings: list[Finding], most: int | None
) -> Iterator[tuple[int, Entry]]:
    for number, document in _documents("journal.jsonl", packed, findings, most):
        try:
            yield number, entry_from_document(document)
        except WrongData as wrong:
            findings += [
                Finding(f"journal.jsonl, line {number}, {one.where}", one.problem, one.way_out)
                for one in wrong.findings
            ]
        except BadInput as refused:
            findings.append(Finding(f"journal.jsonl, line {number}", refused.sentence, refused.way_out))


def _people(packed: zipfile.ZipFile, findings: list[Finding]) -> Iterator[Person]:
    for number, document in _documents("people.jsonl", packed, findings, MOST_FINDINGS):
        try:
            name = document["name"]
            if name is not None and (not isinstance(name, str) or not name.strip() or len(name) > 200):
                raise ValueError(name)
            yield Person(UUID(document["id"]), name)
        except (KeyError, ValueError, TypeError, AttributeError):
            findings.append(
                Finding(f"people.jsonl, line {number}", "this is nobody", "give an id and a name")
            )


def _documents(
    name: str, packed: zipfile.ZipFile, findings: list[Finding], most: int | None
) -> Iterator[tuple[int, dict[str, Any]]]:
    """Each line as an object, with its number. It ends when as much is wrong as anybody reads."""
    with packed.open(name) as lines:
        for number, line in enumerate(lines, 1):
            if most is not None and len(findings) >= most:
                return
            try:
                document = json.loads(line)
            except (ValueError, RecursionError) as error:
                what = f"this is not JSON: {error}"
                findings.append(Finding(f"{name}, line {number}", what, "fetch it again"))
                continue
            if isinstance(document, dict):
                yield number, document
            else:
                findings.append(Finding(f"{name}, line {number}", "this is not an object", "fetch it again"))


def _json(content: bytes) -> Any:
    try:
        return json.loads(content)
    except (ValueError, RecursionError):
        raise NotAnArchive("Its manifest does not read.", "Fetch it again.") from None


def _identity(text: str) -> UUID:
    try:
        return UUID(text)
    except ValueError:
        raise NotAnArchive(f"“{text[:60]}” in its manifest is no identity.", "Fetch it again.") from None


def _time(text: str) -> datetime:
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        raise NotAnArchive(f"“{text[:60]}” in its manifest is not a time.", "Fetch it again.") from None
    return at if at.tzinfo else at.replace(tzinfo=UTC)


def _lines(documents: Iterator[dict[str, Any]]) -> bytes:
    return "".join(canonical(document) + "\n" for document in documents).encode()
