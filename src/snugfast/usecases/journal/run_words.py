"""The short words of a run, as people type them: ground, wet, hits, minutes."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from snugfast.facts.model import Facts
from snugfast.records.entries import Ground, Wet
from snugfast.usecases.shared.typed_words import called

HITS = {"none": "none", "few": "a few", "a few": "a few", "some": "a few", "many": "many", "lots": "many"}
_COUNTED_HITS = re.compile(r"(\d+) ?(?:hard )?(?:hits?|crash(?:es)?)")
_MINUTES = re.compile(r"(?:about )?[\d.,]+ ?m(?:in(?:ute)?s?)?\.?")
_LONGEST = 3  # words that may belong together: “3 hard hits”


@dataclass(frozen=True, slots=True)
class RunWords:
    """Ground and wet from each word for them to the journal's own."""

    grounds: Mapping[str, str]
    wets: Mapping[str, str]

    def joined(self, words: Sequence[str], names: Collection[str] = ()) -> Iterator[str]:
        """The words, those that belong together as one: “3” “hits”, “12” “min”, “fresh” “water”, “Ember” “1”.

        `names` are those of cars and packs, in small letters.
        """
        number = 0
        while number < len(words):
            lengths = range(min(_LONGEST, len(words) - number), 1, -1)
            together = (" ".join(words[number : number + length]) for length in lengths)
            word = next((one for one in together if self._is_one(one.casefold(), names)), words[number])
            number += len(word.split(" ")) if word != words[number] else 1
            yield word

    def ground(self, plain: str) -> str:
        """The ground this word means; empty when it is none."""
        return self.grounds.get(plain, "")

    def wet(self, plain: str) -> str:
        """How wet this word means; empty when it says nothing of it."""
        return self.wets.get(plain, "")

    @staticmethod
    def hits(plain: str) -> str:
        """“many”, or “3 hits”; empty when it is neither."""
        number = _COUNTED_HITS.fullmatch(plain)
        return number[1] if number else HITS.get(plain, "")

    @staticmethod
    def is_minutes(plain: str) -> bool:
        """Whether it can only be minutes, well written or not."""
        return plain[:1].isdigit() or plain[:1] in "-−+." or plain.startswith("about ")

    def nearest(self, plain: str, names: Collection[str]) -> str:
        """What may have been meant, else the words there are."""
        near = get_close_matches(plain, [*names, *self.grounds, *self.wets, *HITS], n=3, cutoff=0.6)
        if near:
            return f"Did you mean {' or '.join(dict.fromkeys(near))}?"
        of_all = "; ".join(", ".join(sorted(set(words.values()))) for words in (self.grounds, self.wets))
        return f"After the minutes write {of_all}; none, a few, many or “3 hits”."

    def _is_one(self, plain: str, names: Collection[str]) -> bool:
        known = any(plain in words for words in (names, self.grounds, self.wets, HITS))
        return known or bool(_COUNTED_HITS.fullmatch(plain) or _MINUTES.fullmatch(plain))


def run_words(facts: Facts) -> RunWords:
    """The words of the journal, and what the trade says for them."""
    grounds = {ground.value: ground.value for ground in Ground if ground is not Ground.UNKNOWN}
    wets = {wet.value: wet.value for wet in Wet} | {"fresh": "fresh water"}
    also = {word: wet for word, wet in called(facts, "wet").items() if word not in (*HITS, "no")}
    return RunWords({**called(facts, "ground"), **grounds}, {**also, **wets})
