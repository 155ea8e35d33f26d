"""The mesh of a car: how it stands after a hit, how it should stand, and how to set it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from snugfast.core.errors import BadInput
from snugfast.core.figures import Figure, Origin
from snugfast.core.units import Kind, read_quantity
from snugfast.core.ways_out import Action, WayOut
from snugfast.physics.gears.gears import (
    ADDENDUM,
    contact_ratio,
    fewest_teeth_without_undercut,
    least_backlash,
    normal_backlash,
    operating_pressure_angle,
    reference_centre_distance,
)
from snugfast.physics.gears.mesh import (
    Mesh,
    MeshVerdict,
    Stripped,
    backlash_of_rim_play,
    judge_mesh,
    mesh_felt_at_rim,
    mesh_set_with_paper,
    mesh_with_backlash,
)
from snugfast.physics.gears.tooth_pitch import PitchComparison, PitchMatch, compare_pitches
from snugfast.physics.gears.tooth_strength import (
    Finish,
    FormFactorRow,
    form_factor,
    lewis_force,
    lewis_stress,
    load_tooth,
    velocity_factor,
)
from snugfast.physics.validation import check_length
from snugfast.usecases.mechanics.gears_said import GearSaid, gear_of, is_metal, is_plastic, plastic_row_word
from snugfast.usecases.mechanics.tables import from_table, mechanics, number, row_of, the_number
from snugfast.usecases.shared.cautions import Caution, cautioned, cautions_of
from snugfast.usecases.shared.citing import Cited, cited, figure, rests_on
from snugfast.usecases.shared.lookup import car_and_build
from snugfast.usecases.shared.workshop import Workshop

OFFICE_PAPER_m = 0.1e-3
PAPER = Origin("elicited-mechanics", "office paper of 80 g/m² is about 0.1 mm thick")
# Our own: half as much again as the least play leaves room for gears that do not run true, three times as
# much is still quiet.
WANTED_OF_LEAST, MOST_OF_LEAST = 1.5, 3.0
WANTED = Origin("elicited-mechanics", "one and a half times the least play, up to three times")
CAUTIONS = ("power-off", "hot-parts", "local-rules")
FEWEST_RATED = 10  # teeth, where the form-factor table begins
MPa = 1e6


@dataclass(frozen=True, slots=True)
class MeshSaid:
    """What a person says about a mesh, every field a text; empty means not said."""

    car: str
    shift: str = ""  # how far the motor has moved away from the spur gear; negative towards it
    play: str = ""  # felt at the rim of the spur gear, the pinion held
    paper: str = ""  # thickness of the strip
    pinion: str = ""  # teeth
    spur: str = ""
    pitch: str = ""  # of both
    torque: str = ""  # at the pinion
    face: str = ""  # width of the narrower gear
    speed: str = ""  # of the pinion


@dataclass(frozen=True, slots=True)
class MeshAt:
    """The mesh at one distance of its shafts."""

    mesh: Mesh
    verdict: MeshVerdict
    drivable: bool
    sentence: str
    centre_distance: Figure
    opening: Figure  # beyond where the pitch circles touch
    backlash: Figure  # at right angles to the flanks
    rim_play: Figure  # the same, felt at the rim of the spur gear
    contact_ratio: Figure
    pressure_angle: Figure
    tip_clearance: Figure


@dataclass(frozen=True, slots=True)
class PaperWay:
    """What a strip of paper sets: the play lies between the two."""

    thickness: Figure
    play: Figure
    gives: tuple[MeshAt, MeshAt]
    sentence: str


@dataclass(frozen=True, slots=True)
class ToothUse:
    """How hard a torque works one gear's teeth, one tooth taking it all at its tip."""

    gear: str
    stress: Figure
    allowable: Figure
    share: Figure
    sentence: str


@dataclass(frozen=True, slots=True)
class MeshGuide:
    """Everything about one mesh. `now` is None when nobody said how it stands."""

    car: str
    pinion: GearSaid
    spur: GearSaid
    pitches: PitchComparison
    now: MeshAt | None
    advice: str  # how the play now compares with what is wanted; empty when nobody said how it stands
    move: Figure | None  # how far the motor goes, away from the spur gear or with a minus nearer
    wanted: MeshAt
    wanted_play: Figure
    strips_first: Stripped | None
    strips_sentence: str
    undercut: str
    paper: PaperWay
    teeth: tuple[ToothUse, ...]
    steps: tuple[str, ...]
    cautions: tuple[Caution, ...]
    sources: tuple[Cited, ...] = ()


