"""Spare parts: how many will be wanted, what being without costs, and the best box within some limits.

Demand over an outing is a Poisson count whose rate is not known for sure: negative binomial. What is still
short with so many in the box is the expected backorders; each further piece spares less than the one before,
so the order in which to add pieces is a curve, and the best box for given limits is a packing of pieces.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import formula
from snugfast.numerics.packing import best_packing

Floats = NDArray[np.float64]

MOST_PIECES = 12  # of one part; a car uses up no more of one in an outing
LEAST_WORTH = 1.0  # minor units: a piece that spares less on average is not worth packing
NEAR_POISSON = 1e-9  # of the mean: a variance closer to it than this is that of a known rate


@dataclass(frozen=True, slots=True)
class Demand:
    """How many of a part will be wanted: mean and variance of a count, equal when it is Poisson."""

    mean: float
    variance: float

    def __post_init__(self) -> None:
        if not (0.0 <= self.mean < np.inf and self.mean * (1.0 - 1e-9) <= self.variance < np.inf):
            raise ImpossibleInput(
                "This is no demand for parts.", "Give a mean of 0 or more and a variance no smaller."
            )

    @classmethod
    def of_rate(cls, *, shape: float, exposure: float, wanted: float) -> Demand:
        """From a gamma belief about a rate: events in `exposure`, as after `shape` events in this long.

        `wanted` is the exposure ahead, in the same unit.
        """
        mean = shape * wanted / exposure
        return cls(mean, mean * (1.0 + wanted / exposure))

    def __add__(self, other: Demand) -> Demand:
        """Both together, when one says nothing of the other."""
        return Demand(self.mean + other.mean, self.variance + other.variance)


NONE = Demand(0.0, 0.0)


@formula(source="nist-handbook", where="section 8.4.6: gamma belief, Poisson counts; their mixture")
def demand_chances(*, mean: ArrayLike, variance: ArrayLike, most: int) -> Floats:
    """Chance that 0, 1, … `most` pieces are wanted, (parts, most + 1), negative binomial by moments.

    `mean` and `variance` are (parts,) or one number; where they are equal the count is Poisson.
    """
    mu = np.atleast_1d(np.asarray(mean, dtype=np.float64))
    over = np.maximum(np.atleast_1d(np.asarray(variance, dtype=np.float64)) - mu, 0.0)
    spread = over > NEAR_POISSON * np.maximum(mu, 1e-300)
    ratio = np.where(spread, over / np.where(mu > 0.0, mu, 1.0), 0.0)  # (1 − p)/p
    shape = np.where(spread, mu / np.where(spread, ratio, 1.0), 1.0)
    chances = np.zeros((mu.size, most + 1))
    chances[:, 0] = np.where(spread, np.exp(-shape * np.log1p(ratio)), np.exp(-mu))
    for k in range(most):
        step = np.where(spread, (shape + k) * ratio / (1.0 + ratio), mu) / (k + 1.0)
        chances[:, k + 1] = chances[:, k] * step
    return chances


def chance_of_more(*, mean: ArrayLike, variance: ArrayLike, most: int) -> Floats:
    """P(more than 0, 1, … `most` pieces are wanted), (parts, most + 1): what one more spares."""
    chances = demand_chances(mean=mean, variance=variance, most=most)
    return np.asarray(np.maximum(1.0 - np.cumsum(chances, axis=1), 0.0))


@formula(source="sherbrooke-1968", where="expected backorders: EBO(s + 1) = EBO(s) − P(D > s), EBO(0) = mean")
def expected_backorders(*, mean: ArrayLike, variance: ArrayLike, most: int) -> Floats:
    """Pieces short on average with 0, 1, … `most` in the box, (parts, most + 1)."""
    mu = np.atleast_1d(np.asarray(mean, dtype=np.float64))
    short = np.empty((mu.size, most + 1))
    short[:, 0] = mu
    if most:
        more = chance_of_more(mean=mean, variance=variance, most=most - 1)
        short[:, 1:] = mu[:, None] - np.cumsum(more, axis=1)
    return np.asarray(np.maximum(short, 0.0))


@formula(
    source="inventorize-manual",
    where="critical ratio short/(short + over); the smallest s with P(D ≤ s) above",
)
def best_stock(*, demand: Demand, short_cost: float, over_cost: float, most: int = 10_000) -> int:
    """How many to have of one part alone, when being one short and having one too many cost this.

    Raises ImpossibleInput for a cost that is not above 0.
    """
    if short_cost < 0.0 or over_cost <= 0.0:
        raise ImpossibleInput(
            "These are no costs of a part.", "Give 0 or more, and above 0 for one too many."
        )
    ratio = short_cost / (short_cost + over_cost)
    reached, pieces = 0.0, 0
    size = 16
    while True:
        chances = demand_chances(mean=demand.mean, variance=demand.variance, most=size)[0]
        at = np.flatnonzero(np.cumsum(chances) >= ratio)
        if at.size:
            return int(at[0])
        reached, pieces = float(chances.sum()), size
        if pieces >= most or reached >= 1.0 - 1e-12:
            return pieces
        size = min(4 * size, most)


@dataclass(frozen=True, slots=True)
class Part:
    """A part to take or buy: how many are wanted, what one short costs, what one piece uses up.

    `loss` and `price` are in minor units. The first `have` pieces are there already and cost nothing.
    """

    key: str
    demand: Demand
    loss: float
    price: float = 0.0
    mass_g: float = 0.0
    volume_ml: float = 0.0
    have: int = 0
    most: int = MOST_PIECES


@dataclass(frozen=True, slots=True)
class Limits:
    """What the box may hold and cost; infinite where there is no limit."""

    pieces: float = np.inf
    money: float = np.inf
    mass_g: float = np.inf
    volume_ml: float = np.inf


@dataclass(frozen=True, slots=True)
class Step:
    """One piece on the curve: what it spares on average, and where the box stands with it."""

    key: str
    saves: float
    ratio: float  # of what it saves to what it uses up
    spent: float
    left: float  # what shortages still cost on average


@dataclass(frozen=True, slots=True)
class Box:
    """A choice of pieces: how many of each part, what they save, and what no box can save more than."""

    counts: Mapping[str, int] = field(default_factory=dict)
    saves: float = 0.0
    bound: float = 0.0
    without: float = 0.0  # what shortages cost on average with an empty box

    @property
    def gap(self) -> float:
        """What the very best box could save more; 0 when this one is proved to be the best."""
        return max(0.0, self.bound - self.saves)


def piece_savings(parts: Sequence[Part], *, most: int = MOST_PIECES) -> Floats:
    """What the first, second, … piece of each part saves on average, (parts, most), never rising."""
    if not parts:
        return np.zeros((0, most))
    more = chance_of_more(
        mean=[part.demand.mean for part in parts],
        variance=[part.demand.variance for part in parts],
        most=most - 1,
    )
    allowed = np.arange(most)[None, :] < np.array([part.most for part in parts])[:, None]
    return np.asarray(more * np.array([part.loss for part in parts])[:, None] * allowed)


@formula(source="sherbrooke-1968", where="marginal analysis: next the piece that saves most a price")
def marginal_curve(*, parts: Sequence[Part], limits: Limits, least_ratio: float = 0.0) -> tuple[Step, ...]:
    """Pieces in the order of what they save for their price, as long as the limits hold them.

    With no money limit and no prices it is the order of what they save. Each point is the best box for the
    money it has spent. It ends before the first piece whose ratio is below `least_ratio`.
    """
    saves = piece_savings(parts)
    by_price = any(part.price > 0.0 for part in parts)
    pieces = [
        (
            saves[n, k] / part.price
            if by_price and part.price > 0.0 and k >= part.have
            else (np.inf if by_price else saves[n, k]),
            saves[n, k],
            n,
            k,
        )
        for n, part in enumerate(parts)
        for k in range(min(part.most, saves.shape[1]))
        if saves[n, k] > 0.0
    ]
    pieces.sort(key=lambda piece: (-piece[0], -piece[1], piece[2], piece[3]))
    left = sum(part.demand.mean * part.loss for part in parts)
    spent = mass = volume = count = 0.0
    curve = []
    for ratio, saving, n, k in pieces:
        part = parts[n]
        price = part.price if k >= part.have else 0.0
        if ratio < least_ratio:
            break
        over = (
            spent + price > limits.money
            or mass + part.mass_g > limits.mass_g
            or volume + part.volume_ml > limits.volume_ml
            or count + 1 > limits.pieces
        )
        if over:
            break
        spent, mass, volume, count = spent + price, mass + part.mass_g, volume + part.volume_ml, count + 1
        left -= saving
        curve.append(Step(part.key, float(saving), float(ratio), spent, float(left)))
    return tuple(curve)


def best_box(parts: Sequence[Part], limits: Limits, *, least_worth: float = LEAST_WORTH) -> Box:
    """The pieces that save most within all limits at once, proved best or with the gap that is left.

    A piece that saves less than `least_worth` on average is left out. Amounts in minor units.
    """
    saves = piece_savings(parts)
    without = float(sum(part.demand.mean * part.loss for part in parts))
    rows, pieces = np.nonzero((saves > 0.0) & (saves >= least_worth))
    if not rows.size:
        return Box({}, 0.0, 0.0, without)
    price = np.array([part.price for part in parts])[rows]
    price = np.where(pieces >= np.array([part.have for part in parts])[rows], price, 0.0)
    uses = np.array(
        [
            np.ones(rows.size),
            price,
            np.array([part.mass_g for part in parts])[rows],
            np.array([part.volume_ml for part in parts])[rows],
        ]
    )
    worth = saves[rows, pieces]
    packed = best_packing(
        worth, uses, np.array([limits.pieces, limits.money, limits.mass_g, limits.volume_ml])
    )
    # Pieces of a part are alike: how many of them counts, and the first ones save most.
    counts = np.bincount(rows[packed.taken], minlength=len(parts))
    total = float(sum(saves[n, :count].sum() for n, count in enumerate(counts)))
    return Box(
        {part.key: int(count) for part, count in zip(parts, counts, strict=True) if count},
        total,
        total + packed.gap,
        without,
    )
