"""Springs, motion ratio, sag, ride frequency, damping, roll bars and driveshafts at ride height.

Everything here is a corner on its own, at small travel, rigid links, no friction in the joints. A motion
ratio is spring travel over wheel travel; some texts define it the other way round.
"""

from __future__ import annotations

import math

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import Span, formula
from snugfast.physics.validation import require_not_negative, require_positive

STEEL_SHEAR_Pa, STEEL_YOUNG_Pa = 79.3e9, 207e9
MOST_MOTION_RATIO = 1.3


def check_motion_ratio(ratio: float) -> None:
    """Raise ImpossibleInput for a ratio the wrong way round or none at all."""
    require_positive(motion_ratio=ratio)
    if ratio > MOST_MOTION_RATIO:
        raise ImpossibleInput(
            f"A motion ratio of {ratio:.2f} would be a shock that moves more than its wheel.",
            f"Give shock travel over wheel travel; did you mean {1.0 / ratio:.2f}?",
        )


@formula(source="spring-design-pages", where="k = G·d⁴/(8·D³·n)")
def coil_rate(
    *, wire_m: float, mean_diameter_m: float, active_coils: float, shear_Pa: float = STEEL_SHEAR_Pa
) -> float:
    """The rate of a coil spring, in N/m. D is the mean diameter; 0.05 mm of wire is 18 % of it."""
    require_positive(wire_m=wire_m, mean_diameter_m=mean_diameter_m, active_coils=active_coils)
    if wire_m >= mean_diameter_m:
        raise ImpossibleInput(
            "The wire is thicker than its coil is wide.",
            "Give the wire first, then the coil’s mean diameter.",
        )
    return shear_Pa * wire_m**4 / (8.0 * mean_diameter_m**3 * active_coils)


@formula(source="hooke-two-loads", where="k = ΔF/Δx")
def rate_of_two_loads(*, lighter_N: float, longer_m: float, heavier_N: float, shorter_m: float) -> float:
    """The rate of a spring from its length under two loads, in N/m: surer than a caliper on its wire."""
    if heavier_N <= lighter_N or shorter_m >= longer_m:
        raise ImpossibleInput(
            "The heavier load must make the spring shorter.", "Give the lighter load and its length first."
        )
    return (heavier_N - lighter_N) / (longer_m - shorter_m)


@formula(source="automotive-chassis-engineering", where="eq. 3.33, p. 179; times the cosine of the lean")
def motion_ratio(*, mount_m: float, arm_m: float, lean_rad: float = 0.0) -> float:
    """Spring travel over wheel travel of a shock on an arm: where it is mounted, and how it leans."""
    require_positive(mount_m=mount_m, arm_m=arm_m)
    if not abs(lean_rad) < math.pi / 2.0:
        raise ImpossibleInput(
            "A shock that lies flat springs nothing.", "Give its lean from upright, in degrees."
        )
    return mount_m / arm_m * math.cos(lean_rad)


@formula(source="automotive-chassis-engineering", where="eq. 3.33, p. 179: k_w = k_s·(c/b)²")
def wheel_rate(*, spring_N_m: float, ratio: float) -> float:
    """The rate felt at the wheel, in N/m."""
    require_positive(spring_N_m=spring_N_m)
    check_motion_ratio(ratio)
    return spring_N_m * ratio**2


@formula(source="meriam-kraige-dynamics", where="sample problems 8/1 and 8/2: f = √(k/m)/2π")
def ride_frequency(*, wheel_rate_N_m: float, mass_kg: float) -> float:
    """How often a corner bounces by itself, in Hz; the tyre is taken as stiff."""
    require_positive(wheel_rate_N_m=wheel_rate_N_m, sprung_mass_kg=mass_kg)
    return math.sqrt(wheel_rate_N_m / mass_kg) / (2.0 * math.pi)


@formula(source="corner-force-balance", where="W = k_s·MR·(p + MR·z)")
def sag(*, load_N: float, spring_N_m: float, ratio: float, preload_m: float = 0.0) -> float:
    """How far a corner sinks from hanging free, at the wheel, in metres; 0 where the preload carries it."""
    require_positive(load_N=load_N, spring_N_m=spring_N_m)
    require_not_negative(preload_m=preload_m)
    check_motion_ratio(ratio)
    return max(0.0, (load_N / (spring_N_m * ratio) - preload_m) / ratio)


@formula(source="meriam-kraige-dynamics", where="sample problem 8/2: ζ = c/(2·√(k·m))")
def damping_ratio(*, shock_N_s_m: float, ratio: float, wheel_rate_N_m: float, mass_kg: float) -> float:
    """How strongly a corner is damped: 1 just does not overshoot, 0.5 overshoots by a sixth."""
    require_positive(shock_damping_N_s_m=shock_N_s_m, wheel_rate_N_m=wheel_rate_N_m, sprung_mass_kg=mass_kg)
    check_motion_ratio(ratio)
    return shock_N_s_m * ratio**2 / (2.0 * math.sqrt(wheel_rate_N_m * mass_kg))


