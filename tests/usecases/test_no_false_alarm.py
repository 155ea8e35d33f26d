"""No alarm that shows 0 %, and none for what was found OK a minute ago. Authority: the trade."""

from __future__ import annotations

import re

from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked
from snugfast.usecases.journal.bench_answers import FoundSaid, draft_found
from snugfast.usecases.journal.keeping import keep
from tests.usecases.pack_bench import PACK, Bench


def test_what_was_found_ok_at_this_bench_is_no_alarm(packs: Bench) -> None:
    """Driven hard for a season and never looked at, then all answered OK one by one."""
    for _ in range(25):
        packs.clock.on(days=3)
        packs.ran(hits="5", minutes="20")
    packs.clock.on(hours=3)
    asked = Asked(("Bramble",), minutes=600.0)
    answered = 0
    for _ in range(12):
        sheet = bench_sheet(packs.workshop, asked)
        for line in sheet.unguarded:
            assert "(0 %)" not in line and "Do not drive until it was" not in line
        if not sheet.checks:
            break
        for check in sheet.checks:
            said = FoundSaid("Bramble", check.check, ("sound",), pack=check.pack_name)
            keep(packs.workshop, draft_found(packs.workshop, said).entries)
            answered += 1
    assert answered > 12
    left = bench_sheet(packs.workshop, asked).unguarded
    done = {check.name for check in packs.workshop.facts.checks.values()}
    assert all(re.search(r"“(.+?)” sees it, right after a run", line) for line in left), left
    assert all(re.search(r"“(.+?)”", line)[1] in done for line in left)  # type: ignore[index]


def test_a_known_defect_that_was_left_still_alarms(packs: Bench) -> None:
    packs.ran()
    keep(
        packs.workshop,
        draft_found(
            packs.workshop,
            FoundSaid("Bramble", "plugs_look", ("car half browned: left as it is",), pack=PACK),
        ).entries,
    )
    sheet = bench_sheet(packs.workshop, Asked(("Bramble",), minutes=60.0))
    assert sheet.unguarded or sheet.fix_first or "plugs_look" in {check.check for check in sheet.checks}
