"""How charge, spans and moments of packs are said, the same at both doors."""

from __future__ import annotations

import math
from datetime import datetime

from snugfast.core.figures import Figure
from snugfast.core.zones import local_time

HOUR_S, DAY_S = 3600.0, 86400.0
MONTH_DAYS = 30.4375
NOW_S = 60.0


def runs_words(runs: int, from_charges: float) -> str:
    """How often it was driven, and how many cycles more its charges tell of, when that is worth saying."""
    more = f" and {from_charges:.1f} cycles by charges that no run explains" if from_charges >= 0.1 else ""
    return f"{_many(runs, 'run')}{more}"


def span_words(seconds: float) -> str:
    """A span in the unit a person would use, rounded down: what is left is never made longer."""
    if not math.isfinite(seconds):
        return "never"
    if seconds < HOUR_S:
        return f"{int(seconds / 60)} min"
    if seconds < 2 * DAY_S:
        return _many(int(seconds / HOUR_S), "hour")
    days = seconds / DAY_S
    if days < 90:
        return _many(int(days), "day")
    if days < 3 * 365:
        return _many(int(days / MONTH_DAYS), "month")
    return _many(int(days / 365), "year")


def band_of_spans(seconds: Figure) -> str:
    """Early end and likely value of a time: “in 12 days, likely 40 days”."""
    low = seconds.low if seconds.low is not None else seconds.value
    likely = span_words(seconds.value)
    if low < NOW_S:
        return "at once" if seconds.value < NOW_S else f"perhaps at once, likely in {likely}"
    early = f"in {span_words(low)}"
    return early if early == f"in {likely}" else f"{early}, likely {likely}"


def charge_words(share: Figure) -> str:
    """A charge as a percentage with its band: “52 % (42 to 62)”."""
    if share.low is None or share.high is None:
        return f"{share.value * 100:.0f} %"
    return f"{share.value * 100:.0f} % ({share.low * 100:.0f} to {share.high * 100:.0f})"


def share_band_words(low: float, high: float) -> str:
    """A small share as a band in percent: “0.2 to 1.6 %”."""
    one, other = f"{low * 100:.2g}", f"{high * 100:.2g}"
    return f"{one} %" if one == other else f"{one} to {other} %"


def minutes_words(seconds: Figure) -> str:
    """Minutes with their band: “64 min (55 to 90)”."""
    likely = f"{seconds.value / 60:.0f} min"
    if seconds.low is None or seconds.high is None:
        return likely
    return f"{likely} ({seconds.low / 60:.0f} to {seconds.high / 60:.0f})"


def moment_words(at: datetime | None, zone: str, now: datetime) -> str:
    """A moment to come where it happens: the clock within two days, else the day."""
    if at is None:
        return "beyond the calendar"
    if (at - now).total_seconds() < NOW_S:
        return "now"
    local = local_time(at, zone)
    if (at - now).total_seconds() < 2 * DAY_S:
        return f"{local:%Y-%m-%d %H:%M}"
    return f"{local:%Y-%m-%d}"


def _many(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"