@formula(source="meriam-kraige-dynamics", where="underdamped response: exp(−πζ/√(1 − ζ²))")
def overshoot(*, damping: float) -> float:
    """The first overshoot after a push, as a share of it; 0 from a damping ratio of one."""
    require_not_negative(damping=damping)
    if damping >= 1.0:
        return 0.0
    return math.exp(-math.pi * damping / math.sqrt(1.0 - damping**2))


@formula(
    source="viscous-flow-textbook",
    where="ex. 6.1 (pipe), with Sampson’s ends: G = n·π·h⁴/(128·μ·(t + 3πh/16))",
)
def hole_conductance(*, holes: int, hole_m: float, plate_m: float, viscosity_Pa_s: float) -> float:
    """How easily oil creeps through a piston’s holes, in m³/(Pa·s); the flow at the ends counts too."""
    require_positive(holes=holes, hole_m=hole_m, plate_m=plate_m, viscosity_Pa_s=viscosity_Pa_s)
    length_m = plate_m + 3.0 * math.pi * hole_m / 16.0
    return holes * math.pi * hole_m**4 / (128.0 * viscosity_Pa_s * length_m)


@formula(source="viscous-flow-textbook", where="ex. 6.4 (ring gap): G = π·D·c³/(12·μ·t)")
def gap_conductance(*, bore_m: float, gap_m: float, plate_m: float, viscosity_Pa_s: float) -> float:
    """How easily oil creeps past the piston’s rim, in m³/(Pa·s)."""
    require_positive(bore_m=bore_m, plate_m=plate_m, viscosity_Pa_s=viscosity_Pa_s)
    require_not_negative(gap_m=gap_m)
    return math.pi * bore_m * gap_m**3 / (12.0 * viscosity_Pa_s * plate_m)


def displaced_area(*, bore_m: float, rod_m: float) -> float:
    """The area that pushes oil through the piston both ways: bore less rod. Square metres."""
    require_positive(bore_m=bore_m, rod_m=rod_m)
    if rod_m >= bore_m:
        raise ImpossibleInput(
            "The shock’s shaft is as thick as its bore.", "Give the bore first: 12 mm and 3 mm."
        )
    return math.pi / 4.0 * (bore_m**2 - rod_m**2)


@formula(source="piston-flow-balance", where="c = A²/(G_holes + G_gap)")
def shock_damping(*, area_m2: float, holes_m3_Pa_s: float, gap_m3_Pa_s: float) -> float:
    """The damping of a shock at slow speed, in N·s/m."""
    require_positive(area_m2=area_m2, holes_m3_Pa_s=holes_m3_Pa_s)
    return area_m2**2 / (holes_m3_Pa_s + gap_m3_Pa_s)


@formula(
    source="piston-flow-balance",
    where="viscous drop plus ½·ρ·K·(Q/A_holes)², K 1.2 to 2.7 from memory",
    speed_m_s=Span(0.0, 1.0),
)
def shock_force(
    *,
    speed_m_s: float,
    area_m2: float,
    conductance_m3_Pa_s: float,
    holes: int,
    hole_m: float,
    density_kg_m3: float,
    inertia: float,
) -> float:
    """The force of a shock at a speed, in N: the viscous part and that of hurling oil through the holes.

    The rim's flow is small and is taken through the holes for the square part; solved for the pressure.
    """
    holes_area_m2 = holes * math.pi / 4.0 * hole_m**2
    flow_m3_s = area_m2 * speed_m_s
    square = 0.5 * density_kg_m3 * inertia * (flow_m3_s / holes_area_m2) ** 2
    return area_m2 * (flow_m3_s / conductance_m3_Pa_s + square)


@formula(
    source="silicone-temperature-law",
    where="ν(T) = ν25·10^(763.1·(1/T − 1/298.15))",
    temperature_K=Span(248.15, 353.15),
)
def silicone_viscosity(*, at_25_m2_s: float, temperature_K: float) -> float:
    """The viscosity of a silicone oil at a temperature from its number at 25 °C, in m²/s."""
    require_positive(viscosity_m2_s=at_25_m2_s, temperature_K=temperature_K)
    return at_25_m2_s * float(10.0 ** (763.1 * (1.0 / temperature_K - 1.0 / 298.15)))


