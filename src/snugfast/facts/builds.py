"""Builds as documents: what an owner writes, read with all its mistakes at once, and written back.

A build is a table of tables: a head (`key`, `name`, `scale`, `currency`, `[traits]`) and one `[[place]]` for
each place. The same document is what the journal keeps, so it holds only texts, numbers, flags, lists and
tables. Prices are whole numbers of the currency's smallest unit: 80 is 0.80.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping
from typing import Any

from snugfast.core.errors import WrongData
from snugfast.core.findings import Finding
from snugfast.facts.model import Build, Facts, Pedigree, Place
from snugfast.facts.own_rows import MINE
from snugfast.facts.reading import Row, as_number, nearest, number_way_out, shown
from snugfast.facts.texts import size_text

NUMBER_ENDINGS = (
    "_mm",
    "_V",
    "_mm2_s",
    "_mm2",
    "_N_per_mm",
    "_teeth",
    "_deg",
    "_cells",
    "_mAh",
    "_count",
    "_A",
    "_kg",
    "_ratio",
)
"""A size whose name ends in a unit is a number; any other size is a text."""

_KEY = re.compile(r"[a-z][a-z0-9_]*")
_BUILD_KEY = re.compile(r"[a-z0-9][a-z0-9_.-]*")
_CURRENCY = re.compile(r"[A-Z]{3}")
_COMMA_VALUE = re.compile(r"(?:=|[\[{,])\s*([+-]?\d+,\d+)\s*(?:[,}\]#]|$)")
_LONGEST_SPOTS = 64


def parse_build_toml(text: str, where: str) -> dict[str, Any]:
    """The document in a TOML text.

    Raises WrongData naming the line the text stops making sense at, and every decimal comma.
    """
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise WrongData(where, _syntax_findings(text, where, str(error))) from error


def _syntax_findings(text: str, where: str, complaint: str) -> list[Finding]:
    findings = []
    for number, line in enumerate(text.splitlines(), start=1):
        for typed in _COMMA_VALUE.findall(line):
            findings.append(
                Finding(
                    where=f"{where}, line {number}",
                    problem=f"“{typed}” has a comma where a full stop belongs",
                    way_out=f"write {typed.replace(',', '.')}",
                )
            )
    return findings or [
        Finding(
            where=where,
            problem=f"this is not TOML: {complaint}",
            way_out="look at that line for a missing quote, bracket or equals sign",
        )
    ]


def read_build(document: Mapping[str, Any], where: str, facts: Facts) -> Build:
    """The build in a document, checked against the tables.

    Raises WrongData with everything that is wrong: unknown keys, roles, sizes and traits, doubled places and
    spots, prices that are not above zero, sizes no standard knows, numbers with a decimal comma.
    """
    findings: list[Finding] = []
    build = build_from(document, where, facts, findings)
    if findings:
        raise WrongData(where, findings)
    return build


def build_from(document: object, where: str, facts: Facts, findings: list[Finding]) -> Build:
    """Like `read_build`, noting what is wrong instead of raising."""
    row = Row(document, where, findings)
    build = Build(
        key=_matching(row, "key", _BUILD_KEY, "small letters, figures, dots and dashes"),
        name=row.text("name"),
        description=row.text("description", default=""),
        scale=row.text("scale"),
        traits=_traits(row, facts),
        places=_places(row, facts),
        pedigree=_pedigree(row, facts),
        currency=_currency(row),
    )
    row.done()
    return build


def _matching(row: Row, key: str, pattern: re.Pattern[str], made_of: str) -> str:
    word = row.text(key)
    if word and not pattern.fullmatch(word):
        row.fault(f"“{key}” cannot be “{word}”", f"use {made_of}")
    return word


def _currency(row: Row) -> str:
    word = row.text("currency", default="CRD")
    if not _CURRENCY.fullmatch(word):
        row.fault(f"“currency” cannot be “{word}”", "use a code of three capital letters")
    return word


def _pedigree(row: Row, facts: Facts) -> Pedigree:
    pedigree = Pedigree(source=row.text("source", default=MINE), where=row.text("where", default=""))
    if pedigree.source not in facts.sources:
        row.fault(
            f"no source is called “{pedigree.source}”",
            nearest(pedigree.source, facts.sources) or "leave “source” out when it is your own word",
        )
    return pedigree


def _traits(row: Row, facts: Facts) -> dict[str, str]:
    traits: dict[str, str] = {}
    for key, value in row.table("traits").items():
        trait = facts.traits.get(key)
        if trait is None:
            row.fault(f"no trait is called “{key}”", nearest(key, facts.traits))
        elif not isinstance(value, str) or value not in trait.values:
            row.fault(f"the trait “{key}” cannot be {shown(value)}", nearest(str(value), trait.values))
        traits[key] = str(value)
    return traits


def _places(row: Row, facts: Facts) -> tuple[Place, ...]:
    places: list[Place] = []
    seen: set[str] = set()
    for place_row in row.rows("place", required=True):
        place = _place(place_row, facts)
        if place.key and place.key in seen:
            place_row.fault(f"the place “{place.key}” is there twice", "give each place a key of its own")
        seen.add(place.key)
        places.append(place)
    return tuple(places)


def _place(row: Row, facts: Facts) -> Place:
    key = _matching(row, "key", _KEY, "small letters, figures and underscores, beginning with a letter")
    if key:
        row.where = f"{row.where} “{key}”"
    place = Place(
        key=key,
        role=_role(row, facts),
        name=row.text("name"),
        part=row.text("part"),
        spots=_spots(row),
        price_minor=row.whole("price_minor", least=1),
        sizes=_sizes(row, facts),
        pedigree=_pedigree(row, facts),
        material=row.text("material", default=""),
        into=row.text("into", default=""),
        wet_rated=row.flag_or_none("wet_rated"),
        note=row.text("note", default=""),
    )
    row.done()
    return place


def _role(row: Row, facts: Facts) -> str:
    role = row.text("role")
    if role and role not in facts.roles:
        row.fault(f"no role is called “{role}”", nearest(role, facts.roles))
    return role


def _spots(row: Row) -> tuple[str, ...]:
    spots = row.texts("spots")
    if len(spots) > _LONGEST_SPOTS:
        row.fault(f"{len(spots)} spots are more than a sheet can list", "group them, or make more places")
    if not all(spot.strip() for spot in spots):
        row.fault("a spot has no name", "name it, or leave it out")
    return spots


def _sizes(row: Row, facts: Facts) -> dict[str, str | float]:
    sizes: dict[str, str | float] = {}
    for name, value in row.table("sizes").items():
        if name not in facts.size_names:
            row.fault(f"no size is called “{name}”", nearest(name, facts.size_names))
            continue
        good = _number_size(row, name, value) if is_number(name) else _text_size(row, name, value)
        if good is None:
            continue
        sizes[name] = good
        standard = facts.standard_sizes.get(name)
        if standard is not None and good not in standard:
            row.fault(f"“{name}” cannot be {size_text(good)}", _standard_way_out(good, standard))
    _check_bearing(row, sizes, facts)
    return sizes


def is_number(size_name: str) -> bool:
    """Whether a size of that name is a number (its name ends in a unit) or a text."""
    return size_name.endswith(NUMBER_ENDINGS)


def _number_size(row: Row, name: str, value: object) -> float | None:
    number = as_number(value)
    if number is None:
        row.fault(f"“{name}” should be a number, not {shown(value)}", number_way_out(value))
    elif number <= 0:
        row.fault(f"“{name}” is {number:g} and must be above 0")
        return None
    return number


def _text_size(row: Row, name: str, value: object) -> str | None:
    if not isinstance(value, str) or not value.strip():
        row.fault(f"“{name}” should be a text, not {shown(value)}", "put it in quotes")
        return None
    return value


def _standard_way_out(value: str | float, standard: Iterable[str | float]) -> str:
    if isinstance(value, str):
        return nearest(value, [each for each in standard if isinstance(each, str)])
    numbers = sorted(each for each in standard if not isinstance(each, str))
    closest = sorted(sorted(numbers, key=lambda each: abs(each - value))[:3])
    return "the nearest that are made: " + ", ".join(f"{each:g}" for each in closest)


def _check_bearing(row: Row, sizes: Mapping[str, str | float], facts: Facts) -> None:
    bore, outer, width = (sizes.get(name) for name in ("bore_mm", "outer_mm", "width_mm"))
    if not (isinstance(bore, float) and isinstance(outer, float) and isinstance(width, float)):
        return
    if (bore, outer, width) in facts.standard_bearings:
        return
    made = sorted(size for size in facts.standard_bearings if size[0] == bore)
    like = ", ".join(f"{d:g} × {D:g} × {B:g}" for d, D, B in made)
    row.fault(
        f"no bearing of {bore:g} × {outer:g} × {width:g} mm is known here",
        f"with this bore there are {like}" if like else "measure the bore again",
    )


def build_document(build: Build) -> dict[str, Any]:
    """The build as a document of plain values; `read_build` gives the same build back."""
    document: dict[str, Any] = {
        "key": build.key,
        "name": build.name,
        "description": build.description,
        "scale": build.scale,
        "currency": build.currency,
        "source": build.pedigree.source,
        "where": build.pedigree.where,
        "traits": dict(build.traits),
        "place": [_place_document(place) for place in build.places],
    }
    return document


def _place_document(place: Place) -> dict[str, Any]:
    document: dict[str, Any] = {
        "key": place.key,
        "role": place.role,
        "name": place.name,
        "part": place.part,
        "spots": list(place.spots),
        "price_minor": place.price_minor,
        "sizes": dict(place.sizes),
        "material": place.material,
        "into": place.into,
        "wet_rated": place.wet_rated,
        "note": place.note,
        "source": place.pedigree.source,
        "where": place.pedigree.where,
    }
    unsaid: tuple[object, ...] = ("", None, [], {})
    return {key: value for key, value in document.items() if value not in unsaid or key == "source"}


def build_toml(build: Build) -> str:
    """The build as a TOML text that an owner edits; reading it gives the same build back."""
    document = build_document(build)
    lines = [f"{key} = {_toml(value)}" for key, value in document.items() if key not in ("traits", "place")]
    lines += ["", "[traits]", *(f"{_toml_key(key)} = {_toml(value)}" for key, value in build.traits.items())]
    for place in document["place"]:
        lines += ["", "[[place]]", *(f"{key} = {_toml(value)}" for key, value in place.items())]
    return "\n".join(lines) + "\n"


def _toml(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, list):
        return "[" + ", ".join(_toml(item) for item in value) + "]"
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{_toml_key(key)} = {_toml(item)}" for key, item in value.items()) + " }"
    return _toml_text(str(value))


def _toml_key(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else _toml_text(key)


def _toml_text(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    hidden = re.compile(r"[\x00-\x1f\x7f]")
    return '"' + hidden.sub(lambda match: f"\\u{ord(match.group()):04x}", escaped) + '"'
