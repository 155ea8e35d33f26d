"""What to believe after each entry.

Authorities: *against* an independent program (golden/upkeep/delay_time.json), direct integration and a fine
grid; *law* for the properties. Simulations are in test_beliefs_against_simulation.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from math import exp, expm1, gamma, log

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate

from snugfast.core.errors import ImpossibleInput
from snugfast.upkeep.beliefs import Beliefs
from snugfast.upkeep.grid import STANDARD_GRID, Grid, delay_prior, rate_prior
from snugfast.upkeep.mode_law import NEW, ModeLaw, Start, UnknownExposure
from tests.upkeep.upkeep_golden import golden

GOLDEN = golden("delay_time")
POINT = Grid((1.0,), (1.0,))  # rate and delay known: the closed forms of one part
STEADY = ModeLaw(400.0, 1.5, 30.0)
EVERY_KIND = {
    "steady": STEADY,
    "sudden": ModeLaw(400.0, 1.5, 30.0, sudden_share=0.3),
    "wearing": ModeLaw(400.0, 1.5, 30.0, wear_shape=2.5),
    "fading": ModeLaw(400.0, 1.5, 30.0, fade=25.0, sudden_share=0.1),
    "equal": ModeLaw(30.0, 1.5, 30.0),
    "quick": ModeLaw(3.0, 1.5, 4.0, wear_shape=1.5, sudden_share=0.2),
}


def known(law: ModeLaw, start: Start = NEW) -> Beliefs:
    """One part whose rate and delay are known."""
    return Beliefs.begin([law], [start], grid=POINT)


def learning(law: ModeLaw = STEADY, start: Start = NEW) -> Beliefs:
    return Beliefs.begin([law], [start])


@cache
def begun(kind: str, *, grid: Grid = STANDARD_GRID) -> Beliefs:
    """A part of some age whose rate has just been raised where the law can fade."""
    law = EVERY_KIND[kind]
    beliefs = Beliefs.begin([law], [Start(age=40.0, presence=0.02)], grid=grid)
    return beliefs.raised(factor=4.0) if kind == "fading" else beliefs


kinds = st.sampled_from(sorted(EVERY_KIND))
exposures = st.floats(0.0, 120.0)
chances = st.floats(0.0, 1.0)


@pytest.mark.parametrize("row", GOLDEN["belief_table"]["rows"], ids=lambda row: f"after {row['u']}")
def test_the_chance_of_a_defect_follows_the_closed_form(row: dict[str, float]) -> None:
    now = known(STEADY).ran(exposure=float(row["u"]))
    assert now.presence[0] == pytest.approx(row["pi_single"], rel=1e-12)
    assert now.outlook(exposure=12.0).fail_chance[0] == pytest.approx(row["p_fail_next_12"], rel=1e-11)
    assert now.checked_clean(detection=0.8).presence[0] == pytest.approx(row["after_clean_r08"], rel=1e-11)


@pytest.mark.parametrize("row", GOLDEN["age_dependent"]["rows"], ids=lambda row: f"age {row}")
def test_a_part_that_wears_follows_the_independent_program(row: dict[str, float]) -> None:
    law = ModeLaw(400.0 * gamma(1.5), 1.5, 30.0, wear_shape=2.0)
    start = known(law, Start(age=row["age_at_last_clean_check"]))
    assert start.ran(exposure=row["u"]).presence[0] == pytest.approx(row["pi"], rel=1e-9)
    assert start.outlook(exposure=row["u"]).fail_chance[0] == pytest.approx(row["p_failed_by_u"], rel=1e-9)


def told(law: ModeLaw, detection: float, *, grid: Grid = POINT) -> Beliefs:
    """The golden record."""
    now = Beliefs.begin([law], [NEW], grid=grid)
    for exposure, outcome in GOLDEN["likelihood"]["record"]:
        if outcome == "fail":
            now = now.failed_at(exposure=exposure)
            continue
        now = now.ran(exposure=exposure)
        if outcome == "clean":
            now = now.checked_clean(detection=detection)
        elif outcome == "found":
            now = now.found(detection=detection).restored()
    return now


@pytest.mark.parametrize(
    "point", GOLDEN["likelihood"]["points"], ids=lambda p: f"r {p['r']}, λ {p['lam']:.4f}"
)
def test_the_golden_record_is_as_likely_as_the_independent_program_says(point: dict[str, float]) -> None:
    law = ModeLaw(1 / point["lam"], 1.5, 1 / point["alpha"])
    assert told(law, point["r"]).log_evidence[0] == pytest.approx(point["loglik"], abs=1e-11)


def test_no_rate_or_delay_near_the_most_likely_one_is_likelier() -> None:
    best = GOLDEN["likelihood"]["mle_r085"]
    most = told(ModeLaw(1 / best["lam"], 1.5, best["delta"]), 0.85).log_evidence[0]
    assert most == pytest.approx(best["loglik"], abs=1e-11)
    for turn in (0.95, 1.05):
        assert told(ModeLaw(turn / best["lam"], 1.5, best["delta"]), 0.85).log_evidence[0] < most
        assert told(ModeLaw(1 / best["lam"], 1.5, turn * best["delta"]), 0.85).log_evidence[0] < most


def test_on_a_fine_grid_the_posterior_is_that_of_the_other_programs_grid() -> None:
    """Rate gamma(2) of mean 1/200, ln delay normal(ln 40, 0.6), r 0.85; 401 × 401 there, 161 × 81 here."""
    there = GOLDEN["likelihood"]["grid_posterior_r085"]
    fine = Grid(tuple(np.geomspace(0.005, 25.0, 161)), tuple(np.exp(np.linspace(-2.4, 2.4, 81))))
    median_forty = 40.0 * exp(0.5 * 0.6**2)
    now = told(ModeLaw(200.0, 2.0, median_forty, delay_log_sd=0.6), 0.85, grid=fine)
    assert now.rate_multiplier[0] / 200.0 == pytest.approx(there["E_lam"], rel=2e-3)
    assert now.delay_multiplier[0] * median_forty == pytest.approx(there["E_delta"], rel=2e-3)


def test_the_coarse_grid_of_the_product_comes_near_the_fine_one() -> None:
    """The sheet rests on 65 points; on the golden record that costs under 4 % in either mean."""
    there = GOLDEN["likelihood"]["grid_posterior_r085"]
    median_forty = 40.0 * exp(0.5 * 0.6**2)
    now = told(ModeLaw(200.0, 2.0, median_forty, delay_log_sd=0.6), 0.85, grid=STANDARD_GRID)
    assert now.rate_multiplier[0] / 200.0 == pytest.approx(there["E_lam"], rel=0.04)
    assert now.delay_multiplier[0] * median_forty == pytest.approx(there["E_delta"], rel=0.04)


@pytest.mark.slow
@given(shape=st.floats(0.3, 8.0), log_sd=st.floats(0.1, 1.2))
def test_a_new_car_starts_from_the_tables_mean_rate_and_delay(shape: float, log_sd: float) -> None:
    rate = rate_prior(STANDARD_GRID, spread_shape=np.array([shape]))
    delay = delay_prior(STANDARD_GRID, log_sd=np.array([log_sd]))
    assert rate.sum() == pytest.approx(1.0)
    assert rate @ np.array(STANDARD_GRID.rates) == pytest.approx([1.0], rel=1e-9)
    assert delay @ np.array(STANDARD_GRID.delays) == pytest.approx([1.0], rel=1e-9)


def test_the_prior_on_the_grid_is_as_wide_as_the_gamma_law_it_stands_for() -> None:
    rates = np.array(STANDARD_GRID.rates)
    for shape in (1.2, 1.5, 2.0, 3.0):
        weights = rate_prior(STANDARD_GRID, spread_shape=np.array([shape]))[0]
        assert weights @ (rates - 1.0) ** 2 == pytest.approx(1.0 / shape, rel=0.02)


@pytest.mark.parametrize("kind", EVERY_KIND)
def test_good_defective_and_failed_are_what_numerical_integration_gives(kind: str) -> None:
    """*Against* adaptive quadrature of the hazard as the law states it."""
    law = EVERY_KIND[kind]
    age, extra, span = 40.0, 3.0 if kind == "fading" else 0.0, 37.0
    scale = law.mean_between_defects / gamma(1.0 + 1.0 / law.wear_shape)

    def hazard(y: float) -> float:
        by_age = law.wear_shape / scale * ((age + y) / scale) ** (law.wear_shape - 1.0)
        return by_age + extra * exp(-y / law.fade) / law.mean_between_defects

    def good(y: float) -> float:
        return exp(-_quad(hazard, y))

    born = _quad(lambda y: hazard(y) * good(y) * exp(-(span - y) / law.mean_delay), span)
    still_good = 0.98 * good(span)
    defective = 0.98 * (1.0 - law.sudden_share) * born + 0.02 * exp(-span / law.mean_delay)
    start = begun(kind, grid=POINT)
    assert start.outlook(exposure=span).fail_chance[0] == pytest.approx(1 - still_good - defective, rel=1e-7)
    ran = start.ran(exposure=span)
    assert ran.presence[0] == pytest.approx(defective / (still_good + defective), rel=1e-7)
    density = defective / law.mean_delay + law.sudden_share * hazard(span) * still_good
    assert start.failed_at(exposure=span).log_evidence[0] == pytest.approx(log(density), rel=1e-7)


def _quad(function: Callable[[float], float], end: float) -> float:
    return float(integrate.quad(function, 0.0, end, epsabs=1e-12, epsrel=1e-10)[0])


@given(kind=kinds, first=exposures, second=exposures)
def test_an_exposure_told_in_two_parts_is_the_same_exposure(kind: str, first: float, second: float) -> None:
    whole = begun(kind).ran(exposure=first + second)
    parts = begun(kind).ran(exposure=first).ran(exposure=second)
    assert parts.presence == pytest.approx(whole.presence, rel=1e-5, abs=1e-9)
    assert parts.weights == pytest.approx(whole.weights, rel=1e-5, abs=1e-9)
    assert parts.log_evidence == pytest.approx(whole.log_evidence, rel=1e-5, abs=1e-7)


@given(kind=kinds, exposure=exposures, more=exposures)
def test_chances_are_chances_and_more_exposure_fails_more(kind: str, exposure: float, more: float) -> None:
    near, far = begun(kind).outlook(exposure=exposure), begun(kind).outlook(exposure=exposure + more)
    assert 0.0 <= near.fail_chance[0] <= far.fail_chance[0] + 1e-12 <= 1.0 + 1e-9
    assert 0.0 <= near.sudden_chance[0] <= near.fail_chance[0] + 1e-12
    a_blow_first = near.sudden_share[0] * near.presence[0]
    assert -a_blow_first - 1e-12 <= near.avoidable_chance[0] <= near.fail_chance[0] + 1e-12
    ran = begun(kind).ran(exposure=exposure)
    assert 0.0 <= ran.presences.min() <= ran.presences.max() <= 1.0
    assert ran.weights.sum() == pytest.approx(1.0)


@given(exposure=exposures, more=st.floats(0.1, 100.0))
def test_without_looking_the_chance_of_a_defect_rises_towards_rate_times_delay(
    exposure: float, more: float
) -> None:
    now = known(STEADY).ran(exposure=exposure)
    assert now.presence[0] <= now.ran(exposure=more).presence[0] + 1e-15 <= 30.0 / 400.0 + 1e-12


@given(spread=st.floats(1e-9, 1e-2))
def test_nothing_jumps_where_rate_and_delay_come_together(spread: float) -> None:
    at = known(ModeLaw(30.0, 1.5, 30.0)).ran(exposure=45.0).presence[0]
    near = known(ModeLaw(30.0 * (1.0 + spread), 1.5, 30.0)).ran(exposure=45.0).presence[0]
    assert near == pytest.approx(at, rel=2.0 * spread + 1e-12)


@given(apart=st.floats(1e-8, 3e-3), exposure=st.floats(1.0, 120.0))
def test_the_limit_where_rate_and_delay_meet_is_exact_to_the_last_figures(
    apart: float, exposure: float
) -> None:
    """λ/(α−λ)·(e^(−λu) − e^(−αu)) written with expm1, which does not lose figures."""
    rate, alpha = 1 / 30.0, (1.0 + apart) / 30.0
    born = rate / (alpha - rate) * exp(-rate * exposure) * -expm1(-(alpha - rate) * exposure)
    expected = born / (exp(-rate * exposure) + born)
    now = known(ModeLaw(30.0, 1.5, 30.0 / (1.0 + apart))).ran(exposure=exposure)
    assert now.presence[0] == pytest.approx(expected, rel=1e-7 * min(1.0, 1e-8 / apart) + 1e-11)


@given(kind=kinds, exposure=exposures, detection=chances, looked=chances)
def test_a_clean_check_never_raises_the_chance_of_a_defect(
    kind: str, exposure: float, detection: float, looked: float
) -> None:
    ran = begun(kind).ran(exposure=exposure)
    clean = ran.checked_clean(detection=detection)
    ticked = ran.checked_clean(detection=detection, looked=looked)
    assert clean.presence[0] <= ticked.presence[0] + 1e-12 <= ran.presence[0] + 2e-12
    blind = ran.checked_clean(detection=0.0)
    assert np.array_equal(blind.presences, ran.presences)
    assert blind.weights == pytest.approx(ran.weights, rel=1e-12)


@given(kind=kinds, exposure=st.floats(0.5, 120.0), detection=st.floats(0.1, 1.0), ahead=st.floats(0.5, 50.0))
def test_what_a_check_takes_off_the_next_run_is_presence_times_detection_times_the_difference(
    kind: str, exposure: float, detection: float, ahead: float
) -> None:
    """P(fail) without the check less P(fail) with it, worked out by both outcomes of the check."""
    now = begun(kind).ran(exposure=exposure)
    found = detection * now.presence[0]
    clean = now.checked_clean(detection=detection)
    repaired = now.found(detection=detection).restored()
    with_check = (1.0 - found) * clean.outlook(exposure=ahead).fail_chance[0]
    with_check += found * repaired.outlook(exposure=ahead).fail_chance[0]
    outlook = now.outlook(exposure=ahead)
    assert outlook.fail_chance[0] - with_check == pytest.approx(
        detection * outlook.avoidable_chance[0], rel=1e-8, abs=1e-12
    )


@given(kind=kinds, exposure=exposures, works=chances)
def test_putting_right_leaves_only_the_chance_that_it_did_not_work(
    kind: str, exposure: float, works: float
) -> None:
    now = begun(kind).ran(exposure=exposure).restored(works=works)
    assert now.presence[0] == pytest.approx(1.0 - works)
    assert begun(kind).failed_within(exposure=exposure + 1.0).presence[0] == 0.0


def test_renewing_sets_the_age_back_and_plain_putting_right_does_not() -> None:
    worn = begun("wearing").ran(exposure=300.0)
    assert worn.age[0] == pytest.approx(340.0)
    assert worn.restored().age[0] == pytest.approx(340.0)
    assert worn.restored(renewed=True).age[0] == 0.0
    assert (
        worn.restored(renewed=True).outlook(exposure=20.0).fail_chance
        < worn.restored().outlook(exposure=20.0).fail_chance
    )


def test_failures_teach_a_higher_rate_and_quiet_running_a_lower_one() -> None:
    assert learning().failed_within(exposure=12.0).rate_multiplier > 1.5
    assert learning().ran(exposure=2000.0).rate_multiplier < 0.6


def test_a_raised_rate_fades_and_the_greater_of_two_holds() -> None:
    law = EVERY_KIND["fading"]
    calm, raised = known(law), known(law).raised(factor=4.0)
    assert raised.outlook(exposure=1e-6).rate[0] == pytest.approx(4.0 * calm.outlook(exposure=1e-6).rate[0])
    later = raised.ran(exposure=25.0).outlook(exposure=1e-6).rate[0] * 400.0
    assert later == pytest.approx(1.0 + 3.0 * exp(-1.0), rel=1e-6)
    assert np.array_equal(raised.raised(factor=2.0).clocks, raised.clocks)
    long_ago = raised.ran(exposure=1000.0)
    assert long_ago.outlook(exposure=10.0).rate == pytest.approx(calm.outlook(exposure=10.0).rate)


def test_work_can_plant_a_defect() -> None:
    now = known(STEADY).ran(exposure=24.0)
    assert now.disturbed(chance=0.1).presence[0] == pytest.approx(1 - (1 - now.presence[0]) * 0.9)


def test_false_alarms_make_a_find_less_certain() -> None:
    now = known(STEADY).ran(exposure=24.0)
    assert now.found(detection=0.9).presence[0] == pytest.approx(1.0)
    doubtful = now.found(detection=0.9, false_alarm=0.05).presence[0]
    chance = now.presence[0]
    assert doubtful == pytest.approx(0.9 * chance / (0.9 * chance + 0.05 * (1 - chance)))


def test_what_the_law_calls_impossible_still_happens_and_teaches_nothing() -> None:
    fresh = learning()
    surprised = fresh.found(detection=1.0)  # a new part cannot have a defect, and yet it was found
    assert surprised.presence[0] == pytest.approx(1.0)
    assert surprised.weights == pytest.approx(fresh.weights)
    at_once = fresh.failed_within(exposure=0.0)
    assert at_once.weights == pytest.approx(fresh.weights)


@pytest.mark.slow
@given(kind=kinds, exposure=st.floats(1.0, 120.0), checks=st.integers(1, 6))
def test_a_stretch_told_in_one_go_is_its_runs_and_checks_one_by_one(
    kind: str, exposure: float, checks: int
) -> None:
    bulk = begun(kind).ran_with_clean_checks(exposure=exposure, checks=checks, detection=0.8, looked=0.5)
    now = begun(kind)
    for _ in range(checks):
        now = now.ran(exposure=exposure / checks).checked_clean(detection=0.8, looked=0.5)
    assert np.array_equal(bulk.weights, now.weights)
    assert np.array_equal(bulk.presences, now.presences)


def test_an_unknown_exposure_is_the_mean_over_what_it_may_have_been() -> None:
    """*Against* adaptive quadrature over the band; the loan may have been 20 to 200 minutes."""

    def over_band(function: Callable[[float], float]) -> float:
        return float(integrate.quad(function, 20.0, 200.0, epsrel=1e-11)[0]) / 180.0

    rate, alpha = 1 / 400, 1 / 30
    good = over_band(lambda u: exp(-rate * u))
    bad = over_band(lambda u: rate / (alpha - rate) * (exp(-rate * u) - exp(-alpha * u)))
    now = known(STEADY).ran_unknown(exposure=UnknownExposure.between(20.0, 200.0))
    assert now.presence[0] == pytest.approx(bad / (good + bad), rel=1e-9)
    assert now.log_evidence[0] == pytest.approx(log(good + bad), rel=1e-8)
    assert now.age[0] == pytest.approx(110.0)


def test_a_band_without_width_is_a_known_exposure() -> None:
    loan = learning().ran_unknown(exposure=UnknownExposure.between(36.0, 36.0))
    plain = learning().ran(exposure=36.0)
    assert loan.presence == pytest.approx(plain.presence, rel=1e-12)
    assert loan.weights == pytest.approx(plain.weights, rel=1e-12)


def test_a_part_with_an_unknown_past_starts_with_the_chance_of_an_exponential_past() -> None:
    """P(defective) and P(good) over an exponential exposure of mean m: λm/((1+λm)(1+αm)) and 1/(1+λm)."""
    rate, alpha, mean = 1 / 400, 1 / 30, 100.0
    good = 1 / (1 + rate * mean)
    bad = rate * mean / ((1 + rate * mean) * (1 + alpha * mean))
    start = known(STEADY, Start(unchecked=UnknownExposure.about(mean)))
    assert start.presence[0] == pytest.approx(bad / (good + bad), rel=1e-4)
    assert start.log_evidence[0] == 0.0


def test_a_wider_start_is_wider_and_learns_faster() -> None:
    plain, wide = learning(), learning(start=Start(spread_factor=2.0))
    assert wide.rate_multiplier == pytest.approx(plain.rate_multiplier)
    assert (
        wide.failed_within(exposure=12.0).rate_multiplier > plain.failed_within(exposure=12.0).rate_multiplier
    )


def test_a_successor_starts_with_the_rate_and_the_delay_its_predecessor_taught() -> None:
    taught = learning().failed_within(exposure=12.0).failed_within(exposure=30.0)
    heir = learning(start=Start(log_weights=taught.log_weights()[0]))
    assert heir.rate_multiplier == pytest.approx(taught.rate_multiplier, rel=1e-9)
    assert heir.delay_multiplier == pytest.approx(taught.delay_multiplier, rel=1e-9)
    assert abs(taught.delay_multiplier[0] - learning().delay_multiplier[0]) > 1e-3
    assert heir.presence[0] == 0.0
    with pytest.raises(ImpossibleInput, match="do not fit"):
        learning(start=Start(log_weights=np.zeros(4)))


def test_an_unexplained_breakdown_is_shared_out_as_full_enumeration_says() -> None:
    """*Against* a sum over all cases: which of three failed, at which grid point each of them is."""
    laws = [EVERY_KIND["steady"], EVERY_KIND["sudden"], EVERY_KIND["wearing"]]
    grid = Grid((0.3, 1.0, 3.0), (0.6, 1.5))
    before = Beliefs.begin(laws, [Start(age=50.0)] * 3, grid=grid).ran(exposure=np.array([20.0, 40.0, 60.0]))
    after, blame = before.one_failed_within(exposure=15.0)
    survive = np.empty((3, grid.size))
    for point in range(grid.size):
        rate, delay = grid.rate_of_point[point], grid.delay_of_point[point]
        only = replace(
            before,
            grid=Grid((rate,), (delay,)),
            weights=np.ones((3, 1)),
            presences=before.presences[:, [point]],
        )
        survive[:, point] = 1.0 - only.outlook(exposure=15.0).fail_chance
    w, s, f = before.weights, survive, 1.0 - survive
    joint, lived = np.zeros((2, 3, grid.size))
    by_culprit = np.zeros(3)
    for a in range(grid.size):
        for b in range(grid.size):
            for c in range(grid.size):
                weight = w[0, a] * w[1, b] * w[2, c]
                cases = [
                    f[0, a] * s[1, b] * s[2, c],
                    s[0, a] * f[1, b] * s[2, c],
                    s[0, a] * s[1, b] * f[2, c],
                ]
                by_culprit += weight * np.array(cases)
                for row, point in enumerate((a, b, c)):
                    joint[row, point] += weight * sum(cases)
                    lived[row, point] += weight * (sum(cases) - cases[row])
    assert blame == pytest.approx(by_culprit / by_culprit.sum(), rel=1e-9)
    assert after.weights == pytest.approx(joint / joint.sum(axis=1, keepdims=True), rel=1e-9)
    still_there = before.ran(exposure=15.0).presences * lived / joint
    assert after.presences == pytest.approx(still_there, rel=1e-9)


def test_one_suspect_alone_is_a_plain_failure() -> None:
    after, blame = learning().one_failed_within(exposure=12.0)
    plain = learning().failed_within(exposure=12.0)
    assert blame[0] == pytest.approx(1.0)
    assert after.weights == pytest.approx(plain.weights, rel=1e-12)
    assert after.presence[0] == pytest.approx(0.0, abs=1e-15)


@pytest.mark.parametrize(
    "event",
    [
        lambda b: b.ran(exposure=-1.0),
        lambda b: b.ran(exposure=float("nan")),
        lambda b: b.ran(exposure=np.array([-1.0])),
        lambda b: b.checked_clean(detection=1.2),
        lambda b: b.restored(works=-0.1),
    ],
)
def test_numbers_that_cannot_be_are_refused(event: Callable[[Beliefs], Beliefs]) -> None:
    with pytest.raises(ImpossibleInput):
        event(learning())


@pytest.mark.parametrize(
    "make",
    [
        lambda: ModeLaw(0.0, 1.5, 30.0),
        lambda: ModeLaw(400.0, 1.5, 30.0, sudden_share=1.1),
        lambda: ModeLaw(400.0, 1.5, 30.0, wear_shape=0.5),
        lambda: Start(presence=2.0),
        lambda: Start(age=-1.0),
        lambda: UnknownExposure.between(5.0, 2.0),
        lambda: UnknownExposure((1.0,), (0.5,)),
        lambda: UnknownExposure.about(0.0),
        lambda: Beliefs.begin([STEADY], []),
    ],
)
def test_laws_and_starts_that_cannot_be_are_refused(make: Callable[[], object]) -> None:
    with pytest.raises(ImpossibleInput):
        make()
