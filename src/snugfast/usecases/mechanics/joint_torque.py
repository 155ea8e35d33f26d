"""How tight one joint may be: what the build, the tables and the person say, with where each comes from."""

from __future__ import annotations

from snugfast.core.errors import BadInput
from snugfast.core.figures import Figure, Origin
from snugfast.core.units import Kind, read_quantity
from snugfast.physics.joints.fasteners import (
    NO_FIGURE,
    Drive,
    Friction,
    JointLimit,
    Screw,
    Seat,
    ThreadedPart,
    joint_limit,
)
from snugfast.physics.joints.lock_nuts import InsertDrag, wrench_torque
from snugfast.physics.joints.thread_torque import (
    head_friction_diameter,
    hex_key_torque,
    internal_thread_shear_area,
    proof_load,
    reusable_preload,
    stress_area,
    tightening_torque,
)
from snugfast.physics.validation import check_length
from snugfast.usecases.mechanics.bench_estimates import SAID
from snugfast.usecases.mechanics.joint_parts import JointParts, JointSaid, material_row
from snugfast.usecases.mechanics.set_screw_seating import chart_seating, seating
from snugfast.usecases.mechanics.tables import Cells, from_table, number, row_of, text, the_number, the_row
from snugfast.usecases.mechanics.thread_lock_advice import advise_thread_lock
from snugfast.usecases.shared.citing import rests_on

MPa = 1e6
# Joints whose torque is not what matters, or is limited by what no table knows: said in words, by role.
BY_FEEL = {
    "slipper_nut": "It sets the slip and has no torque: turn it by feel, in eighths of a turn.",
}
HOLD_THE_HORN = "Hold the horn while you turn, never the servo: its gears give before the screw does."
WHEEL_NUT_BY_FEEL = "No figure is known for this nut: firm, and the wheel still spins freely."
WEAKEST_CLASS = "8.8"
CLASS_NOT_SAID = Origin(
    "elicited-mechanics",
    "strength class not entered: taken as 8.8, the weakest that socket screws are sold in",
)
METAL_THREAD = "aluminium 6061-T6"
METAL_NOT_SAID = Origin("elicited-mechanics", "metal not entered: taken as aluminium, the softest usual one")
CONE_AS_FLAT = Origin(
    "elicited-mechanics",
    "a countersunk head is reckoned as a flat one 1.8 diameters wide; its cone rubs more",
)
COUNTERSUNK_DIAMETERS = 1.8