@formula(source="oil-mixing-rules", where="ν1^(1 − x)·ν2^x; measured on petroleum, not on silicone")
def mixed_viscosity(*, thin_m2_s: float, thick_m2_s: float, share_of_thick: float) -> float:
    """About the viscosity of two silicone oils mixed, at the same temperature, in m²/s."""
    require_positive(thin_m2_s=thin_m2_s, thick_m2_s=thick_m2_s)
    if not 0.0 <= share_of_thick <= 1.0:
        raise ImpossibleInput(
            f"A share of {share_of_thick:g} cannot be.", "Give 0 to 1: 0.5 is half and half."
        )
    return float(thin_m2_s ** (1.0 - share_of_thick) * thick_m2_s**share_of_thick)


@formula(source="oil-mixing-rules", where="the same, solved for the share")
def share_for(*, thin_m2_s: float, thick_m2_s: float, wanted_m2_s: float) -> float:
    """How much of the thick oil a mix needs, 0 to 1."""
    if not thin_m2_s < wanted_m2_s < thick_m2_s:
        raise ImpossibleInput(
            f"{wanted_m2_s * 1e6:g} cSt does not lie between {thin_m2_s * 1e6:g} and {thick_m2_s * 1e6:g}.",
            "Mix a thinner with a thicker oil.",
        )
    return math.log(wanted_m2_s / thin_m2_s) / math.log(thick_m2_s / thin_m2_s)


@formula(source="wire-bar-beam", where="1/k = a²·L/(2·G·J) + a³/(3·E·I), J = π·d⁴/32, I = J/2")
def bar_end_rate(
    *,
    wire_m: float,
    length_m: float,
    arm_m: float,
    shear_Pa: float = STEEL_SHEAR_Pa,
    young_Pa: float = STEEL_YOUNG_Pa,
) -> float:
    """The rate of an anti-roll bar at each end when they move opposite ways, in N/m."""
    require_positive(wire_m=wire_m, length_m=length_m, arm_m=arm_m)
    polar_m4 = math.pi * wire_m**4 / 32.0
    twist = arm_m**2 * length_m / (2.0 * shear_Pa * polar_m4)
    bend = arm_m**3 / (3.0 * young_Pa * polar_m4 / 2.0)
    return 1.0 / (twist + bend)


@formula(source="corner-force-balance", where="springs k_w·t²/2; bar k·MR²·t²/2")
def roll_stiffness(*, end_rate_N_m: float, ratio: float, track_m: float) -> float:
    """How much an axle resists roll through springs or bar, in N·m/rad; `ratio` 1 for a rate at the wheel."""
    require_positive(end_rate_N_m=end_rate_N_m, track_m=track_m)
    return end_rate_N_m * ratio**2 * track_m**2 / 2.0


@formula(source="khurmi-gupta-hooke-joint", where="ch. 9, ex. 9.4 and 9.5: 1/cos β − cos β")
def joint_ripple(*, bend_rad: float) -> float:
    """How unevenly a single cross joint turns, as a share of its speed: greatest less smallest."""
    if not abs(bend_rad) < math.pi / 2.0:
        raise ImpossibleInput(
            "A joint bent to a right angle turns nothing.", "Measure span and height again."
        )
    return 1.0 / math.cos(bend_rad) - math.cos(bend_rad)


@formula(source="cross-joint-geometry", where="angle atan(z/y), plunge √(y² + z²) − y")
def shaft_at_height(*, span_m: float, height_m: float) -> tuple[float, float]:
    """The bend of a driveshaft (rad) and how far it draws out of its cups (m), its ends a height apart."""
    require_positive(span_m=span_m)
    return math.atan2(abs(height_m), span_m), math.hypot(span_m, height_m) - span_m


@formula(
    source="couette-viscometer", where="Massey ex. 6.6, T = C·μ·ω; weight on a thread: C·μ = m·g·R²/(2v)"
)
def diff_drag_of_fall(*, mass_kg: float, wheel_radius_m: float, fall_m_s: float) -> float:
    """The oil drag of a gear diff in N·m·s, from a weight on a thread round one wheel that falls steadily.

    Spur held, battery out; the other wheel turns back as fast.
    """
    require_positive(mass_kg=mass_kg, wheel_radius_m=wheel_radius_m, fall_m_s=fall_m_s)
    return mass_kg * 9.81 * wheel_radius_m**2 / (2.0 * fall_m_s)


@formula(source="corner-geometry", where="Δω = v·t/(R·r)")
def corner_speed_difference(*, speed_m_s: float, track_m: float, radius_m: float, wheel_m: float) -> float:
    """How much faster the outer wheel turns than the inner one in a corner, in rad/s."""
    require_positive(radius_m=radius_m, wheel_radius_m=wheel_m, track_m=track_m)
    return speed_m_s * track_m / (radius_m * wheel_m)
