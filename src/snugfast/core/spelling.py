"""How units, times, dates and decimals are written for one owner: put on whole texts as they leave.

Inside, every text is written one way: °C, km/h, g, mm, 14:30, 2026-05-10, 1.5. A door says once whose
spelling holds (`spelled_as`); what is shown goes through `respell` or `respell_page`, and a bare number under
a heading of its own through `bare` and `unit`. What is typed without a unit is in the owner's (`typed_unit`).

Screws, keys and bearings are metric whatever is chosen: inches stand behind a length, never in its place.
"""

from __future__ import annotations

import re
from calendar import month_name
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, fields

INCH_mm, OUNCE_g, POUND_kg, MILE_km = 25.4, 28.349523125, 0.45359237, 1.609344
MONTHS = tuple(month_name)[1:]


@dataclass(frozen=True, slots=True)
class Spelling:
    """What is chosen, each by the word the settings keep; the first of `CHOICES` is ours."""

    temperature: str = "°C"
    speed: str = "km/h"
    weight: str = "g"
    length: str = "mm"
    clock: str = "24 h"
    dates: str = "2026-05-10"
    decimal: str = "point"

    @property
    def is_ours(self) -> bool:
        """Whether nothing has to be written otherwise."""
        return self == OURS


CHOICES = {
    "temperature": ("°C", "°F"),
    "speed": ("km/h", "mph"),
    "weight": ("g", "oz"),
    "length": ("mm", "mm and inch"),
    "clock": ("24 h", "12 h"),
    "dates": ("2026-05-10", "10 May 2026", "May 10, 2026"),
    "decimal": ("point", "comma"),
}
OURS = Spelling()
_NOW: ContextVar[Spelling] = ContextVar("spelling", default=OURS)


def spelling() -> Spelling:
    """Whose spelling holds here."""
    return _NOW.get()


def use(chosen: Spelling) -> None:
    """Let a spelling hold from here on, for a program that serves one owner."""
    _NOW.set(chosen)


@contextmanager
def spelled_as(chosen: Spelling) -> Iterator[None]:
    """Let a spelling hold within."""
    before = _NOW.set(chosen)
    try:
        yield
    finally:
        _NOW.reset(before)


def spelling_of(settings: object) -> Spelling:
    """The spelling that settings name; what they name otherwise than we know is left as ours."""
    chosen = settings if isinstance(settings, dict) else dict(settings)  # type: ignore[call-overload]
    said = {
        one.name: str(chosen[one.name])
        for one in fields(Spelling)
        if chosen.get(one.name) in CHOICES[one.name]
    }
    return Spelling(**said)


_NUMBER = r"(?:(?<!\d)[+−-])?\d+(?:\.\d+)?"
_SEVERAL = rf"(?<![\w.])((?:{_NUMBER}(?: to |–| or | and |, | by | × ))*{_NUMBER})"
_BAND = rf"((?: \({_NUMBER} to {_NUMBER}\))?)"
_MORE = r"(?= (?:more|hotter|warmer|higher|cooler|colder|less|above (?:its|the|what|all)))"
_TOOL = r"(?:hex|nut|wrench|spanner|socket|driver|key|screw|bolt|bearing|ball|pin|drill|bit)"
_TOOL_BEHIND = rf"(?![²³]| (?:[a-z-]+ )?{_TOOL}\b)"
_TOOL_BEFORE = r"(?<!driver )(?<!key )(?<!wrench )(?<!spanner )(?<!socket )(?<!keys )(?<!sizes )(?<!Keys )"
_WARMER = re.compile(rf"{_SEVERAL}[ \u00a0](?:°C{_MORE}|K(?= (?:hotter|warmer|cooler|colder|more|above)))")
_FIELD = re.compile(r", °C$")  # the label of a field, whose bare number is read in the owner's unit
_WITHIN = rf"{_SEVERAL}((?: \({_NUMBER}(?: to |–){_NUMBER}\))?)"
_DEGREES = re.compile(rf"{_WITHIN}([ \u00a0])°C{_BAND}")
_SPEED = re.compile(rf"{_WITHIN}([ \u00a0]?)km/h{_BAND}")
_GRAMS = re.compile(rf"{_SEVERAL}([ \u00a0])(k?g)(?![\w·/²*]){_BAND}")
_LENGTH = re.compile(rf"{_TOOL_BEFORE}{_SEVERAL}([ \u00a0])mm\b{_TOOL_BEHIND}")
_CLOCK = re.compile(r"(?<![\d:.\-T])([01]\d|2[0-3]):([0-5]\d)(?![\d:Z])")
_DATE = re.compile(r"(?<![\w-])(20\d\d)-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])(?![\w-])")
_DECIMAL = re.compile(r"(?<![\w.,/-])(\d+)\.(\d+)(?![\w-]|\.\d)")
_TYPED_CLOCK = re.compile(r"\b(1[0-2]|0?[1-9])(?::([0-5]\d))? ?([ap])\.?m\b\.?", re.IGNORECASE)
_TYPED_DAY = re.compile(
    r"\b(\d{1,2})\.? ([A-Za-z]{3,9})\.?,? (20\d\d)\b|\b([A-Za-z]{3,9})\.? (\d{1,2}),? (20\d\d)\b"
)


