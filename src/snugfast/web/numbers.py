"""How numbers are written on pages: in one place, so that they read the same everywhere."""

from __future__ import annotations

from datetime import datetime

from snugfast.core.figures import Figure
from snugfast.core.zones import local_time, zone_called

THIN = "\u00a0"  # no line break between a number and its unit
LEAST_PERCENT = 0.0005


def plain(value: float) -> str:
    """A number without needless decimals: 12, 0.5, 1.25."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


def percent(share: float) -> str:
    """A chance: “under 0.1 %”, “4.2 %”, “37 %”."""
    if share < LEAST_PERCENT:
        return f"under 0.1{THIN}%"
    if share < 0.0995:
        return f"{share * 100:.1f}{THIN}%"
    return f"{share * 100:.0f}{THIN}%"


def percent_short(share: float) -> str:
    """A chance where there is room for a few letters only; a dash where nothing can fail."""
    if share <= 0.0:
        return "–"
    return f"<0.1{THIN}%" if share < LEAST_PERCENT else percent(share)


def minutes(value: float) -> str:
    """A time at the bench or on the track: “0.5 min”, “12 min”."""
    return f"{plain(round(value, 1))}{THIN}min"


def short_time(value_min: float) -> str:
    """How long a quick look takes: “25 s”, “2 min”."""
    seconds = 5 * max(1, round(60 * value_min / 5))
    return f"{seconds}{THIN}s" if seconds < 90 else f"{value_min:.0f}{THIN}min"


def money(figure: Figure) -> str:
    """An amount with its currency."""
    return f"{figure.value:.2f}{THIN}{figure.unit}"


def money_range(figure: Figure) -> str:
    """An amount with its band: “15.69 CRD (10.05 to 26.71)”."""
    if figure.low is None or figure.high is None:
        return money(figure)
    return f"{money(figure)} ({figure.low:.2f} to {figure.high:.2f})"


def count(number: float, one: str, many: str = "") -> str:
    """A number of things: “1 run”, “3 runs”, “about 2.5 packs”."""
    shown = plain(round(number, 1))
    return f"{shown} {one if shown == '1' else many or one + 's'}"


def day_and_time(at: datetime, zone: str) -> str:
    """A moment where it happened."""
    return f"{local_time(at, zone):%Y-%m-%d %H:%M}"


def clock_time(at: datetime, zone: str) -> str:
    """The time of day."""
    return f"{local_time(at, zone):%H:%M}"


def ago(at: datetime, now: datetime, zone: str) -> str:
    """How long ago, in days as a person counts them."""
    here = zone_called(zone)
    days = (now.astimezone(here).date() - at.astimezone(here).date()).days
    if days <= 0:
        return "today"
    if days == 1:
        return "yesterday"
    return f"{days} days ago"


def capital(text: str) -> str:
    """The text with a capital first letter, the rest as it is."""
    return text[:1].upper() + text[1:]
