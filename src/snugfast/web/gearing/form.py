"""What is asked about gearing, as it is typed on a page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pydantic import BaseModel

if TYPE_CHECKING:
    from snugfast.usecases.gearing.said import GearingSaid


class GearingForm(BaseModel):
    """What is asked about gearing, as it is typed."""

    style: str = ""
    ground: str = ""
    pinions: str = ""
    spurs: str = ""
    tyre: str = ""
    ambient: str = ""
    pack: str = ""
    to: str = ""
    internal: str = ""
    rung: str = ""

    def said(self, car: str) -> GearingSaid:
        """The question about a car; which rung to show is none of it."""
        from snugfast.usecases.gearing.said import GearingSaid

        return GearingSaid(car, **self.model_dump(exclude={"rung"}))
