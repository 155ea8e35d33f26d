"""One row of the tables of words: sources, cautions, traits."""

from __future__ import annotations

from snugfast.facts.model import AlsoCalled, Caution, Pedigree, PriceLevel, Seen, Source, Trait
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


def read_price_level(key: str, row: Row) -> PriceLevel:
    """What a starter's euro comes to in one other money."""
    level = PriceLevel(
        key=key,
        times=row.number("times", above=0),
        pedigree=Pedigree(source=row.text("source"), where=row.text("where", default="")),
    )
    row.done()
    return level


def read_also_called(key: str, row: Row) -> AlsoCalled:
    """What people also type for one kind of thing."""
    said = row.table("words")
    for word, meant in said.items():
        if not isinstance(meant, str):
            row.fault(f"“words.{word}” should be a text", "put it in quotes")
    also = AlsoCalled(
        key=key,
        words={word: str(meant) for word, meant in said.items()},
        pedigree=Pedigree(source=row.text("source"), where=row.text("where", default="")),
    )
    row.done()
    return also


def read_trait(key: str, row: Row) -> Trait:
    """One trait with the values it may have."""
    values = row.table("values")
    trait = Trait(key=key, name=row.text("name"), values={str(k): str(v) for k, v in values.items()})
    if not trait.values:
        row.fault("a trait has values", "add values = { … }")
    row.done()
    return trait
