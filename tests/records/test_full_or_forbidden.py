"""A disk that is really full, a folder that may really not be written: told in words, nothing harmed.

Authority: the operating system. Each test runs in a process of its own. A small disk in memory is mounted in
a name space of its own, where the system lets it; where not, a limit on the length of files takes its place
(no more bytes are taken, as on a full disk) and the summary says so. Root may write everything, so root's
process gives that right up first.
"""

from __future__ import annotations

import contextlib
import ctypes
import json
import os
import resource
import signal
import subprocess
import sys
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

from click.testing import CliRunner

from snugfast.cli.main import snugfast
from snugfast.core.errors import SnugfastError
from snugfast.core.ids import compose
from snugfast.exchange.archive import write_archive
from snugfast.facts.load import load_facts
from snugfast.records.store import Store
from snugfast.records.store.backup import verify
from snugfast.records.store.engines import file_url
from snugfast.records.store.restoring import restore
from snugfast.usecases.safekeeping.backups import back_up_now
from snugfast.usecases.safekeeping.hand_over import hand_over
from snugfast.usecases.shared.workshop import Workshop
from tests.records.making import ME, car_added, clock, ran

ROOT = Path(__file__).parents[2]
SMALL_BYTES = 600 * 1024
BALLAST_BYTES = 150 * 1024
NEW_MOUNTS, NEW_USERS, PRIVATE = 0x20000, 0x10000000, 0x44000  # linux/sched.h, linux/mount.h
OVERRIDE_RIGHTS, SEARCH_ANYWAY = 1, 2  # linux/capability.h

Told = dict[str, Any]


def in_a_process(play: str, folder: Path) -> Told:
    """Play one of the functions below in a new process; gives what it told."""
    command = [sys.executable, "-m", "tests.records.test_full_or_forbidden", play, str(folder)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode == 0, done.stderr
    told: Told = json.loads(done.stdout)
    return told


def test_a_full_disk_keeps_nothing_harms_nothing_and_says_so(tmp_path: Path) -> None:
    told = in_a_process("fill_the_disk", tmp_path)
    if told["way"] != "a small disk":
        warnings.warn(f"No small disk may be mounted here; {told['way']} took its place.", stacklevel=1)
    for what in ("keeping", "backing up", "handing over", "restoring"):
        assert told[what].endswith("try again."), told[what]
    assert told["half kept"] == 0
    assert told["kept"] > 0
    assert told["findings"] == []
    assert told["left lying"] == []
    assert told["kept once there was room"] == told["kept"] + 1


def test_what_may_not_be_written_is_read_and_refused_in_words(tmp_path: Path) -> None:
    told = in_a_process("lock_up", tmp_path)
    for where in ("file", "folder"):
        assert told[where].pop("reading") == 2
        typed = told[where].pop("typed")
        assert "Grey truck ran 12 min" in typed
        assert "The day's backup was not taken" in typed
        for what, sentence in told[where].items():
            assert "right to write" in sentence or "read and write" in sentence, (where, what, sentence)
    assert "read" in told["unreadable"]
    assert told["unchanged"]
    assert told["left lying"] == []


def fill_the_disk(folder: Path) -> Told:
    """Fill a small disk with entries, then try everything that writes, then make room."""
    file, earlier, ballast, batch = folder / "shed.db", folder / "earlier.db", folder / "ballast", 20
    told: Told = {"way": small_disk(folder)}
    ballast.write_bytes(bytes(BALLAST_BYTES))
    with Store.create(file_url(file), clock=clock) as store:
        store.back_up(earlier)

        def keep_on() -> None:
            for number in range(0, 100_000, batch):
                keep(store, number, number + batch)

        told["keeping"] = refusal(keep_on)
        with store.reading() as reads:
            told["kept"] = reads.position()
            told["half kept"] = len(reads.entries_after(0)) % batch
        take_the_rest(folder / "rest")
        told |= all_else_that_writes(store, earlier)
        told["findings"] = [finding.sentence for finding in verify(file)]
        told["left lying"] = names(folder, but=(file, earlier, ballast, folder / "rest"))
        make_room(ballast, folder / "rest")
        keep(store, 200_000, 200_001)
        with store.reading() as reads:
            told["kept once there was room"] = len(reads.entries_after(0))
    return told


def lock_up(folder: Path) -> Told:
    """A store in a file, then in a folder, that may not be written; then one that may not be read."""
    file, earlier = folder / "shed.db", folder / "earlier.db"
    told: Told = {}
    with Store.create(file_url(file), clock=clock) as store:
        store.back_up(earlier)
        with store.work() as work:
            work.people.add(ME, "Ada")
            work.journal.add_all((car_added(0), ran(1)))
            work.commit()
    content = file.read_bytes()
    if os.geteuid() == 0:
        give_up_root_s_rights()
    folder.chmod(0o555)
    for where, rights in (("file", 0o444), ("folder", 0o644)):
        file.chmod(rights)
        with Store.open(file_url(file), clock=clock) as store:
            told[where] = {"keeping": attempt_to_keep(store), **all_else_that_writes(store, earlier)}
            with store.reading() as reads:
                told[where]["reading"] = len(reads.entries_after(0))
        told[where]["typed"] = CliRunner().invoke(snugfast, ["--workshop", str(file), "journal"]).output
    file.chmod(0)
    told["unreadable"] = refusal(lambda: Store.open(file_url(file), clock=clock))
    folder.chmod(0o755)
    file.chmod(0o644)
    told["unchanged"] = file.read_bytes() == content
    told["left lying"] = names(folder, but=(file, earlier))
    return told


def attempt_to_keep(store: Store) -> str:
    return refusal(lambda: keep(store, 2, 3))


def all_else_that_writes(store: Store, earlier: Path) -> Told:
    """How a backup, a hand-over and a restore are refused."""
    folder = earlier.parent
    workshop = Workshop(store, load_facts(), clock, compose(1, bytes(10)))
    return {
        "backing up": refusal(lambda: back_up_now(workshop)),
        "handing over": refusal(lambda: write_archive(hand_over(workshop), folder / "all.zip")),
        "restoring": refusal(lambda: restore(earlier, store.address, now=clock())),
    }


def small_disk(folder: Path) -> str:
    """Lay a small disk over a folder for this process only; gives the way that worked."""
    libc = ctypes.CDLL(None, use_errno=True)
    size = f"size={SMALL_BYTES}".encode()
    user, group = os.geteuid(), os.getegid()
    for spaces in (NEW_MOUNTS, NEW_MOUNTS | NEW_USERS):
        if libc.unshare(spaces) != 0:
            continue
        if spaces & NEW_USERS:
            for name, line in (
                ("setgroups", "deny"),
                ("uid_map", f"0 {user} 1"),
                ("gid_map", f"0 {group} 1"),
            ):
                Path("/proc/self", name).write_text(line)
        libc.mount(None, b"/", None, PRIVATE, None)  # so that nobody else sees it
        if libc.mount(b"tmpfs", str(folder).encode(), b"tmpfs", 0, size) == 0:
            return "a small disk"
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    _, most = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (SMALL_BYTES - BALLAST_BYTES, most))
    return "a limit on the length of files"


