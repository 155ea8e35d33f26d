"""The tools and hardware for one car or for all: a list to print and tick."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Self

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from snugfast.usecases.mechanics.tool_kit import ToolKit, tool_kit
from snugfast.web.bench import TheWorkshop
from snugfast.web.figure_lines import RestsOn, rests_on
from snugfast.web.numbers import count
from snugfast.web.showing import show

pages = APIRouter()


@dataclass(frozen=True, slots=True)
class Piece:
    """One kind of screw or nut."""

    name: str
    count: int
    keep: str
    tool: str
    by_car: str


@dataclass(frozen=True, slots=True)
class KitPage:
    """The smallest kit, and what to keep in the box."""

    cars: str
    tools: tuple[tuple[str, str, str], ...]  # name, what it turns, how many that is
    keys: str
    per_car: tuple[tuple[str, tuple[str, ...]], ...]
    pieces: tuple[Piece, ...]
    sources: tuple[RestsOn, ...]

    @classmethod
    def of(cls, kit: ToolKit) -> Self:
        most, total = kit.hex_keys[:3], sum(number for _, number in kit.hex_keys)
        sizes = ", ".join(f"{size:g}" for size, _ in sorted(most))
        served = sum(number for _, number in most)
        return cls(
            cars=", ".join(kit.cars) or "no car yet",
            tools=tuple(
                (
                    tool.name,
                    ", ".join(turn for turn in tool.turns if turn != tool.name),
                    count(tool.count, "place"),
                )
                for tool in kit.tools
            ),
            keys=f"Keys {sizes} mm turn {served} of {total} hex-key screws." if most else "",
            per_car=tuple((one.car, tuple(tool.name for tool in one.tools)) for one in kit.per_car),
            pieces=tuple(
                Piece(
                    piece.name,
                    piece.count,
                    f"{piece.keep.value:.0f}",
                    piece.tool,
                    ", ".join(f"{car} {number}" for car, number in piece.by_car),
                )
                for piece in kit.hardware
            ),
            sources=rests_on(kit.sources),
        )


@pages.get("/kit")
def kit(
    request: Request, workshop: TheWorkshop, car: Annotated[list[str] | None, Query()] = None
) -> Response:
    page = KitPage.of(tool_kit(workshop, car or ()))
    return show(request, "mechanics/kit.html", page, title="Tools and hardware", here="home")
