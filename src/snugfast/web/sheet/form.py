"""The forms of a bench sheet: what it is asked for, what was found, what was treated."""

from __future__ import annotations

from urllib.parse import urlencode
from uuid import UUID

from pydantic import BaseModel

from snugfast.core.errors import BadInput
from snugfast.usecases.bench.sheet import Asked, SheetCheck
from snugfast.usecases.bench.sheet_asked import read_asked
from snugfast.usecases.journal.bench_answers import FAILED, SOUND, TICKED, FoundSaid


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

    @property
    def query(self) -> str:
        """The question as the end of an address."""
        said = {name: value for name, value in self.model_dump(exclude={"make"}).items() if value}
        return urlencode(said, doseq=True)


class TreatedForm(BaseModel):
    """A treatment said to be done."""

    id: UUID | None = None
    car: str = ""
    treatment: str = ""


class FoundForm(BaseModel):
    """An answer to a check, as a form sends it."""

    id: UUID | None = None
    key: str = ""
    word: str = ""
    found: list[str] = []
    failed: str = ""
    done: str = ""
    minutes: str = ""
    spent: str = ""
    noticed: str = ""

    def said(self, check: SheetCheck, id: UUID) -> FoundSaid:
        mode, _, failed = self.failed.partition("|")
        found = [words for words in self.found if words.strip()]
        if found and failed:
            raise BadInput(
                f"“{found[0]}” and “{failed}” were both chosen.",
                "Keep one of them, then the other by itself.",
            )
        words = [failed] if failed else found
        if self.word in (SOUND, TICKED):
            words = [self.word, *words]
        elif not words:
            raise BadInput("Nobody said what was found.", "Choose it from the list, or answer “sound”.")
        elif self.done:
            words = [f"{said}: {self.done}" for said in words]
        return FoundSaid(
            car=check.car_name,
            check=check.check,
            words=tuple(words),
            mode=mode if failed and words[0].startswith(FAILED) else "",
            pack=check.pack_name,
            minutes=self.minutes,
            spent=self.spent,
            noticed=self.noticed,
            id=id,
        )
