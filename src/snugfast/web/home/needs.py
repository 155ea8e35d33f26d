"""What needs somebody now, with the sign it is drawn with and the page where it is done."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Self

from snugfast.usecases.bench.needs import Need, Sort
from snugfast.usecases.shared.cautions import Caution
from snugfast.web.sheet.form import sheet_of

LINK_WORDS = {
    Sort.PACKS: "Packs",
    Sort.UNSAFE: "Check it",
    Sort.SHEET: "Sheet",
    Sort.WET: "How",
    Sort.BROKEN: "Fix first",
}


@dataclass(frozen=True, slots=True)
class NeedLine:
    """One thing that needs somebody, as a line of a page."""

    at_once: bool
    sign: str
    what: str
    why: str
    by: str
    link: str
    link_words: str
    cautions: tuple[Caution, ...]

    @classmethod
    def of(cls, need: Need) -> Self:
        return cls(
            at_once=need.at_once,
            sign=_sign(need),
            what=need.what if need.by else f"{need.what.rstrip('.')}.",
            why=need.why,
            by=need.by,
            link=_link(need),
            link_words=LINK_WORDS.get(need.sort, need.name),
            cautions=need.cautions,
        )


def need_lines(needs: Iterable[Need]) -> tuple[NeedLine, ...]:
    """The lines of a page, in the order of the needs."""
    return tuple(map(NeedLine.of, needs))


def _sign(need: Need) -> str:
    if need.sort is Sort.WET:
        return "s-wet"
    return "s-now" if need.rank < 3 else "s-soon" if need.rank < 6 else "s-some"


def _link(need: Need) -> str:
    if need.sort is Sort.PACKS:
        return "/packs"
    if need.sort is Sort.PACK:
        return f"/packs/{need.of}"
    sheet = sheet_of(need.name)
    return f"{sheet}#fix" if need.sort is Sort.BROKEN else sheet
