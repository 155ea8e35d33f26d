"""The only code that opens the tables. It reads them whole, and refuses them whole when anything is wrong."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

from snugfast.core.errors import NotKnown, WrongData
from snugfast.core.findings import Finding
from snugfast.facts.builds import (
    build_document,
    build_from,
    build_toml,
    is_number,
    parse_build_toml,
    read_build,
)
from snugfast.facts.model import Assumption, Build, Facts, Pedigree, Role
from snugfast.facts.reading import Row
from snugfast.facts.references import dangling
from snugfast.facts.tables import Table, parse_table
from snugfast.facts.upkeep_rows import read_access, read_check, read_mode
from snugfast.facts.word_rows import read_caution, read_source, read_trait

__all__ = [
    "build_document",
    "build_toml",
    "load_facts",
    "parse_build_toml",
    "read_build",
    "read_table",
]

Shape = TypeVar("Shape")

_HERE = Path(__file__).resolve().parent


def load_facts(extra: Path | None = None) -> Facts:
    """All tables, checked: first ours, then the owner's own from the folder `extra`, laid out like ours.

    Raises WrongData naming file, row, what is wrong and the way out, for everything that is wrong at once.
    """
    return _Loader(_HERE, extra).facts()


def read_table(path: Path) -> Table:
    """A table of numbers: the CSV at `path`, and the TOML of the same name beside it.

    Raises NotKnown when either file is missing, WrongData when their contents are wrong.
    """
    about = path.with_suffix(".toml")
    for file in (path, about):
        if not file.is_file():
            raise NotKnown(f"There is no table file {file.name}.", "Put it beside the other tables.")
    return parse_table(path.read_text("utf-8"), about.read_text("utf-8"), path.stem)


class _Loader:
    """Reads file by file, keeping where each row stands and what is wrong."""

    def __init__(self, ours: Path, extra: Path | None) -> None:
        self.ours = ours
        self.roots = (ours,) if extra is None else (ours, extra)
        self.findings: list[Finding] = []
        self.places: dict[tuple[str, str], str] = {}

    def facts(self) -> Facts:
        roles = self._roles()
        facts = Facts(
            sources=self._keyed("sources", read_source),
            cautions=self._keyed("cautions", read_caution),
            roles=roles,
            access=self._keyed("access", read_access),
            modes=self._keyed("modes", read_mode),
            checks=self._keyed("checks", read_check),
            starters={},
            size_names=self._size_names(),
            traits=self._keyed("traits", read_trait),
            notches=tuple(dict.fromkeys(role.notch for role in roles.values())),
            standard_sizes=self._standard_sizes(),
            standard_bearings=self._standard_bearings(),
            assumptions=self._assumptions(),
        )
        self.findings += dangling(facts, self.places)
        facts = replace(facts, starters=self._starters(facts))
        if self.findings:
            raise WrongData("The tables", self.findings)
        return facts

    def _files(self, kind: str) -> Iterator[tuple[Path, str]]:
        """The TOML files of a kind: a folder of that name, or one file of that name."""
        for root in self.roots:
            single = root / f"{kind}.toml"
            files = [single] if single.is_file() else sorted((root / kind).glob("*.toml"))
            for file in files:
                yield file, str(file.relative_to(root))

    def _documents(self, kind: str) -> Iterator[tuple[dict[str, Any], str]]:
        for file, name in self._files(kind):
            try:
                yield tomllib.loads(file.read_text("utf-8")), name
            except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
                self.findings.append(Finding(name, f"this is not TOML: {error}", "look at that line"))

    def _keyed(self, kind: str, read: Callable[[str, Row], Shape]) -> dict[str, Shape]:
        """The rows of every file of a kind, by key; a key met twice is a fault."""
        rows: dict[str, Shape] = {}
        for document, name in self._documents(kind):
            for key, values in document.items():
                where = f"{name}, {key}"
                if key in rows:
                    self.findings.append(
                        Finding(
                            where, f"“{key}” is already in {self.places[kind, key]}", "rename one of them"
                        )
                    )
                    continue
                self.places[kind, key] = where
                rows[key] = read(key, Row(values, where, self.findings))
        return rows

    def _table(self, name: str) -> Table | None:
        try:
            return read_table(self.ours / f"{name}.csv")
        except WrongData as wrong:
            self.findings += wrong.findings
            return None

    def _roles(self) -> dict[str, Role]:
        """The roles in the order of the strip: rows of one notch stand together."""
        roles: dict[str, Role] = {}
        left: set[str] = set()
        last = ""
        for cells in self._cells("roles"):
            role = Role(key=str(cells["key"]), name=str(cells["name"]), notch=str(cells["notch"]))
            where = f"roles.csv, {role.key}"
            if role.key in roles:
                self.findings.append(Finding(where, f"“{role.key}” is there twice", "leave one out"))
            if role.notch in left:
                self.findings.append(
                    Finding(
                        where, f"the notch “{role.notch}” comes back", "keep the rows of a notch together"
                    )
                )
            if last != role.notch:
                left.add(last)
            last = role.notch
            roles[role.key] = role
        return roles

    def _cells(self, name: str) -> Iterator[dict[str, Any]]:
        table = self._table(name)
        for number, row in enumerate(table.rows if table else (), start=2):
            blank = [key for key, cell in row.items() if cell is None and key != "where"]
            if blank:
                self.findings.append(
                    Finding(f"{name}.csv, line {number}", f"{', '.join(blank)} is blank", "fill it in")
                )
                continue
            yield dict(row)

    def _size_names(self) -> dict[str, str]:
        return {str(row["key"]): str(row["name"]) for row in self._cells("size_names")}

    def _standard_sizes(self) -> dict[str, frozenset[str | float]]:
        listed: dict[str, set[str | float]] = {}
        for row in self._cells("standard_sizes"):
            size, value = str(row["size"]), str(row["value"])
            listed.setdefault(size, set()).add(float(value) if is_number(size) else value)
        return {size: frozenset(values) for size, values in listed.items()}

    def _standard_bearings(self) -> frozenset[tuple[float, float, float]]:
        return frozenset(
            (row["bore_mm"], row["outer_mm"], row["width_mm"]) for row in self._cells("standard_bearings")
        )

    def _assumptions(self) -> dict[str, Assumption]:
        return {
            row["key"]: Assumption(
                key=row["key"],
                value=row["value"],
                unit=row["unit"],
                meaning=row["meaning"],
                pedigree=Pedigree(source=row["source"], where=row["where"] or ""),
            )
            for row in self._cells("assumptions")
        }

    def _starters(self, facts: Facts) -> dict[str, Build]:
        starters: dict[str, Build] = {}
        for document, name in self._documents("starters"):
            build = build_from(document, name, facts, self.findings)
            if build.key in starters:
                self.findings.append(Finding(name, f"“{build.key}” is there twice", "rename one of them"))
            starters[build.key] = build
        return starters
