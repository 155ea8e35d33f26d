"""Commands typed in this process, quickly, with everything they answer."""

from __future__ import annotations

import io
import sys
import traceback
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path
from unittest.mock import patch

from snugfast.cli.main import main


@dataclass(frozen=True)
class Answer:
    """What a command said, and what came through that should not have."""

    words: tuple[str, ...]
    code: int
    said: str
    broke: str = ""

    @property
    def is_clean(self) -> bool:
        """Ended as a command ends, with nothing of the inside showing."""
        return not self.broke and self.code in (0, 1, 2) and "Traceback" not in self.said


def type_words(workshop: Path | str, *words: str) -> Answer:
    """Type one command about a workshop, as a script would."""
    out = io.TextIOWrapper(io.BytesIO(), encoding="utf-8", write_through=True)
    code, broke = 0, ""
    with (
        redirect_stdout(out),
        redirect_stderr(out),
        patch.object(sys, "argv", ["snugfast", "--workshop", str(workshop), *words]),
        patch.object(sys, "stdin", io.TextIOWrapper(io.BytesIO(), encoding="utf-8")),
    ):
        try:
            main()
        except SystemExit as ended:
            code = ended.code if isinstance(ended.code, int) else int(ended.code is not None)
        except BaseException:
            broke = traceback.format_exc()
    out.seek(0)
    return Answer(words, code, out.read(), broke)