@cautioned
def mesh_guide(workshop: Workshop, said: MeshSaid) -> MeshGuide:
    """The mesh of a car, now and as it should be.

    Raises BadInput for words that are no sizes, ImpossibleInput for gears that cannot be or cannot mesh.
    """
    car, build = car_and_build(workshop, said.car)
    pinion = gear_of(build, "pinion", teeth=said.pinion, pitch=said.pitch)
    spur = gear_of(build, "spur", teeth=said.spur, pitch=said.pitch)
    pitches = compare_pitches(module_1_m=pinion.gear.module_m, module_2_m=spur.gear.module_m)
    if pitches.match is PitchMatch.REFUSED:
        raise BadInput(pitches.sentence, f"The pinion says {pinion.pitch}, the spur gear {spur.pitch}.")
    play = _wanted_play(pinion, spur)
    wanted = mesh_with_backlash(pinion.gear, spur.gear, normal_backlash_m=play.value)
    now = _now(said, wanted)
    strips, strips_sentence = _strips_first(pinion, spur)
    guide = MeshGuide(
        car=car.name,
        pinion=pinion,
        spur=spur,
        pitches=pitches,
        now=_as_it_stands(mesh_at(now), play) if now is not None else None,
        advice=_advice(mesh_at(now), play) if now is not None else "",
        move=_move(mesh_at(now), play) if now is not None else None,
        wanted=mesh_at(wanted),
        wanted_play=play,
        strips_first=strips,
        strips_sentence=strips_sentence,
        undercut=_undercut(pinion),
        paper=_paper_way(said, pinion, spur),
        teeth=_tooth_uses(said, pinion, spur),
        steps=_steps(mesh_at(wanted), play),
        cautions=cautions_of(workshop.facts, CAUTIONS),
    )
    return replace(guide, sources=cited(workshop.facts, guide))


def mesh_at(mesh: Mesh) -> MeshAt:
    """One setting of a mesh, judged and in figures."""
    state = judge_mesh(mesh)
    geometry = rests_on(operating_pressure_angle, reference_centre_distance)
    play = rests_on(normal_backlash)
    return MeshAt(
        mesh=mesh,
        verdict=state.verdict,
        drivable=state.drivable,
        sentence=state.sentence,
        centre_distance=Figure(mesh.centre_distance_m, "m", origins=geometry),
        opening=Figure(mesh.opening_m, "m", origins=geometry),
        backlash=Figure(mesh.normal_backlash_m, "m", origins=play),
        rim_play=Figure(
            mesh.rim_play(rim_radius_m=_rim_m(mesh)),
            "m",
            origins=(*play, *rests_on(backlash_of_rim_play)),
        ),
        contact_ratio=Figure(mesh.contact_ratio, "1", origins=rests_on(contact_ratio)),
        pressure_angle=Figure(mesh.pressure_angle_rad, "rad", origins=rests_on(operating_pressure_angle)),
        tip_clearance=Figure(mesh.tip_clearance_m, "m", origins=geometry),
    )


def _rim_m(mesh: Mesh) -> float:
    """Where play is felt: the tips of the spur gear."""
    return mesh.spur.tip_diameter_m / 2.0


def _wanted_play(pinion: GearSaid, spur: GearSaid) -> Figure:
    """The play to set, with the least and the most that will do."""
    module_m = (pinion.gear.module_m + spur.gear.module_m) / 2.0
    distance_m = reference_centre_distance(
        module_m=module_m, teeth_1=pinion.gear.teeth, teeth_2=spur.gear.teeth
    )
    least = figure(least_backlash, "m", centre_distance_m=distance_m, module_m=module_m)
    return Figure(
        WANTED_OF_LEAST * least.value,
        "m",
        low=least.value,
        high=MOST_OF_LEAST * least.value,
        origins=(*least.origins, WANTED),
    )


def _now(said: MeshSaid, wanted: Mesh) -> Mesh | None:
    """How it stands: from the play felt, or as it should be and then shifted."""
    if said.shift.strip() and said.play.strip():
        raise BadInput("The shift and the play both say how the mesh stands.", "Give one of the two.")
    if said.play.strip():
        play_m = _length(said.play, "play")
        if play_m > wanted.spur.module_m * math.pi:
            raise BadInput(
                f"A play of {play_m * 1e3:g} mm is more than a whole tooth.",
                "Hold the pinion still and read how far the rim of the spur gear rocks.",
            )
        return mesh_felt_at_rim(wanted.pinion, wanted.spur, rim_play_m=play_m, rim_radius_m=_rim_m(wanted))
    if said.shift.strip():
        return wanted.moved(_length(said.shift, "shift"))
    return None


def _advice(now: MeshAt, play: Figure) -> str:
    move = _move(now, play)
    if move is None:
        return "The backlash is right: leave it."
    if move.value < 0.0:
        return f"Too much backlash: move the motor {-move.value * 1e3:.2f} mm nearer."
    return f"Too little backlash: move the motor {move.value * 1e3:.2f} mm away."