class Reckoning:
    """The torque of one joint from what the build, the tables and the person say, with its origins."""

    def __init__(self, parts: JointParts, said: JointSaid) -> None:
        self.parts = parts
        self.said = said
        self.origins: list[Origin] = []
        self.engagement: Figure | None = None

    def limit(self) -> JointLimit | None:
        """The limit; None where the tables know too little even to bound it."""
        parts = self.parts
        thread, width_m = parts.thread_row, self._bearing_width()
        by_feel = parts.is_turnbuckle or parts.is_set_screw or parts.place.role in BY_FEEL
        if thread is None or width_m is None or by_feel:
            return None
        self._rest(from_table("metric_threads", thread))
        return joint_limit(
            screw=self._screw(thread),
            seat=self._seat(thread, width_m),
            friction=self._friction(),
            threaded=self._threaded(thread),
            drive=self._drive(),
        )

    def torque(self, limit: JointLimit | None) -> Figure | None:
        """The torque to tighten with; None where no figure is known."""
        if limit is None:
            return seating(self.parts) if self.parts.is_set_screw and self.parts.grips_a_shaft else None
        if limit.torque_Nm is None:
            return None
        return Figure(limit.torque_Nm, "N·m", low=limit.low_Nm, high=limit.high_Nm, origins=self._all())

    def never_above(self, limit: JointLimit | None) -> Figure | None:
        """What bounds the torque even where no figure is known."""
        if limit is None or limit.never_above_Nm is None:
            return None
        return Figure(limit.never_above_Nm, "N·m", origins=self._all())

    def pull(self, limit: JointLimit | None) -> Figure | None:
        """The pull that the torque leaves in the screw."""
        if limit is None or limit.preload_N is None:
            return None
        return Figure(limit.preload_N, "N", origins=self._all())

    def tight(self, limit: JointLimit | None) -> str:
        """The one sentence about how tight."""
        parts = self.parts
        if parts.is_turnbuckle:
            return "Nothing is tightened here: the middle is turned to set the length."
        if parts.place.role in BY_FEEL:
            return BY_FEEL[parts.place.role]
        if parts.is_set_screw:
            if parts.into_plastic:
                return "Until it touches what it holds and no more: it sits in plastic."
            if not parts.grips_a_shaft:
                return "It stops a pin and grips no shaft: until it bears on the pin, then a touch."
            seat, chart = seating(parts), chart_seating(parts)
            if seat is None or chart is None:
                return "No figure is known: stop when the short end of the key starts to flex."
            return (
                f"Tighten to {seat.value:.2g} N·m at most: the short end of the key just starts to flex. "
                f"(Charts say {chart.value:.2g}, for hardened screws and new keys.)"
            )
        if parts.is_wheel_nut and (limit is None or limit.torque_Nm is None):
            return WHEEL_NUT_BY_FEEL
        if limit is None:
            return NO_FIGURE
        if parts.place.role == "servo_horn":
            return f"{limit.sentence} {HOLD_THE_HORN}"
        return self._with_drag(limit) if parts.is_nut else limit.sentence

    def _with_drag(self, limit: JointLimit) -> str:
        """What a torque wrench is set to: turning the insert takes its share before anything is clamped."""
        drag = insert_drag(self.parts)
        if drag is None or limit.torque_Nm is None or limit.gives_first is None:
            return limit.sentence
        worn, fresh = (
            wrench_torque(seating_Nm=limit.torque_Nm, drag_Nm=drag_Nm)
            for drag_Nm in (drag.fifth_off_least_Nm, drag.first_on_most_Nm)
        )
        return (
            f"Tighten until a torque wrench shows {worn:.2g} N·m with a worn nut, {fresh:.2g} "
            "with a new one. "
            f"{limit.torque_Nm:.2g} of it clamps, the rest turns the nylon; "
            f"{limit.gives_first.value} gives first."
        )

    def _all(self) -> tuple[Origin, ...]:
        return (*dict.fromkeys(self.origins), *rests_on(tightening_torque, head_friction_diameter))

    def _rest(self, *origins: Origin) -> None:
        self.origins += origins

    def _screw(self, thread: Cells) -> Screw:
        said = self.said.strength.strip().upper()
        built = str(self.parts.place.sizes.get("strength_class", ""))
        word = said or built
        if not word and "stainless" in self.parts.place.material:
            proof_MPa = None  # the classes of stainless screws have no proof stress
        else:
            row = the_row("strength_classes", strength_class=word or WEAKEST_CLASS)
            proof_MPa = number(row, "proof_MPa")
            of_build = Origin(self.parts.place.pedigree.source, "strength class in the build")
            whence = SAID if said else of_build if built else CLASS_NOT_SAID
            self._rest(whence, from_table("strength_classes", row))
        self._rest(*rests_on(stress_area, proof_load, reusable_preload))
        return Screw(
            diameter_m=the_number(thread, "diameter_mm") * 1e-3,
            pitch_m=the_number(thread, "pitch_mm") * 1e-3,
            proof_stress_Pa=proof_MPa * MPa if proof_MPa is not None else None,
        )

    def _seat(self, thread: Cells, width_m: float) -> Seat:
        row = material_row(self.parts.under_head)
        pressure_MPa = number(row, "lasting_pressure_MPa")
        if row is not None:
            self._rest(from_table("part_materials", row))
        return Seat(
            head_diameter_m=width_m,
            hole_diameter_m=the_number(thread, "hole_normal_mm") * 1e-3,
            allowable_pressure_Pa=pressure_MPa * MPa if pressure_MPa is not None else None,
        )

    def _bearing_width(self) -> float | None:
        """How wide the face is that bears: said, by the head's standard, or across the flats."""
        parts = self.parts
        if self.said.head_width.strip():
            width_m = read_quantity(
                self.said.head_width, Kind.LENGTH, default_unit="mm", where="width of the head"
            )
            check_length("head", width_m)
            self._rest(SAID)
            return width_m
        flange_mm = parts.place.sizes.get("flange_mm")
        if isinstance(flange_mm, float):
            self._rest(Origin(parts.place.pedigree.source, "flange in the build"))
            return flange_mm * 1e-3
        if parts.is_nut and parts.wrench_mm is not None:
            self._rest(Origin(parts.place.pedigree.source, "width across the flats, without a flange"))
            return parts.wrench_mm * 1e-3
        head_mm = number(parts.head_row, "head_diameter_mm")
        if head_mm is not None:
            self._rest(from_table("screw_heads", parts.head_row))
            return head_mm * 1e-3
        if "countersunk" in parts.head and parts.thread_row is not None:
            self._rest(CONE_AS_FLAT)
            return COUNTERSUNK_DIAMETERS * the_number(parts.thread_row, "diameter_mm") * 1e-3
        return None

    def _friction(self) -> Friction:
        word = self.said.state.strip().casefold()
        wet = word.startswith(("oil", "wet", "lock", "greas")) or (
            not word and advise_thread_lock(self.parts).use
        )
        if word and not wet and word != "dry":
            raise BadInput(f"“{self.said.state}” is no state of a thread.", "Write dry or oiled.")
        condition = "oiled or thread-locked" if wet else "dry" if word else "unknown"
        row = the_row("friction", condition=condition)
        self._rest(from_table("friction", row))
        state = "oiled" if wet and word and not word.startswith("lock") else "with thread-lock"
        state = state if wet else "dry" if word else ""
        return Friction(
            the_number(row, "low"), the_number(row, "usual"), the_number(row, "high"), state=state
        )

    def _threaded(self, thread: Cells) -> ThreadedPart | None:
        """What the screw goes into; None for a nut of its own class."""
        parts = self.parts
        if parts.is_nut or "nut" in parts.place.into:
            return None
        if parts.into_plastic:
            row = row_of("thread_engagement", part="plastic boss machine screw")
        else:
            row = row_of("thread_engagement", part="aluminium")
        self.engagement = self._engagement(thread, row)
        if parts.into_plastic:
            return ThreadedPart(self.engagement.value, None)
        metal = the_row("part_materials", material=METAL_THREAD)
        self._rest(
            METAL_NOT_SAID,
            from_table("part_materials", metal),
            *self.engagement.origins,
            *rests_on(internal_thread_shear_area),
        )
        return ThreadedPart(self.engagement.value, the_number(metal, "shear_MPa") * MPa)

    def _engagement(self, thread: Cells, row: Cells | None) -> Figure:
        """The length of thread in use: said, or the least that is good practice, within the screw."""
        diameter_m = the_number(thread, "diameter_mm") * 1e-3
        if self.said.engagement.strip():
            length_m = read_quantity(
                self.said.engagement, Kind.LENGTH, default_unit="mm", where="thread in use"
            )
            check_length("thread in use", length_m)
            return Figure(length_m, "m", origins=(SAID,))
        assert row is not None
        length = self.parts.place.sizes.get("length_mm")
        least_m = the_number(row, "least_diameters") * diameter_m
        most_m = the_number(row, "most_diameters") * diameter_m
        screw_m = length * 1e-3 if isinstance(length, float) else most_m
        return Figure(
            min(least_m, screw_m),
            "m",
            low=min(least_m, screw_m),
            high=min(most_m, screw_m),
            origins=(from_table("thread_engagement", row),),
        )

    def _key_row(self) -> Cells | None:
        return row_of("hex_key_torques", key_mm=self.parts.key_mm) if self.parts.key_mm else None

    def _drive(self) -> Drive | None:
        """What turns it: a key in its socket; None for a nut, whose wrench is never the weakest."""
        parts = self.parts
        if parts.is_nut:
            return None
        row = self._key_row()
        key_Nm = number(row, "yield_torque_Nm")
        if key_Nm is None:
            return Drive(None)
        self._rest(from_table("hex_key_torques", row), *rests_on(hex_key_torque))
        column = f"{text(parts.head_row, 'head')}_Nm"
        if column not in ("button_Nm", "countersunk_Nm"):
            return Drive(key_Nm)
        seating_row = row_of("seating_torques", size=parts.thread)
        shallow_Nm = number(seating_row, column)
        self._rest(from_table("seating_torques", seating_row))
        return Drive(None if shallow_Nm is None else min(key_Nm, shallow_Nm))


def insert_drag(parts: JointParts) -> InsertDrag | None:
    """How a nylon-insert nut of this thread drags; None for other nuts and unknown threads."""
    row = row_of("insert_nut_drag", size=parts.thread)
    if row is None or not parts.has_nylon_insert:
        return None
    return InsertDrag(
        *(the_number(row, name) for name in ("first_on_most_Nm", "first_off_least_Nm", "fifth_off_least_Nm"))
    )
