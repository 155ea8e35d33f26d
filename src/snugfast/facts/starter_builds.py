"""The starter builds, each read when it is first asked for: a start of the program needs none of them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

from snugfast.facts.model import Build


class StarterBuilds(Mapping[str, Build]):
    """Builds by key. `files` says where those stand that have not been read yet."""

    def __init__(
        self, files: Mapping[str, Path], read: Callable[[Path], Build], known: Mapping[str, Build]
    ) -> None:
        self._files = files
        self._read = read
        self._builds = dict(known)

    def __getitem__(self, key: str) -> Build:
        """The build of that key. Raises WrongData with everything that is wrong with its table."""
        if key not in self._builds:
            self._builds[key] = self._read(self._files[key])
        return self._builds[key]

    def __iter__(self) -> Iterator[str]:
        return iter(dict.fromkeys((*self._files, *self._builds)))

    def __len__(self) -> int:
        return len(self._files.keys() | self._builds.keys())
