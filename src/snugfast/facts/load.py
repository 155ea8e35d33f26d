"""The only code that opens the tables. It reads them whole, and refuses them whole when anything is wrong."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

from snugfast.core.errors import NotKnown, WrongData
from snugfast.core.findings import Finding
from snugfast.facts.aftercare_rows import read_one_off_sheet, read_treatment, read_wet_rule
from snugfast.facts.alike import LIKE, filled_in
from snugfast.facts.builds import (
    build_document,
    build_from,
    build_toml,
    is_number,
    parse_build_toml,
    read_build,
)
from snugfast.facts.cell_limits import with_cell_limits
from snugfast.facts.hunt_rows import read_cause, read_fault_test, read_strength, read_symptom
from snugfast.facts.model import Assumption, Build, Facts, Pedigree, Role, Source
from snugfast.facts.own_rows import MINUTES, own_source, read_minutes, strangers, with_own_minutes
from snugfast.facts.parsed import ParsedTexts
from snugfast.facts.reading import Row
from snugfast.facts.references import dangling
from snugfast.facts.sheet_rows import read_presence, read_root, read_round, read_spare_part
from snugfast.facts.starter_builds import StarterBuilds
from snugfast.facts.stress_rows import read_duty, read_overload, read_stress
from snugfast.facts.tables import Table, parse_table
from snugfast.facts.upkeep_rows import read_access, read_check, read_mode
from snugfast.facts.word_rows import read_also_called, read_caution, read_price_level, read_source, read_trait

__all__ = [
    "build_document",
    "build_toml",
    "load_facts",
    "parse_build_toml",
    "read_build",
    "read_document",
    "read_table",
]

Shape = TypeVar("Shape")

_HERE = Path(__file__).resolve().parent

MARKED = (
    "cautions",
    "access",
    "modes",
    "checks",
    "treatments",
    "wet_rules",
    "one_off_sheets",
    "stress",
    "overload",
    "rounds",
    "presence",
    "duty",
    "roots",
    "also_called",
    "price_levels",
    "spare_parts",
    "hunt_strengths",
    "hunt_symptoms",
    "hunt_causes",
    "hunt_tests",
)
"""Kinds of rows that say where they come from, so that an owner's are marked as theirs."""

SAY_VOLTS = ("checks", "cautions", "modes")
"""Kinds of rows whose texts may name limits of cells."""

NO_UNIT = "none"
KINDS = (*MARKED, "sources", "traits", "starters", MINUTES)
"""What an owner's folder of tables may hold."""


def load_facts(extra: Path | None = None) -> Facts:
    """All tables, checked: first ours, then the owner's own from the folder `extra`, laid out like ours.

    An owner's rows have the source “mine”. Ours among the starter builds are read when they are asked for.

    Raises WrongData naming file, row, what is wrong and the way out, for everything that is wrong at once.
    """
    return _shipped() if extra is None else _Loader(_HERE, extra).facts()


@cache
def _shipped() -> Facts:
    """Our own tables, read once: they do not change while a program runs, and nobody may change a row."""
    return _Loader(_HERE, None).facts()


def read_table(path: Path) -> Table:
    """A table of numbers: the CSV at `path`, and the TOML of the same name beside it.

    Raises NotKnown when either file is missing, WrongData when their contents are wrong.
    """
    about = path.with_suffix(".toml")
    for file in (path, about):
        if not file.is_file():
            raise NotKnown(f"There is no table file {file.name}.", "Put it beside the other tables.")
    return parse_table(path.read_text("utf-8"), about.read_text("utf-8"), path.stem)


def read_document(path: Path) -> Mapping[str, Any]:
    """One of our own TOML tables, as it is written. Raises NotKnown when it is missing."""
    if not path.is_file():
        raise NotKnown(f"There is no table file {path.name}.", "Put it beside the other tables.")
    return tomllib.loads(path.read_text("utf-8"))


