"""The page of the radio: a test told and kept, limits before a child drives, refusals."""

from __future__ import annotations

import html
import re

from starlette.testclient import TestClient

from tests.web.test_setup_page import car as car


def test_a_test_is_told_and_kept(client: TestClient, car: str) -> None:
    path = f"{car}/radio"
    assert "never tested here" in client.get(path).text
    told = client.post(path, data={"radio": "pistol", "when_off": "drove on", "walked": "40 m"})
    assert "motor drove on" in told.text
    entries = [html.unescape(one) for one in re.findall(r'name="entry" value="([^"]*)"', told.text)]
    client.post("/keep", data={"entry": entries, "then": path})
    assert "Don’t drive until it stops at once" in client.get(path).text
    refused = client.post(path, data={"radio": "pistol"})
    assert refused.status_code == 422 and "Nothing was tested" in refused.text
    limits = client.post(f"{path}/limits", data={"radio": "pistol", "throttle": "40 %", "rate": ""})
    assert "learner limits on pistol: throttle 40 %" in limits.text
    assert client.post(f"{path}/limits", data={"radio": "pistol", "throttle": "400"}).status_code == 422
