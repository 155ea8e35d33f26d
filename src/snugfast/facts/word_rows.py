"""One row of the tables of words: sources, cautions, traits."""

from __future__ import annotations

from snugfast.facts.model import Caution, Seen, Source, Trait
from snugfast.facts.reading import Row
from snugfast.facts.upkeep_rows import pedigree


def read_source(key: str, row: Row) -> Source:
    """One source. A secondary one says through which text it was seen."""
    source = Source(
        key=key,
        title=row.text("title"),
        seen=row.choice("seen", Seen),
        authors=row.text("authors", default=""),
        publisher=row.text("publisher", default=""),
        year=row.whole_or_none("year"),
        through=row.text("through", default=""),
        note=row.text("note", default=""),
    )
    if source.seen is Seen.SECONDARY and not source.through:
        row.fault("a secondary source says through which text it was seen", "add through = …")
    row.done()
    return source


def read_caution(key: str, row: Row) -> Caution:
    """One caution."""
    caution = Caution(
        key=key,
        text=row.text("text"),
        pedigree=pedigree(row),
        adults_only=row.flag("adults_only"),
        short=row.text("short", default=""),
    )
    row.done()
    return caution


def read_trait(key: str, row: Row) -> Trait:
    """One trait with the values it may have."""
    values = row.table("values")
    trait = Trait(key=key, name=row.text("name"), values={str(k): str(v) for k, v in values.items()})
    if not trait.values:
        row.fault("a trait has values", "add values = { … }")
    row.done()
    return trait