def respell(text: str, chosen: Spelling | None = None) -> str:
    """A text as its reader writes it."""
    now = chosen or _NOW.get()
    if now.is_ours:
        return text
    if now.temperature == "°F":
        text = _WARMER.sub(lambda m: f"{_each(m[1], lambda c: 1.8 * c)} °F", text)
        text = _DEGREES.sub(lambda m: _changed(m, fahrenheit, "°F"), text)
        text = _FIELD.sub(", °F", text)
    if now.speed == "mph":
        text = _SPEED.sub(lambda m: _changed(m, _miles, "mph"), text)
    if now.weight == "oz":
        text = _GRAMS.sub(_ounces, text)
    if now.length != "mm":
        text = _LENGTH.sub(lambda m: f"{m[0]} ({_each(m[1], _inches, 2)} in)", text)
    if now.dates != OURS.dates:
        text = _DATE.sub(lambda m: _day(m, month_first=now.dates.startswith("May")), text)
    if now.clock == "12 h":
        text = _CLOCK.sub(
            lambda m: f"{(int(m[1]) + 11) % 12 + 1}:{m[2]} {'am' if int(m[1]) < 12 else 'pm'}", text
        )
    if now.decimal == "comma":
        text = _DECIMAL.sub(r"\1,\2", text)
    return text


_SKIPPED = re.compile(
    r"(<(script|style|textarea|code|pre)\b.*?</\2>|<option(?: selected)?>[^<]*</option>|<!--.*?-->)",
    re.DOTALL,
)
_TEXT = re.compile(r"(>)([^<>]+)(<)")
_ATTRIBUTE = re.compile(r'\b(placeholder|aria-label|title|alt)="([^"]*)"')


def respell_page(html: str) -> str:
    """A page as its reader writes it: what is read of it, not what its forms and scripts hold."""
    now = _NOW.get()
    if now.is_ours:
        return html
    parts = _SKIPPED.split(html)
    out = []
    for n in range(0, len(parts), 3):
        shown = _TEXT.sub(lambda m: f"{m[1]}{respell(m[2], now)}{m[3]}", f">{parts[n]}<")[1:-1]
        out.append(_ATTRIBUTE.sub(lambda m: f'{m[1]}="{respell(m[2], now)}"', shown))
        out.append(parts[n + 1] if n + 1 < len(parts) else "")
    return "".join(out)


def respell_all(held: object) -> object:
    """Every text in plain data, as its reader writes it; drawings and addresses stay as they are."""
    if isinstance(held, str):
        return held if "<" in held or "://" in held else respell(held)
    if isinstance(held, dict):
        return {key: respell_all(value) for key, value in held.items()}
    if isinstance(held, list | tuple):
        return [respell_all(value) for value in held]
    return held


def unit(ours: str) -> str:
    """The unit that stands over a column of bare numbers: “°C”, “km/h”."""
    now = _NOW.get()
    return {"°C": now.temperature, "km/h": now.speed}.get(ours, ours)


def bare(numbers: str, ours: str) -> str:
    """Numbers in one of our units, as they stand under `unit`."""
    return _each(numbers, lambda number: in_unit_shown(number, ours))


def in_unit_shown(number: float, ours: str) -> float:
    """A number in °C or km/h, in the unit that is shown."""
    if unit(ours) == ours:
        return number
    return fahrenheit(number) if ours == "°C" else _miles(number)


def typed_unit(ours: str) -> str:
    """The unit of what is typed without one. Lengths are mm and weights g, as their fields say."""
    return unit(ours)


def plain_number(text: str) -> str:
    """A number as typed with a decimal comma, where that is how the owner writes it."""
    if _NOW.get().decimal == "comma" and re.fullmatch(r"[+−-]?\d+,\d+", text):
        return text.replace(",", ".")
    return text


def plain_moment(text: str) -> str:
    """A moment typed with am or pm, or with the month as a word, as we read it."""

    def clock(found: re.Match[str]) -> str:
        hour = int(found[1]) % 12 + (12 if found[3].lower() == "p" else 0)
        return f"{hour:02d}:{found[2] or '00'}"

    def day(found: re.Match[str]) -> str:
        number, word, year = (found[1], found[2], found[3]) if found[1] else (found[5], found[4], found[6])
        known = [n for n, month in enumerate(MONTHS, 1) if month.lower().startswith(word.lower())]
        return f"{year}-{known[0]:02d}-{int(number):02d}" if known else found[0]

    return _TYPED_CLOCK.sub(clock, _TYPED_DAY.sub(day, text))


def fahrenheit(celsius: float) -> float:
    """°F of °C: exact by definition."""
    return 1.8 * celsius + 32.0


def _miles(km: float) -> float:
    return km / MILE_km


def _inches(mm: float) -> float:
    return mm / INCH_mm


def _each(numbers: str, change: Callable[[float], float], more_digits: int = 0) -> str:
    """A text with each number in it changed, written as finely as it was, and with its own minus."""

    def one(found: re.Match[str]) -> str:
        said = found[0]
        digits = len(said.partition(".")[2]) + more_digits
        changed = f"{change(float(said.replace('−', '-'))):.{digits}f}"
        if said.startswith("+") and not changed.startswith("-"):
            changed = f"+{changed}"
        return changed.replace("-", "−") if "−" in said else changed

    return re.sub(_NUMBER, one, numbers)


def _changed(found: re.Match[str], change: Callable[[float], float], name: str) -> str:
    """A quantity with its band, before its unit or behind it, in another unit."""
    before, within, space, behind = found.groups()
    return f"{_each(before, change)}{_each(within, change)}{space}{name}{_each(behind, change)}"


def _ounces(found: re.Match[str]) -> str:
    if found[3] == "kg":
        name, factor, digits = "lb", POUND_kg, 0
    else:
        name, factor, digits = "oz", OUNCE_g, 1
    band = _each(found[4], lambda value: value / factor, digits)
    return f"{_each(found[1], lambda value: value / factor, digits)}{found[2]}{name}{band}"


def _day(found: re.Match[str], *, month_first: bool) -> str:
    month, day = MONTHS[int(found[2]) - 1], int(found[3])
    return f"{month} {day}, {found[1]}" if month_first else f"{day} {month} {found[1]}"
