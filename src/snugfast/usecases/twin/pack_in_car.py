"""The pack in a car, as its twin has it: cells in series, resistance measured or guessed, heat."""

from __future__ import annotations

from dataclasses import dataclass

from snugfast.core.errors import BadInput
from snugfast.core.figures import Figure
from snugfast.physics.packs.chemistry import Chemistry
from snugfast.physics.powertrain import cells_circuit
from snugfast.usecases.packs.tables import pack_tables
from snugfast.usecases.shared.chemistry import chemistry_of
from snugfast.usecases.twin import tables
from snugfast.usecases.twin.build_read import SAID, BuildRead
from snugfast.usecases.twin.tables import log_spread, taken

MILD_degC = 25.0  # labels of capacity and resistances are of this warmth


@dataclass(frozen=True, slots=True)
class PackChosen:
    """The pack in the car: of the workshop, or the kind the build is made for."""

    name: str
    chemistry: str
    cells: int
    capacity_Ah: float
    cell_ohm: tuple[float, ...] = ()  # measured, each cell at 25 °C; empty when nobody measured
    measured_with: str = ""
    climbed: float = 1.0  # resistance lately over that as new; 1 where nobody can tell


def cells_in_series(read: BuildRead, said: PackChosen) -> int:
    """How many cells are in series in the car, all packs together."""
    return said.cells * _in_series(read)


def pack_in(read: BuildRead, said: PackChosen) -> tuple[cells_circuit.Pack, float]:
    """The pack as the sums drive it, and how far off its resistance may be (of the logarithm).

    Raises BadInput for cells that nobody knows.
    """
    kind = tables.cell_kind(chemistry_in(said.chemistry))
    cells, capacity = cells_in_series(read, said), said.capacity_Ah
    leads = leads_ohm()
    inside, how, estimated = _cell_resistance(read, said, cells, kind.milliohm_times_ampere_hour)
    whole = Figure(
        inside.value + leads.value,
        "Ω",
        low=None if inside.low is None else inside.low + (leads.low or 0.0),
        high=None if inside.high is None else inside.high + (leads.high or 0.0),
        origins=(*inside.origins, *leads.origins),
    )
    read.note("resistance of the pack with its leads", whole, how, estimated)
    if kind.volts is not None:
        how = (
            "a published cell stands for all such cells"
            if kind.is_published
            else "an ordinary cell, charged on"
        )
        read.note("rest volts of the cells, beside the curve taken", kind.volts, how, True)
    slow_ohm = taken("pack", "slow_share").value * inside.value
    heat_J_kgK = pack_tables().value("heat", "heat_capacity_J_per_kgK")
    mass_kg = kind.kg_per_Ah * capacity * cells
    pack = cells_circuit.Pack(
        curve=kind.curve,
        series_cells=cells,
        capacity_Ah=capacity,
        resistance_ohm=whole.value,
        slow_resistance_ohm=slow_ohm,
        slow_capacitance_F=taken("pack", "slow_s").value / slow_ohm,
        heat_capacity_J_K=heat_J_kgK * mass_kg,
        cooling_W_K=taken("pack", "to_air_W_K").value * (cells * capacity / 15.0) ** (2.0 / 3.0),
    )
    return pack, log_spread(whole)


def leads_ohm() -> Figure:
    """What leads and plugs add to the cells of any pack, Ω with its band: one figure for every sum."""
    return taken("pack", "leads_ohm", "Ω")


def usable_share(pack_degC: float, climbed: float = 1.0, per_hour: float = 1.0) -> float:
    """How much of its label a pack gives at a warmth, when its resistance has climbed so many times.

    `per_hour` is how many times its charge it would give in an hour; labels are taken to be of once.

    Sag takes more on top of that in the sums; this is what a rested, patient discharge would miss too.
    """
    cold = taken("pack", "less_per_K_cold").value * max(MILD_degC - pack_degC, 0.0)
    aged = taken("pack", "less_per_climb").value * max(climbed - 1.0, 0.0)
    fast = taken("pack", "less_per_rate").value * max(per_hour - 1.0, 0.0)
    return max((1.0 - cold) * (1.0 - aged) * (1.0 - fast), taken("pack", "least_share").value)


def _in_series(read: BuildRead) -> int:
    return 2 if read.build.traits.get("packs") == "two in series" else 1


def chemistry_in(words: str) -> Chemistry:
    """The chemistry that a pack is booked as. Raises BadInput for cells that nobody knows."""
    chemistry = chemistry_of(words)
    if chemistry is None:
        raise BadInput(
            f"The car model does not know “{words}” cells.",
            f"It knows the names {', '.join(one.value for one in Chemistry)}.",
        )
    return chemistry


def _cell_resistance(
    read: BuildRead, said: PackChosen, cells: int, guess: Figure
) -> tuple[Figure, str, bool]:
    if said.cell_ohm:
        measured = sum(said.cell_ohm) * _in_series(read)
        how = f"measured, {said.measured_with or 'instrument not entered'}; leads guessed"
        return Figure(measured, "Ω", low=0.8 * measured, high=1.3 * measured, origins=(SAID,)), how, False
    per_mohm = cells * 1e-3 / said.capacity_Ah
    assert guess.low is not None and guess.high is not None
    low, likely, high = (end * per_mohm for end in (guess.low, guess.value, guess.high))
    figure = Figure(likely, "Ω", low, high, guess.origins)
    return figure, "guessed from its capacity; measure the cells", True
