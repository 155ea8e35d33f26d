"""A workshop made anew for an archive to fill stands on its owner's tables. Authority: a law."""

from __future__ import annotations

from pathlib import Path

from snugfast.exchange.meeting import open_or_make
from snugfast.usecases.safekeeping.hand_over import hand_over
from tests.usecases.bench import with_truck, workshop_in_memory


def test_a_workshop_made_for_an_archive_has_the_rows_of_its_owner(tmp_path: Path) -> None:
    (tmp_path / "tables").mkdir()
    (tmp_path / "tables" / "minutes.toml").write_text("wheel_nuts = 4.5\n", encoding="utf-8")
    with workshop_in_memory() as (giver, clock):
        giver_person = giver.author
        with giver.store.work() as work:
            work.people.add(giver_person, "Pip")
            work.commit()
        with_truck(giver)
        everything = hand_over(giver)
        made = open_or_make(str(tmp_path / "shed.sqlite"), everything, now=clock)
    assert made.facts.checks["wheel_nuts"].minutes == 4.5
    made.store.close()


def test_a_name_without_an_ending_is_a_folder_as_it_is_for_begin(tmp_path: Path) -> None:
    with workshop_in_memory() as (giver, clock):
        with giver.store.work() as work:
            work.people.add(giver.author, "Pip")
            work.commit()
        made = open_or_make(str(tmp_path / "shed"), hand_over(giver), now=clock)
    made.store.close()
    assert (tmp_path / "shed" / "workshop.sqlite").is_file()
