"""Makes the store file of the newest revision, kept here so that every later Snugfast can prove it opens.

Run once after a revision was added: `python -m tests.old_stores.make`. Files of earlier revisions stay.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import UUID

from snugfast.core.ids import compose
from snugfast.records import entries as words
from snugfast.records.entries import Entry, Fact
from snugfast.records.store import Store
from snugfast.records.store.engines import file_url
from snugfast.records.store.schema import REVISIONS

HERE = Path(__file__).parent
START = datetime(2026, 4, 11, 9, 30, tzinfo=UTC)
AUTHOR = UUID(int=41)


def identity(number: int) -> UUID:
    """A version 7 identity that is the same every time."""
    return compose(1_775_900_000_000 + number, number.to_bytes(10, "big"))


CAR, SECOND_CAR, PACK, MOTOR, CHARGER = (identity(number) for number in (901, 902, 903, 904, 905))

TOLD: tuple[Fact, ...] = (
    words.CarAdded(
        CAR, "Grey truck", {"places": {"motor": {"screws": 2}}}, words.History.SECOND_HAND, "truck"
    ),
    words.CarAdded(SECOND_CAR, "Größe S", {}),
    words.PackAdded(PACK, "Blue", "lipo", 3, 5.0, words.Money(4990, "EUR"), {"plug": "two round pins 4 mm"}),
    words.Ran(
        car=CAR,
        packs=(PACK,),
        running_min=14.5,
        about=True,
        ground=words.Ground.GRAVEL,
        wet=words.Wet.SALT_WATER,
        hard_hits=2.5,
        hits_said="a few",
        ambient_degC=-3.5,
        readings=(words.Reading("motor can", 61.0, "°C", 40.0, "61 C"),),
        put_back_Ah=3.9,
        noticed=("grinding",),
        broke=(words.Broke(mode=None, place="motor", words="stopped", minutes=20.0),),
    ),
    words.CaughtUp(car=CAR, since=START - timedelta(days=60), packs=6, running_min=70, wet_packs=1),
    words.Checked(
        car=CAR,
        check="wheel nuts",
        answers=(words.Answer("loose", "nut loose", "wheel nut", "rear left", words.Done.PUT_RIGHT),),
        minutes=3,
    ),
    words.Failed(car=CAR, broke=words.Broke(mode="pinion loose", spent=words.Money(0, "EUR"))),
    words.PartFitted(CAR, "motor", MOTOR, "Motor, 540 size", ("front",), words.Money(3500, "EUR"), True),
    words.PartMoved(CAR, "motor", SECOND_CAR, "motor"),
    words.WorkDone(car=CAR, event="radio work", place="receiver", words="new plug"),
    words.SettingChanged(CAR, "pinion", "13"),
    words.TreatmentDone(CAR, "dried", 10),
    words.CameBack(SECOND_CAR, 2, 9, "lent for the summer"),
    words.BuildChanged(SECOND_CAR, {"places": {}}),
    words.SettingsChosen({"minute": 0.4, "currency": "EUR"}),
    words.Withdrawn(identity(4), "the other car"),
    words.CarLeft(SECOND_CAR, "sold"),
    words.ChargerAdded(
        CHARGER, "Two-way charger", 2, 10.0, 200.0, 300.0, True, False, words.Money(8990, "EUR")
    ),
    words.PackCharged(PACK, words.Finish.STORAGE, -1.2, 2.5, 35.0, CHARGER, (3.84, 3.85, 3.84)),
    words.PackMeasured(PACK, (3.83, 3.84, 3.83), 60.0, (0.0041, 0.0043, 0.0042), "charger", 21.5),
    words.PackLooked(PACK, (words.PackHarm.DENTED,), "a corner"),
    words.PackHurt(PACK, (words.PackHarm.EJECTED,), 48.0, CAR, "over the kerb"),
    words.PackCleared(PACK, (words.PackHarm.EJECTED,), "the maker's instructions"),
    words.PackStands(PACK, words.Stands.PLUGGED_SWITCH_OFF, CAR, 18.0),
    words.Measured(
        CAR,
        words.Trial.FREE_SPIN,
        "spur",
        (words.Reading("time", 4.5, "s", typed="4.5 s"),),
        {"from_rpm": 9000.0, "note": "größer"},
        True,
    ),
    words.LaidUp(SECOND_CAR, "for the winter"),
    words.WokenUp(SECOND_CAR),
    words.ChargerLeft(CHARGER, "lent"),
    words.PackLeft(PACK, "puffed up"),
)


def journal() -> tuple[Entry, ...]:
    """One entry of each kind there was when the first of these files was made."""
    return tuple(
        Entry(
            id=identity(number),
            happened_at=START + timedelta(hours=number),
            recorded_at=START + timedelta(hours=number, seconds=1, microseconds=number),
            author=AUTHOR,
            fact=fact,
            precision=list(words.Precision)[number % 3],
            zone="Europe/Vienna",
            replaces=identity(5) if number == 6 else None,
            typed=f"line {number}, “wörtlich”",
        )
        for number, fact in enumerate(TOLD, start=1)
    )


def main() -> None:
    """Write the file of the newest revision, unless it is there."""
    file = HERE / f"{REVISIONS[-1]}.db"
    if file.exists():
        raise SystemExit(f"{file.name} is there already, and a file that is there is never made anew.")
    with Store.create(file_url(file), clock=lambda: START) as store, store.work() as work:
        work.journal.add_all(journal())
        work.people.add(AUTHOR, "Somebody")
        work.people.add(identity(42), "Somebody who left")
        work.people.erase(identity(42))
        work.projections.put("ledger", CAR, 3, "an old mark", b"\x00 worked out long ago")
        work.commit()


if __name__ == "__main__":
    main()
