"""What people say of a pack that is not right: “puffy”, “smells sweet”, “melted plug”.

A word that is understood as harm is never lost for being another word for it. What may be a denial (“not
puffed”) is asked back, since it is read wrongly only once.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from snugfast.core.errors import BadInput
from snugfast.records.entries import PackHarm
from snugfast.usecases.shared.typed_words import read_choice

NOTHING = frozenset(
    ("nothing", "nothing found", "none", "sound", "ok", "okay", "good", "all good", "fine", "clean")
)
DENIALS = frozenset(("not", "no", "never", "isn't", "isn’t", "wasn't", "wasn’t", "without", "hardly"))

_PLUG = frozenset(("plug", "connector", "lead", "leads", "wire", "wires", "cable", "balance"))
_HURT_PLUG = frozenset(
    word
    for words in (
        "damaged broken melted burnt brown browned bare",
        "torn frayed cut loose hot soft split cracked",
    )
    for word in words.split()
)
_OF_WORD = {
    PackHarm.SWOLLEN: "puffed puffy puff puffing bloated soft squishy spongy swelled swelling swollen "
    "balloon ballooned bulge bulged bulges bulging belly pillow inflated expanded",
    PackHarm.HISSING: "hissing hiss hisses smoking smoke smokes fire flame flames burning sparks sparking",
    PackHarm.SMELL: "smell smells smelly stink stinks sweet odour odor",
    PackHarm.LEAKING: "leak leaks leaking leaked sticky",
    PackHarm.PUNCTURED: "punctured puncture pierced stabbed hole holed cut split nail screw",
    PackHarm.DENTED: "dent dents dented crushed squashed bent creased deformed",
    PackHarm.IMMERSED: "dunked drowned submerged underwater puddle flooded",
    PackHarm.UNDER_WRAP: "wet soaked damp",
    PackHarm.EJECTED: "ejected thrown dropped fell",
    PackHarm.HEATING_BY_ITSELF: "heating overheating",
}
_HARM_OF = {word: harm for harm, words in _OF_WORD.items() for word in words.split()}
_PHRASES = {
    "run over": PackHarm.RUN_OVER,
    "ran over": PackHarm.RUN_OVER,
    "under water": PackHarm.IMMERSED,
    "in water": PackHarm.IMMERSED,
    "by itself": PackHarm.HEATING_BY_ITSELF,
    "on its own": PackHarm.HEATING_BY_ITSELF,
    "over charged": PackHarm.OVER_CHARGED,
    "overcharged": PackHarm.OVER_CHARGED,
    "over discharged": PackHarm.OVER_DISCHARGED,
    "overdischarged": PackHarm.OVER_DISCHARGED,
    "flat": PackHarm.OVER_DISCHARGED,
    "dead": PackHarm.OVER_DISCHARGED,
}
SHOWN = {PackHarm.SWOLLEN: "puffed"}  # where the journal's word is not the trade's


def shown(harm: PackHarm) -> str:
    """The harm in the word of the trade."""
    return SHOWN.get(harm, harm.value)


def is_nothing(text: str) -> bool:
    """Whether it was said that nothing was found."""
    return _plain(text) in NOTHING


def read_harms(text: str, *, where: str) -> tuple[PackHarm, ...]:
    """The harm a person means, each once. Raises BadInput with the words there are, or for a denial."""
    try:
        return (read_choice(text, PackHarm, where=where),)
    except BadInput as unknown:
        found = tuple(dict.fromkeys(_meant(text)))
        if not found:
            raise unknown
        if DENIALS & set(_plain(text).split()):
            raise BadInput(
                f"{where}: “{text.strip()}” can be read two ways.",
                "Say “nothing” when nothing was found, else what it is.",
            ) from unknown
        return found


def _meant(text: str) -> Iterator[PackHarm]:
    plain = _plain(text)
    words = set(plain.split())
    if words & _PLUG and words & _HURT_PLUG:
        yield PackHarm.DAMAGED_PLUG
        return
    for phrase, harm in _PHRASES.items():
        if re.search(rf"\b{re.escape(phrase)}\b", plain):
            yield harm
            if harm in (PackHarm.HEATING_BY_ITSELF, PackHarm.IMMERSED):
                return
    yield from (_HARM_OF[word] for word in plain.split() if word in _HARM_OF)


def _plain(text: str) -> str:
    return " ".join(re.sub(r"[^\w’' ]", " ", text.casefold()).split())
