"""Where the compiled twin is kept. Authority: laws of this project."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from snugfast.app.kernel_cache import CACHE, look_at_kernel, threads, use_kernel_cache


def test_it_is_kept_in_the_data_folder_unless_the_environment_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    environment: dict[str, str] = {}
    kept = use_kernel_cache(environment)
    assert kept == tmp_path / "data" / "snugfast" / "compiled"
    assert kept.is_dir()
    assert environment[CACHE] == str(kept)
    assert use_kernel_cache({CACHE: "/elsewhere"}) == Path("/elsewhere")


def test_a_data_folder_that_cannot_be_made_is_passed_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    in_the_way = tmp_path / "file"
    in_the_way.write_text("")
    monkeypatch.setenv("XDG_DATA_HOME", str(in_the_way))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    assert use_kernel_cache({}) == tmp_path / "cache" / "snugfast" / "compiled"


def test_nothing_is_compiled_into_a_folder_that_others_may_fill(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is compiled is loaded and run: a folder that somebody else can write to is passed over."""
    for name in ("XDG_DATA_HOME", "XDG_CACHE_HOME"):
        folder = tmp_path / name / "snugfast" / "compiled"
        folder.mkdir(parents=True)
        folder.chmod(0o777)
        monkeypatch.setenv(name, str(tmp_path / name))
    kept = use_kernel_cache({})
    assert tmp_path not in kept.parents
    assert kept.stat().st_mode & 0o077 == 0


def test_threads_come_and_go() -> None:
    with threads() as executor:
        assert executor.submit(lambda: 4).result() == 4


def seen_in(folder: Path, call: str) -> str:
    """What a look says in a process of its own, with a cache of its own."""
    code = (
        "from snugfast.app.kernel_cache import look_at_kernel\n"
        f"seen = look_at_kernel({call})\n"
        "print(seen.first_question_s is not None, seen.compiled_now, seen.kept_in)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        env={**os.environ, CACHE: str(folder)},
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout.strip()


def test_a_look_compiles_nothing_until_it_may(tmp_path: Path) -> None:
    assert seen_in(tmp_path, "") == f"False False {tmp_path}"
    assert list(tmp_path.rglob("*.nb?")) == []


def test_what_was_compiled_is_loaded_and_not_compiled_again(tmp_path: Path) -> None:
    """The copy is of what setting up, or an earlier test, compiled for this session."""
    assert look_at_kernel(may_compile=True).first_question_s is not None
    shutil.copytree(use_kernel_cache(), tmp_path / "compiled")
    assert seen_in(tmp_path / "compiled", "").startswith(f"True False {tmp_path / 'compiled'}")


@pytest.mark.soak
def test_what_may_be_compiled_is_kept(tmp_path: Path) -> None:
    assert seen_in(tmp_path, "may_compile=True").startswith(f"True True {tmp_path}")
    assert list(tmp_path.rglob("*.nbc"))
    assert seen_in(tmp_path, "").startswith(f"True False {tmp_path}")
    assert seen_in(tmp_path, "may_compile=True").startswith(f"True False {tmp_path}")
