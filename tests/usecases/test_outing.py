"""A day out in one go: packs one after another, what is not said is as last time."""

from __future__ import annotations

from datetime import timedelta

import pytest

from snugfast.core.errors import BadInput, WrongData
from snugfast.records.entries import Ran
from snugfast.usecases.journal.cars import draft_car, starter
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.journal.outing import CarOut, OutingSaid, draft_outing, last_times
from snugfast.usecases.packs.register import PackSaid, draft_pack
from snugfast.usecases.shared.workshop import Workshop
from tests.web.workshops import BEGAN, Clock, tell_story


@pytest.fixture
def workshop() -> Workshop:
    clock = Clock(BEGAN)
    told = tell_story(clock, runs=2)
    clock.on(days=1)
    return told


def runs(workshop: Workshop, said: OutingSaid) -> list[Ran]:
    draft = draft_outing(workshop, said)
    keep(workshop, draft.entries)
    return [entry.fact for entry in draft.entries if isinstance(entry.fact, Ran)]


def test_what_is_not_said_is_as_last_time(workshop: Workshop) -> None:
    last = {one.name: one for one in last_times(workshop)}["Bramble"]
    assert (last.packs, last.minutes, last.hits, last.ground) == (("Ember 1",), "13", "a few", "gravel")
    [ran] = runs(workshop, OutingSaid((CarOut("Bramble", ("Ember 2",)),), wet="damp"))
    assert (ran.running_min, ran.ground.value, ran.wet.value) == (13.0, "gravel", "damp")


def test_packs_of_a_car_ran_one_after_another_until_now(workshop: Workshop) -> None:
    """Otherwise two runs of one car would stand at the same moment, which the records refuse."""
    said = OutingSaid((CarOut("Bramble", ("Ember 1", "Ember 2"), ("10", "14")),))
    draft = draft_outing(workshop, said)
    first, second = draft.entries
    assert second.happened_at - first.happened_at >= timedelta(minutes=14)
    assert workshop.now() - second.happened_at < timedelta(minutes=2)
    keep(workshop, draft.entries)


def test_the_car_that_was_out_last_stands_first(workshop: Workshop) -> None:
    assert [one.name for one in last_times(workshop)] == ["Bramble", "Quarry"]


def test_the_same_form_gives_the_same_entries(workshop: Workshop) -> None:
    said = OutingSaid((CarOut("Bramble", ("Ember 1",), ("9",)),), id=workshop.new_id())
    assert [entry.id for entry in draft_outing(workshop, said).entries] == [
        entry.id for entry in draft_outing(workshop, said).entries
    ]


def test_what_is_missing_is_asked_for(workshop: Workshop) -> None:
    with pytest.raises(BadInput, match="No car"):
        draft_outing(workshop, OutingSaid(()))
    with pytest.raises(WrongData, match="cannot be read"):
        draft_outing(workshop, OutingSaid((CarOut("Quarry", ("Ember 1",)),)))


def test_a_car_that_carries_two_packs_runs_them_in_pairs(workshop: Workshop) -> None:
    """A 1/5 truck of ours has a left and a right battery, joined in series."""
    keep(workshop, [draft_car(workshop, "Boulder", starter(workshop, "truck-1-5-4wd-8s"))])
    names = ("Slate 1", "Slate 2", "Slate 3", "Slate 4")
    for name in names:
        keep(workshop, [draft_pack(workshop, PackSaid(name, "4", "6700"))])
    first, second = runs(workshop, OutingSaid((CarOut("Boulder", names, ("8",)),), when="today"))
    assert (len(first.packs), len(second.packs)) == (2, 2)
