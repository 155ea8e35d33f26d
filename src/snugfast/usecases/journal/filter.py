"""What part of the journal a person means: the kinds by a plain word, the days by a date."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, date, datetime, time, timedelta

from snugfast.core.errors import BadInput
from snugfast.core.zones import local_time, zone_called
from snugfast.records.moments import read_moment
from snugfast.usecases.shared.typed_words import nearest_way_out

KIND_WORDS: Mapping[str, tuple[str, ...]] = {
    "runs": ("ran", "caught_up"),
    "checks": ("checked", "sheet_done"),
    "failures": ("failed",),
    "hunts": ("hunted",),
    "parts": ("part_fitted", "part_moved"),
    "work": (
        "work_done",
        "treatment_done",
        "setting_changed",
        "measured",
        "came_back",
        "laid_up",
        "woken_up",
    ),
    "cars and packs": ("car_added", "build_changed", "car_left", "pack_added", "pack_left"),
    "pack care": (
        "pack_looked",
        "pack_hurt",
        "pack_cleared",
        "pack_charged",
        "pack_measured",
        "pack_stands",
        "charger_added",
        "charger_left",
    ),
    "set-up": ("set_up_changed", "steering_set", "radio_tested", "learner_limits"),
    "spares box": ("box_part", "box_counted", "box_took", "box_ordered", "box_arrived"),
    "settings": ("settings_chosen",),
    "taken back": ("withdrawn",),
}


def kinds_meant(word: str) -> tuple[str, ...]:
    """The kinds of entries behind a word; none for an empty one. Raises BadInput with the words there are."""
    wanted = word.strip().casefold()
    if wanted and wanted not in KIND_WORDS:
        near = nearest_way_out(wanted, KIND_WORDS)
        raise BadInput(f"“{word}” is no kind of entry.", near or f"There are: {', '.join(KIND_WORDS)}.")
    return KIND_WORDS[wanted] if wanted else ()


def day_begins(text: str, *, now: datetime, zone: str) -> datetime | None:
    """When a day begins where the workshop is; None for an empty text. Raises BadInput for what is no day."""
    day = _day(text, now, zone)
    return None if day is None else _midnight(day, zone)


def day_ends(text: str, *, now: datetime, zone: str) -> datetime | None:
    """When the day after begins; None for an empty text and for the last day there is.

    Raises BadInput for what is no day.
    """
    day = _day(text, now, zone)
    if day is None or day == date.max:  # nothing comes after the end of the calendar
        return None
    return _midnight(day + timedelta(days=1), zone)


def _day(text: str, now: datetime, zone: str) -> date | None:
    if not text.strip():
        return None
    try:
        return date.fromisoformat(text.strip())  # a day that has not come yet is a limit like any other
    except ValueError:
        return local_time(read_moment(text, now=now, zone=zone).at, zone).date()


def _midnight(day: date, zone: str) -> datetime:
    try:
        return datetime.combine(day, time(), zone_called(zone)).astimezone(UTC)
    except OverflowError:  # the first day of the calendar, east of Greenwich
        return datetime.combine(day, time(), UTC)
