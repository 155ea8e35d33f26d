"""TOML texts parsed once: reading a hundred kilobytes of TOML is slow, reading the same as JSON is not.

What was parsed is kept beside Python's own compiled files and found by a digest of the text, so that an
edited table is parsed anew. The file can be thrown away at any time, and is done without where it cannot be
written.
"""

from __future__ import annotations

import json
import os
import tempfile
import tomllib
from hashlib import sha256
from importlib.util import cache_from_source
from pathlib import Path
from typing import Any

Document = dict[str, Any]

KEPT_AT = Path(cache_from_source(__file__)).with_name("tables.json")


class ParsedTexts:
    """The documents of some texts, as far as they are known from before."""

    def __init__(self, kept_at: Path = KEPT_AT) -> None:
        self.kept_at = kept_at
        self._known = _known(kept_at)
        self._used: dict[str, Document] = {}

    def document(self, text: str) -> Document:
        """The document in a TOML text. Raises tomllib.TOMLDecodeError."""
        digest = sha256(text.encode()).hexdigest()
        document = self._known.get(digest)
        if document is None:
            document = tomllib.loads(text)
        self._used[digest] = document
        return document

    def keep(self) -> None:
        """Keep what was used, for the next time, when it is not what is kept already."""
        if self._used.keys() == self._known.keys():
            return
        try:
            self.kept_at.parent.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(dir=self.kept_at.parent, prefix="tables-", suffix=".part")
            with os.fdopen(handle, "w", encoding="utf-8") as file:
                json.dump(self._used, file)
            Path(name).replace(self.kept_at)
        except (OSError, TypeError):  # nowhere to keep it, or a date in a table, which JSON does not know
            return


def _known(kept_at: Path) -> dict[str, Document]:
    try:
        kept = json.loads(kept_at.read_bytes())
    except (OSError, ValueError):
        return {}
    if isinstance(kept, dict) and all(isinstance(document, dict) for document in kept.values()):
        return kept
    return {}