def make_room(*ballast: Path) -> None:
    """Take the ballast away, and the limit, where there is one."""
    for path in ballast:
        path.unlink()
    _, most = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))


def take_the_rest(path: Path) -> None:
    """Take what room there is left."""
    _, most = resource.getrlimit(resource.RLIMIT_FSIZE)
    with path.open("wb", buffering=0) as file, contextlib.suppress(OSError):
        while True:
            file.write(bytes(256))
    if most != resource.getrlimit(resource.RLIMIT_FSIZE)[0]:
        resource.setrlimit(resource.RLIMIT_FSIZE, (1000, most))


def give_up_root_s_rights() -> None:
    """From here on the rights of files hold for this process, though it is root's."""
    libc = ctypes.CDLL(None, use_errno=True)
    header = (ctypes.c_uint32 * 2)(0x20080522, 0)  # capabilities of this process, version 3
    sets = (ctypes.c_uint32 * 6)()
    assert libc.capget(header, sets) == 0
    for which in (0, 1, 2):
        sets[which] &= ~(1 << OVERRIDE_RIGHTS | 1 << SEARCH_ANYWAY)
    assert libc.capset(header, sets) == 0


def keep(store: Store, first: int, before: int) -> None:
    """Some runs, all or none."""
    with store.work() as work:
        work.journal.add_all(ran(number) for number in range(first, before))
        work.commit()


def refusal(attempt: Callable[[], object]) -> str:
    """The sentence and the way out of what is refused; anything else goes up."""
    try:
        attempt()
    except SnugfastError as refused:
        return str(refused)
    return "it was not refused"


def names(folder: Path, *, but: tuple[Path, ...]) -> list[str]:
    return sorted(path.name for path in folder.rglob("*") if path.is_file() and path not in but)


if __name__ == "__main__":
    plays = {"fill_the_disk": fill_the_disk, "lock_up": lock_up}
    print(json.dumps(plays[sys.argv[1]](Path(sys.argv[2]))))
