"""Strict reading of one row of a table: every key is asked for, every fault is noted, none stops the rest.

A `Row` hands out the wanted values and notes a Finding for each thing wrong. Where a value is wrong it hands
out a stand-in of the right type, so that the rest of the row is still read; whoever collects the findings
throws the stand-ins away.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Collection, Iterable, Mapping
from enum import Enum
from typing import Any, TypeVar

from snugfast.core.findings import Finding

Choice = TypeVar("Choice", bound=Enum)

_DECIMAL_COMMA = re.compile(r"\s*[+-]?\d+,\d+\s*")
_MISSING = object()


def nearest(word: str, known: Iterable[str]) -> str:
    """A way out for a word that is not known: the nearest spelling, or the whole choice when it is short."""
    words = sorted(known)
    close = difflib.get_close_matches(word, words, n=1, cutoff=0.6)
    if close:
        return f"did you mean “{close[0]}”?"
    if 0 < len(words) <= 12:
        return "choose from " + ", ".join(f"“{each}”" for each in words)
    return ""


class Row:
    """One row of a table while it is being read."""

    def __init__(self, values: object, where: str, findings: list[Finding]) -> None:
        self.where = where
        self.findings = findings
        self._asked: set[str] = set()
        self._values: Mapping[str, Any] = {}
        if isinstance(values, Mapping):
            self._values = values
        else:
            self.fault("this should be a table of keys and values", "write each as key = value")

    def fault(self, problem: str, way_out: str = "") -> None:
        """Note something wrong with this row."""
        self.findings.append(Finding(where=self.where, problem=problem, way_out=way_out))

    def _take(self, key: str, *, required: bool) -> Any:
        self._asked.add(key)
        value = self._values.get(key, _MISSING)
        if value is _MISSING and required:
            self.fault(f"“{key}” is missing", f"add {key} = …")
        return value

    def text(self, key: str, *, default: str | None = None, may_be_empty: bool = False) -> str:
        """A text. Without a default it must be there, and must say something."""
        value = self._take(key, required=default is None)
        if value is _MISSING:
            return default or ""
        if not isinstance(value, str):
            self.fault(f"“{key}” should be a text, not {value!r}", "put it in quotes")
            return ""
        if not value.strip() and default is None and not may_be_empty:
            self.fault(f"“{key}” is empty", "say it, or leave the row out")
        return value

    def texts(self, key: str, *, required: bool = False) -> tuple[str, ...]:
        """A list of texts, in order, none of them twice."""
        value = self._take(key, required=required)
        if value is _MISSING:
            return ()
        if not isinstance(value, list | tuple) or not all(isinstance(item, str) for item in value):
            self.fault(f"“{key}” should be a list of texts", f'write {key} = ["…", "…"]')
            return ()
        if required and not value:
            self.fault(f"“{key}” is empty", "name at least one")
        for item in sorted({item for item in value if value.count(item) > 1}):
            self.fault(f"“{key}” names “{item}” twice", "leave one of them out")
        return tuple(value)

    def number(
        self,
        key: str,
        *,
        default: float | None = None,
        above: float | None = None,
        least: float = -math.inf,
        most: float = math.inf,
    ) -> float:
        """A number above `above`, not under `least`, not over `most`."""
        value = self._take(key, required=default is None)
        if value is _MISSING:
            return default if default is not None else 1.0
        return self._checked_number(key, value, above=above, least=least, most=most)

    def number_or_none(
        self,
        key: str,
        *,
        above: float | None = None,
        least: float = -math.inf,
        most: float = math.inf,
    ) -> float | None:
        """A number, or None when the row does not say."""
        value = self._take(key, required=False)
        if value is _MISSING:
            return None
        return self._checked_number(key, value, above=above, least=least, most=most)

    def _checked_number(
        self,
        key: str,
        value: object,
        *,
        above: float | None = None,
        least: float = -math.inf,
        most: float = math.inf,
    ) -> float:
        number = as_number(value)
        if number is None:
            self.fault(f"“{key}” should be a number, not {shown(value)}", number_way_out(value))
            return 1.0
        if above is not None and not number > above:
            self.fault(f"“{key}” is {number:g} and must be above {above:g}")
        if not least <= number <= most:
            span = f"from {least:g} to {most:g}" if math.isfinite(most) else f"{least:g} or more"
            self.fault(f"“{key}” is {number:g} and must be {span}")
        return number

    def whole(self, key: str, *, least: int) -> int:
        """A whole number."""
        value = self._take(key, required=True)
        if value is _MISSING:
            return least
        if not isinstance(value, int) or isinstance(value, bool):
            self.fault(f"“{key}” should be a whole number, not {shown(value)}", number_way_out(value))
            return least
        if value < least:
            self.fault(f"“{key}” is {value} and must be {least} or more")
        return value

    def whole_or_none(self, key: str) -> int | None:
        """A whole number, or None when the row does not say."""
        if key in self._values:
            return self.whole(key, least=0)
        self._asked.add(key)
        return None

    def flag(self, key: str) -> bool:
        """Yes or no; no when the row does not say."""
        return self.flag_or_none(key) or False

    def flag_or_none(self, key: str) -> bool | None:
        """Yes, no, or None when the row does not say."""
        value = self._take(key, required=False)
        if value is _MISSING:
            return None
        if not isinstance(value, bool):
            self.fault(f"“{key}” should be true or false, not {shown(value)}", "write true or false")
            return None
        return value

    def choice(self, key: str, kind: type[Choice]) -> Choice:
        """One word of an Enum."""
        word = self.text(key)
        try:
            return kind(word)
        except ValueError:
            pass
        if word:
            self.fault(f"“{key}” cannot be “{word}”", nearest(word, [str(m.value) for m in kind]))
        return next(iter(kind))

    def choices(self, key: str, kind: type[Choice]) -> tuple[Choice, ...]:
        """Words of an Enum, in order."""
        known = {str(member.value): member for member in kind}
        words = self.texts(key)
        for word in words:
            if word not in known:
                self.fault(f"“{key}” cannot be “{word}”", nearest(word, known))
        return tuple(known[word] for word in words if word in known)

    def numbers(
        self, key: str, *, least: float = 0.0, known: Collection[str] | None = None
    ) -> dict[str, float]:
        """A small table of names and numbers; the names from a known choice when there is one."""
        found = {}
        for name, value in self.table(key).items():
            if known is not None and name not in known:
                self.fault(f"“{key}” does not know “{name}”", nearest(name, known))
            found[name] = self._checked_number(f"{key}.{name}", value, least=least)
        return found

    def table(self, key: str) -> Mapping[str, Any]:
        """A small table, empty when the row does not say."""
        value = self._take(key, required=False)
        if value is _MISSING:
            return {}
        if not isinstance(value, Mapping):
            self.fault(f"“{key}” should be a table", f"write {key} = {{ name = value }}")
            return {}
        return value

    def rows(self, key: str, *, required: bool = False) -> tuple[Row, ...]:
        """A list of small tables, each read as strictly as this one."""
        value = self._take(key, required=required)
        if value is _MISSING:
            return ()
        if not isinstance(value, list | tuple):
            self.fault(f"“{key}” should be a list of tables", f"write {key} = [{{ … }}, {{ … }}]")
            return ()
        label = f"{self.where}, {key}"
        return tuple(Row(item, f"{label} {n}", self.findings) for n, item in enumerate(value, start=1))

    def done(self) -> None:
        """Every key of the row that nobody asked for is a fault."""
        for key in self._values:
            if key not in self._asked:
                self.fault(f"there is no key “{key}” here", nearest(key, self._asked))


def as_number(value: object) -> float | None:
    """The value as a finite float, or None: a text is never taken for a number."""
    if isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value):
        return float(value)
    return None


def shown(value: object) -> str:
    """A value as a person wrote it."""
    return f"“{value}”" if isinstance(value, str) else repr(value)


def number_way_out(value: object) -> str:
    """How to write the number that was meant."""
    if isinstance(value, str):
        if _DECIMAL_COMMA.fullmatch(value):
            return f"write {value.strip().replace(',', '.')} with a full stop and without quotes"
        return "write a plain number without quotes"
    return "write a plain number"
