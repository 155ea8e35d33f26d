"""Files that a command writes for its owner: never over one that is there, unless that was asked for."""

from __future__ import annotations

import os
from pathlib import Path

import click

from snugfast.core.errors import BadInput, RefusedAction

FORCE = click.option("--force", is_flag=True, help="Write over a file that is there.")
STORE_BEGINS = b"SQLite format 3"


def write_text(file: Path, text: str, *, force: bool) -> None:
    """Write a file of text, whole or not at all; refuses as `write_bytes` does."""
    write_bytes(file, text.encode("utf-8"), force=force)


def write_bytes(file: Path, data: bytes, *, force: bool) -> None:
    """Write a file, whole or not at all.

    Raises BadInput where its folder is not there; RefusedAction when it is there already and `force` was not
    said, when it is a store, or what is no file, which would be lost; OSError when it cannot be written.
    """
    if file.is_dir():
        raise RefusedAction(f"{file} is a folder.", "Name a file in it.")
    if not file.parent.is_dir():
        raise BadInput(
            f"There is no folder {file.parent}.", "Make it first, or name a file in another folder."
        )
    if file.exists():
        if not file.is_file():
            raise RefusedAction(f"{file} is a device or a pipe, no file.", "Name a file.")
        if _is_store(file):
            raise RefusedAction(f"{file} is a workshop, and is not written over.", "Name another file.")
        if not force:
            raise RefusedAction(f"{file} is there already.", "Name another file, or add --force.")
    part = file.with_name(f"{file.name}.{os.getpid()}.part")
    try:
        part.write_bytes(data)
        part.replace(file)
    finally:
        part.unlink(missing_ok=True)


def write_said(file: Path, data: bytes, *, force: bool) -> None:
    """Write a file as `write_bytes` does, and say where."""
    write_bytes(file, data, force=force)
    click.echo(f"Written to {file}.")


def _is_store(file: Path) -> bool:
    with file.open("rb") as begun:
        return begun.read(len(STORE_BEGINS)) == STORE_BEGINS
