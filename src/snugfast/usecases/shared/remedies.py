"""What was done about what was found, in the words people say for it."""

from __future__ import annotations

from snugfast.records.entries import Done

WORDS = {Done.PUT_RIGHT: "fixed", Done.RENEWED: "replaced", Done.LEFT: "not fixed yet"}
"""The word shown for each; what the journal stores stays readable as it was."""

_SAID = {
    "not fixed yet": Done.LEFT,
    "not fixed": Done.LEFT,
    "not yet": Done.LEFT,
    "left as it is": Done.LEFT,
    "left for now": Done.LEFT,
    "left": Done.LEFT,
    "put right": Done.PUT_RIGHT,
    "fixed": Done.PUT_RIGHT,
    "tightened": Done.PUT_RIGHT,
    "mended": Done.PUT_RIGHT,
    "glued": Done.PUT_RIGHT,
    "cleaned": Done.PUT_RIGHT,
    "replaced": Done.RENEWED,
    "renewed": Done.RENEWED,
    "new part": Done.RENEWED,
    "new one": Done.RENEWED,
}


def remedy_meant(words: str) -> Done | None:
    """The remedy these words are, or None."""
    return _SAID.get(_plain(words))


def split_remedy(words: str) -> tuple[str, Done | None]:
    """Words with the remedy at their end taken off: “loose front left, fixed”.

    A colon or nothing may part them. “left” alone is a spot as often as a remedy, so it is none here.
    """
    body, colon, after = words.rpartition(":")
    if colon and (done := remedy_meant(after)) is not None:
        return body.strip(), done
    said = _plain(words)
    for end in sorted(_SAID, key=len, reverse=True):
        if end != "left" and said.endswith(f" {end}"):
            return said[: -len(end)].strip(" ,-"), _SAID[end]
    return words.strip(), None


def _plain(text: str) -> str:
    return " ".join(text.replace("_", " ").casefold().split())