class _Loader:
    """Reads file by file, keeping where each row stands and what is wrong.

    Files that are not TOML are told alone: without their rows nobody can say which names answer to nothing.
    """

    def __init__(self, ours: Path, extra: Path | None) -> None:
        self.ours = ours
        self.extra = extra
        self.findings: list[Finding] = []
        self.illegible: list[Finding] = []
        self.places: dict[tuple[str, str], str] = {}
        self.our_sources: frozenset[str] = frozenset()
        self.parsed = ParsedTexts()

    def facts(self) -> Facts:
        if self.extra is not None and self.extra.is_dir():
            self.findings += strangers(self.extra, KINDS)
        roles = self._roles()
        facts = Facts(
            sources=self._sources(),
            cautions=self._keyed("cautions", read_caution),
            roles=roles,
            access=self._keyed("access", read_access),
            modes=self._keyed("modes", read_mode),
            checks=self._keyed("checks", read_check),
            starters={},
            size_names=self._size_column("name"),
            size_units={key: unit for key, unit in self._size_column("unit").items() if unit != NO_UNIT},
            traits=self._keyed("traits", read_trait),
            notches=tuple(dict.fromkeys(role.notch for role in roles.values())),
            standard_sizes=self._standard_sizes(),
            standard_bearings=self._standard_bearings(),
            assumptions=self._assumptions(),
            treatments=self._keyed("treatments", read_treatment),
            wet_rules=self._keyed("wet_rules", read_wet_rule),
            one_off_sheets=self._keyed("one_off_sheets", read_one_off_sheet),
            stress=self._keyed("stress", read_stress),
            overload=self._keyed("overload", read_overload),
            rounds=self._keyed("rounds", read_round),
            presence=self._keyed("presence", read_presence),
            duty=self._keyed("duty", read_duty),
            roots=self._keyed("roots", read_root),
            also_called=self._keyed("also_called", read_also_called),
            price_levels=self._keyed("price_levels", read_price_level),
            spare_parts=self._keyed("spare_parts", read_spare_part),
            hunt_strengths=self._keyed("hunt_strengths", read_strength),
            hunt_symptoms=self._keyed("hunt_symptoms", read_symptom),
            hunt_causes=self._keyed("hunt_causes", read_cause),
            hunt_tests=self._keyed("hunt_tests", read_fault_test),
        )
        self.findings += dangling(facts, self.places)
        minutes = self._own_minutes({*facts.checks, *facts.access})
        facts = replace(
            facts,
            checks=with_own_minutes(facts.checks, minutes),
            access=with_own_minutes(facts.access, minutes),
        )
        facts = replace(facts, starters=self._starters(facts))
        if wrong := list(dict.fromkeys(self.illegible)) or self.findings:
            raise WrongData("The tables", wrong)
        self.parsed.keep()
        return facts

    def _roots(self) -> tuple[Path, ...]:
        return (self.ours,) if self.extra is None else (self.ours, self.extra)

    def _documents(self, kind: str, root: Path) -> Iterator[tuple[dict[str, Any], str]]:
        """The tables of a kind: a file of that name, and those in a folder of that name."""
        parse = self.parsed.document if root is self.ours else tomllib.loads
        for file in (root / f"{kind}.toml", *sorted((root / kind).glob("*.toml"))):
            if not file.is_file():
                continue
            name = str(file.relative_to(root))
            try:
                yield parse(file.read_text("utf-8")), name
            except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
                self.illegible.append(Finding(name, f"this is not TOML: {error}", "look at that line"))

    def _keyed(self, kind: str, read: Callable[[str, Row], Shape]) -> dict[str, Shape]:
        """The rows of every file of a kind, by key; a key met twice is a fault."""
        written: dict[str, Any] = {}
        own: dict[str, str] = {}
        limits = self._cell_limits() if kind in SAY_VOLTS else {}
        for root in self._roots():
            for document, name in self._documents(kind, root):
                for key, values in document.items():
                    where = f"{name}, {key}"
                    if key in written:
                        told = f"“{key}” is already in {self.places[kind, key]}"
                        self.findings.append(Finding(where, told, "rename one of them"))
                        continue
                    self.places[kind, key] = where
                    written[key] = self._with_limits(values, limits, where) if limits else values
                    if root is self.extra and kind in MARKED:
                        own[key] = name
        return {key: read(key, self._row(kind, key, written, own)) for key in written}

    def _row(self, kind: str, key: str, written: Mapping[str, Any], own: Mapping[str, str]) -> Row:
        """A row as it is to be read: what it is like filled in, and an owner's row marked as theirs."""
        where, said = self.places[kind, key], written[key]
        if not isinstance(said, Mapping):
            return Row(said, where, self.findings)
        row, values = Row(said, where, self.findings), dict(said)
        if LIKE in said:
            values = filled_in(row, said, written)
        if key in own:
            values["source"] = own_source(row, said, self.our_sources)
            values["where"] = said.get("where", own[key])
        return Row(values, where, self.findings)

    def _with_limits(self, values: Shape, limits: Mapping[str, Any], where: str) -> Shape:
        try:
            return with_cell_limits(values, limits)
        except NotKnown as unknown:
            self.findings.append(Finding(where, unknown.sentence.rstrip("."), unknown.way_out))
            return values

    def _cell_limits(self) -> Mapping[str, Any]:
        return self.parsed.document((self.ours / "packs" / "limits.toml").read_text("utf-8"))

    def _sources(self) -> dict[str, Source]:
        sources = self._keyed("sources", read_source)
        self.our_sources = frozenset(
            key for document, _ in self._documents("sources", self.ours) for key in document
        )
        return sources

    def _own_minutes(self, known: Collection[str]) -> dict[str, float]:
        minutes: dict[str, float] = {}
        if self.extra is not None:
            for document, name in self._documents(MINUTES, self.extra):
                minutes |= read_minutes(document, name, known, self.findings)
        return minutes

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

    def _size_column(self, column: str) -> dict[str, str]:
        return {str(row["key"]): str(row[column]) for row in self._cells("size_names")}

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

    def _starters(self, facts: Facts) -> Mapping[str, Build]:
        """Ours are read when they are asked for; an owner's at once, so that mistakes are told at once."""
        ours = {file.stem: file for file in sorted((self.ours / "starters").glob("*.toml"))}
        own: dict[str, Build] = {}
        if self.extra is not None:
            for document, name in self._documents("starters", self.extra):
                build = build_from(document, name, facts, self.findings)
                if build.key in ours or build.key in own:
                    self.findings.append(Finding(name, f"“{build.key}” is there twice", "rename one of them"))
                own[build.key] = build
        return StarterBuilds(ours, lambda file: _starter(file, facts), own)


def _starter(file: Path, facts: Facts) -> Build:
    return read_build(parse_build_toml(file.read_text("utf-8"), file.name), file.name, facts)