def _as_it_stands(now: MeshAt, play: Figure) -> MeshAt:
    """What drives well enough is not called good beside the advice to move the motor."""
    if now.verdict is not MeshVerdict.GOOD or _move(now, play) is None:
        return now
    ratio = f"contact ratio {now.contact_ratio.value:.2f}"
    return replace(now, sentence=f"It drives ({now.backlash.value * 1e3:.2f} mm of backlash, {ratio}).")


def _move(now: MeshAt, play: Figure) -> Figure | None:
    """How far the motor goes to the backlash wanted; None where it will do as it is."""
    assert play.low is not None and play.high is not None
    if play.low <= now.backlash.value <= play.high:
        return None
    move_m = _set_to(now.mesh, play.value) - now.mesh.centre_distance_m
    return Figure(move_m, "m", origins=(*play.origins, *now.centre_distance.origins))


def _set_to(mesh: Mesh, play_m: float) -> float:
    return mesh_with_backlash(mesh.pinion, mesh.spur, normal_backlash_m=play_m).centre_distance_m


def _length(words: str, where: str) -> float:
    return read_quantity(words, Kind.LENGTH, default_unit="mm", where=where)


def _strips_first(pinion: GearSaid, spur: GearSaid) -> tuple[Stripped | None, str]:
    """Which gear's teeth give first: the load on both is the same, their strength is not."""
    if is_metal(pinion.material) and is_plastic(spur.material):
        return Stripped.SPUR, f"The spur gear strips first: {spur.material} against {pinion.material}."
    if is_plastic(pinion.material) and is_metal(spur.material):
        return Stripped.PINION, f"The pinion strips first: {pinion.material} against {spur.material}."
    if not pinion.material or pinion.material != spur.material:
        return None, "Which gear strips first is not known: the build does not say what both are made of."
    if min(pinion.gear.teeth, spur.gear.teeth) < FEWEST_RATED:
        return None, f"Which gear strips first is not known: no table rates fewer than {FEWEST_RATED} teeth."
    mesh = Mesh(pinion.gear, spur.gear, 1.0)  # the distance does not matter to the strength of a tooth
    forces = (_force_N(one, MPa, 1e-3) for one in (pinion, spur))
    state = judge_mesh(mesh, pinion_tooth_N=next(forces), spur_tooth_N=next(forces))
    first = state.strips_first
    return first, f"Both are of {pinion.material}: {first.value if first else 'neither'} strips first."


def _force_N(said: GearSaid, allowable_Pa: float, face_m: float) -> float:
    return lewis_force(
        allowable_Pa=allowable_Pa,
        face_width_m=face_m,
        module_m=said.gear.module_m,
        form_factor=form_factor(said.gear.teeth, _form_factors()),
    )


def _form_factors() -> list[FormFactorRow]:
    rows = mechanics("lewis_form_factors").rows
    return [FormFactorRow(int(the_number(row, "teeth")), the_number(row, "form_factor")) for row in rows]


def _undercut(pinion: GearSaid) -> str:
    if not pinion.gear.is_undercut:
        return ""
    least = fewest_teeth_without_undercut(
        pressure_angle_rad=pinion.gear.pressure_angle_rad, addendum=ADDENDUM
    )
    if pinion.gear.teeth >= FEWEST_USUAL:
        return ""  # makers cut such pinions with a shift; nothing is wrong with one
    return (
        f"With {pinion.gear.teeth} teeth the pinion is thin at the root unless it was cut with a shift: "
        f"a plain one needs {math.ceil(least)}."
    )


def _paper_way(said: MeshSaid, pinion: GearSaid, spur: GearSaid) -> PaperWay:
    thickness_m = _length(said.paper, "paper") if said.paper.strip() else OFFICE_PAPER_m
    if not 0.02e-3 <= thickness_m <= 0.5e-3:
        raise BadInput(
            f"Paper of {thickness_m * 1e3:g} mm is no paper.",
            "Office paper is about 0.1 mm; measure ten sheets together.",
        )
    setting = mesh_set_with_paper(pinion.gear, spur.gear, paper_thickness_m=thickness_m)
    one, both = mesh_at(setting.one_flank), mesh_at(setting.both_flanks)
    play = Figure(
        one.backlash.value,
        "m",
        low=one.backlash.value,
        high=both.backlash.value,
        origins=one.backlash.origins,
    )
    sentence = (
        f"A strip of {thickness_m * 1e3:g} mm sets {one.backlash.value * 1e3:.2f} to "
        f"{both.backlash.value * 1e3:.2f} mm of backlash, contact ratio {both.contact_ratio.value:.2f} to "
        f"{one.contact_ratio.value:.2f}: the less the paper is crushed, the more."
    )
    return PaperWay(Figure(thickness_m, "m", origins=(PAPER,)), play, (one, both), sentence)


