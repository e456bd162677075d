"""The line to the notebook's page, where nobody is there to answer."""

from __future__ import annotations

import pytest

from workbench.jupyter import browser_comm
from workbench.jupyter.browser_comm import FrontEnd


def test_a_page_without_code_is_not_asked_and_says_at_once_that_nobody_answers(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    lost: list[bool] = []
    monkeypatch.setenv("SERVER_SOFTWARE", "voila/0.5.13")
    front = FrontEnd(lambda _said: None, lambda: lost.append(True))
    front.open()
    assert front.refused and not front.reached and lost == [True]
    assert not front.say({"do": "read"})


def test_a_page_of_jupyterlab_is_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("SERVER_SOFTWARE", raising=False)
    heard: list[object] = []
    front = FrontEnd(heard.append, lambda: None)
    front.open()
    assert not front.refused and not front.reached
    front._hear({"content": {"data": {"saved": True}}})
    assert front.reached and heard == [{"saved": True}]
    assert browser_comm.TARGET == "workbench"
