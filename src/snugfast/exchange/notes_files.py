"""Field notes out of what was brought home: a text, or photographs of the codes."""

from __future__ import annotations

import io
import struct
import zlib

from snugfast.core.errors import BadInput

MOST_PIXELS = 60_000_000  # a camera's picture has fewer; a file made to choke a reader has more
BROKEN = (OSError, ValueError, SyntaxError, EOFError, OverflowError, struct.error, zlib.error)
"""What a broken picture brings out of a reader of pictures."""

PICTURES = (b"\xff\xd8\xff", b"\x89PNG", b"RIFF")
ENOUGH_SIDE = 3000  # pixels; a larger picture is read again smaller where nothing was seen


def is_picture(data: bytes) -> bool:
    """Whether a file begins as JPEG, PNG or WebP does."""
    return data.startswith(PICTURES)


def notes_in(data: bytes) -> str:
    """The notes in a file: its text, or what its codes say. Raises BadInput where there are none."""
    if is_picture(data):
        return "\n".join(_codes(data))
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise BadInput(
            "That file holds no text and is no picture.", "Choose the notes, or a photograph of the codes."
        ) from None


def _codes(data: bytes) -> list[str]:
    import zxingcpp
    from PIL import Image, ImageOps

    try:
        with Image.open(io.BytesIO(data), formats=("JPEG", "PNG", "WEBP")) as opened:
            if opened.width * opened.height > MOST_PIXELS:
                raise BadInput("That picture is too large.", "Take it again in a smaller size.")
            picture = ImageOps.exif_transpose(opened).convert("L")
    except (*BROKEN, Image.DecompressionBombError) as broken:
        raise BadInput("That picture cannot be read.", "Take it again.") from broken
    found = zxingcpp.read_barcodes(picture)
    if not found and max(picture.size) > ENOUGH_SIDE:
        picture.thumbnail((ENOUGH_SIDE, ENOUGH_SIDE))
        found = zxingcpp.read_barcodes(picture)
    texts = [code.text for code in found]
    if not texts:
        raise BadInput(
            "No code can be read in that picture.", "Take it straight on, sharp, with the whole code in it."
        )
    return texts
