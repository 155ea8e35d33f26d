"""Wheels and tyres of a twin: how large, how heavy, how much they grow."""

from __future__ import annotations

from snugfast.core.figures import Figure, Origin
from snugfast.physics.powertrain import tyres
from snugfast.usecases.twin import tables
from snugfast.usecases.twin.build_read import BuildRead
from snugfast.usecases.twin.tables import CarKind, banded, number, origin_of, taken


def tyre_outside(read: BuildRead) -> float:
    """The outside of the tyres in m. Raises NotKnown when the build does not say it."""
    outer_mm = read.needed("tyre", "outer_mm", "how large the tyres are")
    return read.said("outside of the tyres", outer_mm * 1e-3, "m").value


def tyre_law(read: BuildRead, tyre_m: float) -> tyres.Tyre:
    """How the tyres roll and grow, from what their words say of them."""
    words = " ".join(place.part for place in read.build.of_role("tyre"))
    held = "belted" if "banded" in words or "belted" in words else "unbelted"
    rubber = tables.document("materials")["rubber"]
    stiff_Pa = rubber["belted_Pa" if held == "belted" else "soft_unbelted_Pa"]["value"]
    growth = rubber[f"most_growth_{held}"]
    read.note(
        "most that the tyres grow",
        Figure(
            growth["value"],
            "1",
            growth["low"],
            growth["high"],
            (Origin(growth["source"], growth["where"]),),
        ),
        "guessed: tyres with a belt hardly grow",
        True,
    )
    return tyres.Tyre(
        tyre_m / 2.0,
        growth_s2_m2=rubber["density_kg_m3"]["value"] / stiff_Pa,
        growth_bound=growth["value"],
    )


def wheel_kg(kind: CarKind, tyre_m: float) -> Figure:
    """One wheel with its tyre, guessed from the kind of car and the tyre's size."""
    one = banded(kind.cells, "wheel", "kg", origin_of("car_kinds"), ending="_kg")
    assert one.low is not None and one.high is not None
    grown = (tyre_m / number(kind.cells, "tyre_m")) ** taken("wheel", "mass_exponent").value
    return Figure(one.value * grown, "kg", low=one.low * grown, high=one.high * grown, origins=one.origins)


def wheel_inertia(one_kg: float, tyre_m: float) -> float:
    """Four wheels, most of the mass near the rim. kg·m²."""
    return 4.0 * taken("wheel", "hoop_share").value * one_kg * (tyre_m / 2.0) ** 2