FEWEST_USUAL = 9  # teeth of the smallest pinions in common use


def _tooth_uses(said: MeshSaid, pinion: GearSaid, spur: GearSaid) -> tuple[ToothUse, ...]:
    """What a torque at the pinion does to each gear whose plastic is in the table of strengths."""
    if not said.torque.strip():
        return ()
    torque_Nm = read_quantity(said.torque, Kind.TORQUE, default_unit="Nm", where="torque")
    face_m = _face_m(said, pinion, spur)
    speed_rad_s = (
        read_quantity(said.speed, Kind.ANGULAR_SPEED, default_unit="rpm", where="speed")
        if said.speed.strip()
        else 0.0
    )
    ratio = spur.gear.teeth / pinion.gear.teeth
    loads = ((pinion, torque_Nm, speed_rad_s), (spur, torque_Nm * ratio, speed_rad_s / ratio))
    uses = (_tooth_use(gear, torque, face_m, speed) for gear, torque, speed in loads)
    rated = tuple(use for use in uses if use is not None)
    if not rated:
        raise BadInput(
            "How much these teeth bear is not known: the tables rate plastic gears only, and here "
            f"{_made_of(pinion)} runs on {_made_of(spur)}.",
            "Ask without the torque.",
        )
    return rated


def _made_of(said: GearSaid) -> str:
    return said.material or "a gear of unknown material"


def _face_m(said: MeshSaid, pinion: GearSaid, spur: GearSaid) -> float:
    """The width of the narrower gear: as it was said, else as the build has both."""
    if said.face.strip():
        face_m = _length(said.face, "face")
    elif pinion.face_m is not None and spur.face_m is not None:
        face_m = min(pinion.face_m, spur.face_m)
    else:
        raise BadInput(
            "How wide the teeth are is not entered.",
            WayOut("Give the width of the narrower gear, or face_mm of both in the build", Action.GIVE_FACE),
        )
    check_length("face", face_m)
    return face_m


def _tooth_use(said: GearSaid, torque_Nm: float, face_m: float, speed_rad_s: float) -> ToothUse | None:
    row = row_of("gear_plastic_strengths", material=plastic_row_word(said.material))
    safe_MPa = number(row, "safe_bending_MPa")
    rated = is_plastic(said.material) and said.gear.teeth >= FEWEST_RATED
    if row is None or safe_MPa is None or not rated:
        return None
    load = load_tooth(
        torque_Nm=torque_Nm,
        speed_rad_s=speed_rad_s,
        pitch_diameter_m=said.gear.pitch_diameter_m,
        module_m=said.gear.module_m,
        face_width_m=face_m,
        form_factor=form_factor(said.gear.teeth, _form_factors()),
        allowable_Pa=safe_MPa * MPa,
        finish=Finish.CAST,
    )
    lewis = (*rests_on(lewis_stress, velocity_factor), from_table("lewis_form_factors"))
    allowable = (Origin("machinerys-handbook-plastics-gearing", f"safe bending stress, {row['material']}"),)
    verdict = "is overloaded" if load.share > 1.0 else "holds"
    return ToothUse(
        gear=said.name,
        stress=Figure(load.stress_Pa / MPa, "MPa", origins=lewis),
        allowable=Figure(load.allowable_Pa / MPa, "MPa", origins=allowable),
        share=Figure(load.share, "1", origins=(*lewis, *allowable)),
        sentence=(
            f"One tooth of the {said.name.lower()} taking it all at its tip {verdict}: "
            f"{load.stress_Pa / MPa:.0f} of {safe_MPa:.0f} MPa. No text has one allowable stress for plastic."
        ),
    )


def _steps(wanted: MeshAt, play: Figure) -> tuple[str, ...]:
    assert play.low is not None and play.high is not None
    at_rim = wanted.rim_play.value / wanted.backlash.value
    felt = (
        f"{play.low * at_rim * 1e3:.2f} to {play.high * at_rim * 1e3:.2f} mm of backlash is right, "
        f"{wanted.rim_play.value * 1e3:.2f} mm is the aim"
    )
    return (
        "Pack unplugged, motor cool, cover off. Loosen the motor screws until the motor just slides.",
        "Lay a strip of paper between pinion and spur gear, push the motor against it and roll it through.",
        "Tighten the motor screws in turn, a little at first so that the motor does not walk. Paper out.",
        f"Hold the pinion and rock the spur gear at its rim: {felt}.",
        "Check it at five places of the spur gear and set it at the tightest; check again when warm.",
        f"By measure: centre distance {wanted.centre_distance.value * 1e3:.2f} mm.",
    )
