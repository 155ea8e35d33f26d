"""Where the compiled twin is kept. Authority: laws of this project."""

from __future__ import annotations

from pathlib import Path

from snugfast.app.kernel_cache import CACHE, threads, use_kernel_cache


def test_it_is_kept_in_the_data_folder_unless_the_environment_says(tmp_path: Path) -> None:
    environment = {"HOME": str(tmp_path)}
    kept = use_kernel_cache(environment)
    assert kept == tmp_path / ".local" / "share" / "snugfast" / "compiled"
    assert kept.is_dir()
    assert environment[CACHE] == str(kept)
    assert use_kernel_cache({CACHE: "/elsewhere"}) == Path("/elsewhere")
    assert (
        use_kernel_cache({"HOME": "/", "XDG_DATA_HOME": str(tmp_path)}) == tmp_path / "snugfast" / "compiled"
    )


def test_a_data_folder_that_cannot_be_made_is_passed_over(tmp_path: Path) -> None:
    in_the_way = tmp_path / "file"
    in_the_way.write_text("")
    kept = use_kernel_cache({"HOME": str(in_the_way)})
    assert in_the_way not in kept.parents


def test_threads_come_and_go() -> None:
    with threads() as executor:
        assert executor.submit(lambda: 4).result() == 4
