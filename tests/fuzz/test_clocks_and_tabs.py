"""Clocks that jump about, and two tabs that keep what they were opened with: nothing acknowledged is lost,
undo takes back what arrived last, and no answer is a fault of ours.

Authority: laws of this project. Plays are drawn from the printed seed.
"""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import UUID

import pytest
from starlette.testclient import TestClient

from snugfast.core.errors import SnugfastError
from snugfast.records.codec import canonical, entry_to_document
from snugfast.records.entries import Entry, Withdrawn
from snugfast.records.store.engines import file_url
from snugfast.usecases.journal.keeping import keep, redo, undo
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from snugfast.usecases.safekeeping.backups import back_up_if_due
from snugfast.usecases.safekeeping.self_check import CompiledTwin, self_check
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.app import create_for
from tests.fuzz.seeds import FEW, seed_of
from tests.web.workshops import BEGAN, Clock, tell_story

JUMPS = (
    timedelta(0), timedelta(seconds=-90), timedelta(hours=2), timedelta(hours=-3), timedelta(days=1),
    timedelta(days=-40), timedelta(days=400), timedelta(days=5 * 365), timedelta(days=-5 * 365),
)  # fmt: skip


def journal(workshop: Workshop) -> list[Entry]:
    with workshop.store.reading() as reads:
        return [row.entry for row in reads.entries_after(0)]


def clocks_played(folder: Path, seed: int, steps: int) -> None:
    rng = random.Random(seed)
    clock = Clock(BEGAN)
    workshop = tell_story(clock, file_url(folder / f"clock-{seed}.sqlite"), runs=1)
    with workshop.store:
        for step in range(steps):
            clock.at = max(datetime(1990, 1, 1, tzinfo=UTC), clock.at + rng.choice(JUMPS))
            before = journal(workshop)
            try:
                match rng.randrange(5):
                    case 0 | 1:
                        run = RunSaid(
                            "Bramble", ("Ember 1",), str(rng.randint(1, 20)), when=rng.choice(("", "today"))
                        )
                        (entry,) = draft_runs(workshop, (run,)).entries
                        keep(workshop, [entry])
                        assert journal(workshop)[-1].id == entry.id
                    case 2:
                        undone = undo(workshop)
                        last = journal(workshop)[-1]
                        assert isinstance(last.fact, Withdrawn) and last.id == undone.by
                        standing = [one for one in before if not isinstance(one.fact, Withdrawn)]
                        assert last.fact.entry in {one.id for one in standing}, (seed, step)
                    case 3:
                        redo(workshop)
                    case _:
                        back_up_if_due(workshop)
            except SnugfastError:
                pass  # refused in words: a run before its car joined, nothing to undo
            assert journal(workshop)[: len(before)] == before, (seed, step)
        lines = self_check(workshop, lambda: CompiledTwin(Path("compiled"), 0.8))
        assert not [line for line in lines if "could not be looked at" in line.seen], (seed, lines)
        assert not [line for line in lines if "differs from what the journal says" in line.seen], seed


def tabs_played(seed: int, steps: int) -> None:
    """Two tabs take turns with forms opened at different times; what was answered 303 is there for good."""
    rng = random.Random(seed)
    workshop = tell_story(Clock(BEGAN), runs=1)
    client = TestClient(create_for(workshop), base_url="http://127.0.0.1:8765", raise_server_exceptions=False)
    forms: list[tuple[str, dict[str, str], UUID | None]] = []
    kept: list[UUID] = []
    for step in range(steps):
        if rng.random() < 0.5 or not forms:
            entries = [one for one in journal(workshop) if type(one.fact).__name__ == "Ran"]
            replaces = rng.choice(entries) if entries and rng.random() < 0.6 else None
            try:
                said = RunSaid("Bramble", ("Ember 2",), str(rng.randint(1, 20)))
                (entry,) = draft_runs(workshop, (said,), replaces=replaces).entries
            except SnugfastError:
                continue
            forms.append(("/keep", {"entry": canonical(entry_to_document(entry))}, entry.id))
            if entries:
                target = rng.choice(entries).id
                page = client.get(f"/journal/{target}/withdraw").text
                seen = page.split('name="seen" value="')[1].split('"')[0]
                forms.append((f"/journal/{target}/withdraw", {"seen": seen}, None))
        else:
            path, form, identity = forms.pop(rng.randrange(len(forms)))
            answers = [
                client.post(path, data=form, follow_redirects=False) for _ in range(rng.choice((1, 2)))
            ]
            assert all(answer.status_code in (303, 404, 409, 422) for answer in answers), (seed, step, path)
            if identity is not None and answers[0].status_code == 303:
                kept.append(identity)
                assert answers[-1].status_code == 303, "a second tap is no second entry and no error"
        there = [one.id for one in journal(workshop)]
        assert len(set(there)) == len(there)
        assert set(kept) <= set(there), (seed, step)
    workshop.store.close()


@pytest.mark.parametrize("number", range(FEW))
def test_clocks_that_jump(tmp_path: Path, number: int) -> None:
    clocks_played(tmp_path, seed_of("clocks", number), 12)


@pytest.mark.parametrize("number", range(FEW))
def test_two_tabs(number: int) -> None:
    tabs_played(seed_of("tabs", number), 12)


@pytest.mark.soak
def test_many_clocks_and_tabs(tmp_path: Path) -> None:
    for number in range(200):
        clocks_played(tmp_path, seed_of("clocks", number, fresh=True), 60)
        tabs_played(seed_of("tabs", number, fresh=True), 60)
