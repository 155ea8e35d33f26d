"""The forms of a bench sheet: what it is asked for, what was treated, what is taken back."""

from __future__ import annotations

from urllib.parse import quote, urlencode
from uuid import UUID

from pydantic import BaseModel

from snugfast.usecases.bench.sheet import Asked
from snugfast.usecases.bench.sheet_asked import read_asked


def sheet_of(name: str) -> str:
    """The address that makes the usual sheet of one car."""
    return f"/sheet?car={quote(name)}&minutes=20&make=1"


class AskForm(BaseModel):
    """What a sheet is asked for; all of it stands in the address."""

    car: list[str] = []
    minutes: str = "20"
    until: str = "outing"
    packs: str = ""
    wet: str = ""
    ground: str = ""
    air: str = ""
    just_ran: bool = False
    in_field: bool = False
    learner: bool = False
    make: str = ""
    kept: str = ""  # what was saved on the way here, so that the page can say so

    def asked(self) -> Asked:
        return read_asked(
            cars=tuple(self.car),
            minutes=self.minutes,
            until=self.until,
            packs=self.packs,
            wet=self.wet,
            ground=self.ground,
            air=self.air,
            just_ran=self.just_ran,
            in_field=self.in_field,
            learner=self.learner,
        )

    def for_minutes(self, minutes: float) -> str:
        """The address of the same question for another length."""
        return self.model_copy(update={"minutes": f"{minutes:g}"}).to_make

    @property
    def to_make(self) -> str:
        """The address that makes a sheet of this question."""
        return f"/sheet?{self.query}&make=1"

    @property
    def query(self) -> str:
        """The question as the end of an address."""
        said = {name: value for name, value in self.model_dump(exclude={"make", "kept"}).items() if value}
        return urlencode(said, doseq=True)


class TreatedForm(BaseModel):
    """A treatment said to be done."""

    id: UUID | None = None
    car: str = ""
    treatment: str = ""


class UndoForm(BaseModel):
    """Answers that are taken back."""

    entry: list[UUID] = []
    round: str = ""
