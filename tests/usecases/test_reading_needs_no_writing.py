"""A full disk or one that may only be read still gives the sheet and the first page.

Authority: law, reading never needs writing. The store's own refusals stand in for the disk; the disk itself
is in `tests/records/test_full_or_forbidden.py`.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from snugfast.records.store.store import Store
from snugfast.records.store.troubles import StoreBusy, StoreFull, StoreReadOnly
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.app import create_for
from tests.fuzz.season import story_file
from tests.fuzz.typing import type_words
from tests.web.workshops import BEGAN, Clock, tell_story


@pytest.mark.slow
@pytest.mark.parametrize("trouble", [StoreFull, StoreReadOnly, StoreBusy])
def test_the_sheet_and_the_pages_need_no_room(
    trouble: type[Exception], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = story_file(tmp_path)
    workshop: Workshop = tell_story(Clock(BEGAN))

    @contextmanager
    def refused(self: Store) -> Iterator[None]:
        raise trouble("The disk is full, so nothing was saved.", "Make room.")
        yield

    monkeypatch.setattr(Store, "work", refused)
    monkeypatch.setattr(Store, "back_up", lambda *_: refused(workshop.store).__enter__())
    for words in (("sheet", "Bramble"), ("treat",), ("packs", "today"), ("journal",)):
        answer = type_words(file, *words)
        assert answer.is_clean and answer.code == 0, answer
    client = TestClient(create_for(workshop), base_url="http://127.0.0.1:8765", raise_server_exceptions=False)
    for path in ("/", "/journal", "/packs"):
        assert client.get(path).status_code == 200
    assert type_words(file, "ran", "Bramble:Ember 1", "12", "--yes").code == 2
