"""The hunt of the field sheet against the hunt at home: random hunts on every starter, in a real browser.

Authority: another program, `Reasoning` and `next_test`, held to worked examples and brute force themselves.
"""

from __future__ import annotations

import random
from typing import Any

import pytest
from playwright.sync_api import Page

from snugfast.exchange.field_sheet.make import HERE
from snugfast.records.entries import HuntSaid, HuntStep
from snugfast.usecases.hunt.answering import ASIDE, VAIN
from snugfast.usecases.hunt.reasoning import Reasoning
from snugfast.usecases.hunt.tables import car_sums, table_sums
from tests.usecases.bench import facts
from tests.usecases.hunt_cars import begun, driven

SAID = {
    HuntSaid.NOTHING_WRONG: "good",
    HuntSaid.SHOWN: "shown",
    **{said: word for word, said in {**ASIDE, **VAIN}.items()},
}
RECKON = """([tables, hunts]) => hunts.map(({car, symptoms, steps, chooses}) => {
  const begin = performance.now();
  const hunt = new Hunt(tables.sums, tables.cars[car], symptoms, steps);
  const test = chooses ? hunt.next : "", took = performance.now() - begin;
  const told = chooses ? [test, hunt.proposed, hunt.chosen.minutes, test && hunt.minutes(test)] : [];
  return {now: [...hunt.now], before: [...hunt.before], told, took};
})"""


def random_hunt(rng: random.Random, car: str) -> Reasoning:
    """A hunt on this starter with answers of every kind, likely or not."""
    several = facts().hunt_symptoms
    hunt = begun(car, *rng.sample(sorted(several), rng.choice((1, 1, 2, 3))))
    for _ in range(rng.randint(0, 6)):
        key = rng.choice(list(hunt.tests))
        word = rng.choice(facts().hunt_tests[key].answers).word
        hunt = hunt.further(
            rng.choice(
                (
                    HuntStep(HuntSaid.NOTHING_WRONG, key),
                    HuntStep(HuntSaid.NOTHING_WRONG, key),
                    HuntStep(HuntSaid.SHOWN, key, word),
                    HuntStep(rng.choice((HuntSaid.CANNOT_DO, HuntSaid.CANNOT_TELL)), key),
                    HuntStep(rng.choice((HuntSaid.NOT_IT, HuntSaid.NOT_CURED)), cause=rng.choice(hunt.keys)),
                )
            )
        )
    return hunt


def held_against(
    page: Page, hunts: list[tuple[str, Reasoning]], *, choosing: int, strictly: bool = True
) -> list[float]:
    """The hunts reckoned in the page are those at home; what each choice took there, ms."""
    tables = {
        "sums": table_sums(facts(), {}),
        "cars": {car: car_sums(facts(), *driven(car)) for car, _ in hunts},
    }
    asked = [
        {
            "car": car,
            "symptoms": [one.key for one in hunt.symptoms],
            "steps": [
                {"said": SAID[s.said], "test": s.test, "word": s.word, "cause": s.cause} for s in hunt.steps
            ],
            "chooses": n < choosing,
        }
        for n, (car, hunt) in enumerate(hunts)
    ]
    page.goto("about:blank")
    page.add_script_tag(path=HERE / "hunt.js")
    told: list[dict[str, Any]] = page.evaluate(RECKON, [tables, asked])
    another = 0
    for (car, hunt), here in zip(hunts, told, strict=True):
        what = (car, [one.key for one in hunt.symptoms], hunt.steps)
        assert here["before"] == pytest.approx(list(hunt.before), abs=1e-9), what
        assert here["now"] == pytest.approx(list(hunt.now), abs=1e-9), what
        if here["told"]:
            test, cause, minutes, takes = here["told"]
            key, chosen = hunt.next
            # Which states and tests are looked at further may be a tie, which rounding decides.
            assert minutes == pytest.approx(chosen.ahead_min, abs=1e-9 if strictly else 0.01), what
            assert test == key or not strictly, what
            another += test != key
            assert not test or takes == pytest.approx(hunt.minutes(test), abs=1e-9)
            assert cause in ("", hunt.to_mend()), what
    assert another <= 0.01 * choosing
    return [one["took"] for one in told if one["told"]]


def test_the_page_reckons_what_the_workshop_reckons(phone_page: Page) -> None:
    rng = random.Random(20261129)
    hunts = [(car, random_hunt(rng, car)) for car in sorted(facts().starters) for _ in range(2)]
    rng.shuffle(hunts)
    held_against(phone_page, hunts, choosing=8)


@pytest.mark.soak
def test_the_page_reckons_what_the_workshop_reckons_of_many(phone_page: Page) -> None:
    rng = random.Random(7)
    hunts = [(car, random_hunt(rng, car)) for car in sorted(facts().starters) for _ in range(8)]
    phone_page.context.new_cdp_session(phone_page).send("Emulation.setCPUThrottlingRate", {"rate": 4})
    took = sorted(held_against(phone_page, hunts, choosing=len(hunts), strictly=False))
    print(f"{len(took)} choices, a phone's CPU: median {took[len(took) // 2]:.0f} ms, ", end="")
    print(f"p95 {took[int(0.95 * len(took))]:.0f} ms, most {took[-1]:.0f} ms")
