"""Set screws on a shaft: what they hold, unfactored and with a band, against the torque this joint sees.

Holding power is the least load that moves the part a quarter of a millimetre. Industry divides it by 4 to 8
for live loads; here it is shown undivided, since small cars run far inside that reserve and a divided figure
would condemn every pinion. The table the figure rests on is named by whoever hands it in.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum

from snugfast.core.marks import Span, formula
from snugfast.physics.validation import require_not_negative, require_positive

# Scatter of an ordinary driver's torque (nut-factor-encompasses), and the most that is lost where the shaft
# is nearly as hard as the point (socket-screw-guide).
SEATING_SCATTER = 0.30
HARD_SHAFT_LOSS = 0.15
FLAT_GAIN = 1.06
LIVE_LOAD_FACTORS = (4.0, 8.0)
_PAIR = ((math.radians(60.0), 1.75), (math.radians(180.0), 1.29))


@dataclass(frozen=True, slots=True)
class HoldingRow:
    """One row of a holding table: cup point, seated with `seating_Nm`; along the shaft or around it."""

    seating_Nm: float
    holding_N: float


@formula(source="set-screw-chart", where="torsional table: holding force times shaft radius")
def holding_torque(*, holding_N: float, shaft_diameter_m: float) -> float:
    """The torque a set screw holds on a shaft, F·d/2. Newton metres."""
    require_positive(shaft_diameter_m=shaft_diameter_m)
    return holding_N * shaft_diameter_m / 2.0


@formula(source="machine-design-setscrews", where="seating torque: holding almost proportional to it")
def holding_when_seated(*, row: HoldingRow, seating_Nm: float) -> float:
    """What the screw holds when seated below the table's torque; never more than the table. Newtons."""
    require_not_negative(seating_Nm=seating_Nm)
    return row.holding_N * min(1.0, seating_Nm / row.seating_Nm)


@formula(
    source="two-set-screws",
    where="1.75 at 60°, 1.29 at 180°; straight between is ours",
    angle_between_rad=Span(*(angle for angle, _ in _PAIR)),
)
def pair_factor(*, angle_between_rad: float) -> float:
    """How many times one screw two of them hold: less than double, and least when they face each other."""
    (narrow, most), (wide, least) = _PAIR
    share = min(1.0, max(0.0, (angle_between_rad - narrow) / (wide - narrow)))
    return most + share * (least - most)


KEY_SHARE = (
    0.6  # of the torque at which a good key stays bent: keys wear and sockets of small screws are soft
)


@formula(source="elicited-mechanics", where="the least of screw, worn key and chart")
def seating_limit(*, chart_Nm: float, key_yield_Nm: float, soft_screw_Nm: float) -> float:
    """How tight a set screw of a model car is seated: what the key in the hand and a soft screw both bear.

    The chart is for hardened screws and new keys. Pass infinity for a key or a screw nobody knows. N·m.
    """
    require_positive(chart_Nm=chart_Nm)
    return min(chart_Nm, KEY_SHARE * key_yield_Nm, soft_screw_Nm)


@formula(source="openstax-university-physics-1", where="ch. 10, Newton’s second law for rotation, τ = I·α")
def rotor_stop_torque(*, rotor_kgm2: float, speed_rad_s: float, stops_in_s: float) -> float:
    """What the pinion's seat bears when something stops the rotor dead: J·ω/Δt. Newton metres."""
    require_positive(rotor_kgm2=rotor_kgm2, speed_rad_s=speed_rad_s, stops_in_s=stops_in_s)
    return rotor_kgm2 * speed_rad_s / stops_in_s


class ShaftSeat(Enum):
    """What the point stands on."""

    ROUND = "the round shaft"
    FLAT = "a flat"


class HoldVerdict(Enum):
    """Whether the joint holds the torque it sees."""

    HOLDS = "holds"
    MAY_SLIP = "may slip"
    SLIPS = "slips"


@dataclass(frozen=True, slots=True)
class SetScrewHold:
    """What the set screws of one joint hold.

    `axial_N` along the shaft, `torque_Nm` around it with the band from `low_Nm` to `high_Nm`;
    `industrial_Nm` is the same torque divided by 8 and by 4, a note and not a verdict.
    """

    axial_N: float
    torque_Nm: float
    low_Nm: float
    high_Nm: float
    industrial_Nm: tuple[float, float]
    verdict: HoldVerdict
    sentence: str


def judge_set_screws(
    *,
    row: HoldingRow,
    seating_Nm: float,
    shaft_diameter_m: float,
    peak_torque_Nm: float,
    seat: ShaftSeat,
    angle_between_rad: float | None = None,
    point_factor: float = 1.0,
) -> SetScrewHold:
    """Whether one set screw, or two at an angle, hold the peak torque of their joint.

    Give `angle_between_rad` where there are two. `point_factor` is one for a cup point. The band spans a
    driver's ±30 % and, downwards, a shaft nearly as hard as the point. A flat adds about 6 % around the
    shaft and nothing along it; what counts more is that it drives even after the grip is lost.
    """
    require_not_negative(peak_torque_Nm=peak_torque_Nm)
    screws = 1.0 if angle_between_rad is None else pair_factor(angle_between_rad=angle_between_rad)
    around = FLAT_GAIN if seat is ShaftSeat.FLAT else 1.0

    def axial_N(seating: float) -> float:
        return screws * point_factor * holding_when_seated(row=row, seating_Nm=seating)

    def torque_Nm(seating: float) -> float:
        return holding_torque(holding_N=around * axial_N(seating), shaft_diameter_m=shaft_diameter_m)

    middle_Nm = torque_Nm(seating_Nm)
    low_Nm = (1.0 - HARD_SHAFT_LOSS) * torque_Nm((1.0 - SEATING_SCATTER) * seating_Nm)
    high_Nm = torque_Nm((1.0 + SEATING_SCATTER) * seating_Nm)
    if peak_torque_Nm <= low_Nm:
        verdict = HoldVerdict.HOLDS
    elif peak_torque_Nm <= high_Nm:
        verdict = HoldVerdict.MAY_SLIP
    else:
        verdict = HoldVerdict.SLIPS
    mild, harsh = LIVE_LOAD_FACTORS
    return SetScrewHold(
        axial_N=axial_N(seating_Nm),
        torque_Nm=middle_Nm,
        low_Nm=low_Nm,
        high_Nm=high_Nm,
        industrial_Nm=(middle_Nm / harsh, middle_Nm / mild),
        verdict=verdict,
        sentence=_sentence(verdict, seat, low_Nm, high_Nm, peak_torque_Nm),
    )


def _sentence(verdict: HoldVerdict, seat: ShaftSeat, low_Nm: float, high_Nm: float, peak_Nm: float) -> str:
    holds = f"Grip {low_Nm:.2g} to {high_Nm:.2g} N·m against {peak_Nm:.2g} N·m at worst: {verdict.value}."
    if seat is ShaftSeat.FLAT:
        return f"{holds} On the flat it grips a little better and still drives if the grip is lost."
    return f"{holds} On a round shaft nothing catches it once it turns: put the screw on a flat."
