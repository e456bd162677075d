"""Where a template saved from a running notebook goes."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path
from typing import Any

import pytest

from workbench.output.notebook import current_notebook

KERNEL, TOKEN = "5a1e", "a+b&c"


@pytest.fixture
def server(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[dict[str, Any]]:
    """A server that answers as Jupyter's sessions API does, and this kernel's id."""
    sessions = [
        {"path": "other.ipynb", "kernel": {"id": "0000"}},
        {"path": "notebooks/00-start.ipynb", "kernel": {"id": KERNEL}},
    ]

    class Answer(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            allowed = self.headers["Authorization"] == f"token {TOKEN}"
            self.send_response(200 if allowed and self.path == "/api/sessions" else 403)
            self.end_headers()
            self.wfile.write(json.dumps(sessions if allowed else {}).encode())

        def log_message(self, *_words: object) -> None:
            pass

    with HTTPServer(("127.0.0.1", 0), Answer) as listening:
        thread = threading.Thread(target=listening.serve_forever, daemon=True)
        thread.start()
        entry = {
            "url": f"http://127.0.0.1:{listening.server_port}/",
            "token": TOKEN,
            "root_dir": str(tmp_path),
        }
        monkeypatch.setattr(current_notebook, "_servers", lambda: [entry])
        monkeypatch.setattr(current_notebook, "_kernel_id", lambda: KERNEL)
        yield entry
        listening.shutdown()
        thread.join()


def test_the_server_is_asked_which_notebook_has_this_kernel(
    server: dict[str, Any], tmp_path: Path
) -> None:
    assert current_notebook.running_notebook() == tmp_path / "notebooks" / "00-start.ipynb"
    assert current_notebook.templates_folder() == tmp_path / "templates"


def test_a_server_that_refuses_or_is_gone_leaves_the_session_name(
    server: dict[str, Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    book = tmp_path / "mine.ipynb"
    book.touch()
    monkeypatch.setenv("JPY_SESSION_NAME", str(book))
    server["token"] = "wrong"
    assert current_notebook.running_notebook() == book
    server["url"] = "http://127.0.0.1:9/"  # the discard port, where nobody listens
    assert current_notebook.running_notebook() == book
    monkeypatch.setenv("JPY_SESSION_NAME", str(tmp_path / "renamed away.ipynb"))
    assert current_notebook.running_notebook() is None


def test_the_running_servers_are_those_that_jupyter_itself_lists(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from jupyter_server.serverapp import list_running_servers

    monkeypatch.setenv("JUPYTER_RUNTIME_DIR", str(tmp_path))
    ended = subprocess.Popen([sys.executable, "-c", ""])
    ended.wait()
    for name, pid in (("1", os.getpid()), ("2", ended.pid)):
        row = {"pid": pid, "url": "http://127.0.0.1:9/", "root_dir": "/r", "token": name}
        (tmp_path / f"jpserver-{name}.json").write_text(json.dumps(row), encoding="utf-8")
    (tmp_path / "jpserver-3.json").write_text('{"pid": 1, "ur', encoding="utf-8")
    (tmp_path / "kernel-4.json").write_text(json.dumps({"pid": os.getpid()}), encoding="utf-8")
    mine = current_notebook._servers()
    assert [server["token"] for server in mine] == ["1"]
    assert mine == list(list_running_servers())
    monkeypatch.setenv("JUPYTER_RUNTIME_DIR", str(tmp_path / "none"))
    assert current_notebook._servers() == []


@pytest.mark.parametrize(
    ("here", "there"),
    [
        ("class/notebooks", "class/templates"),
        ("class/templates", "class/templates"),
        ("class/sub", "class/templates"),
        ("elsewhere/sub", "elsewhere/sub/templates"),
    ],
)
def test_templates_go_to_the_folder_of_the_class(
    here: str, there: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for folder in ("class/notebooks", "class/templates", "class/sub", "elsewhere/sub"):
        (tmp_path / folder).mkdir(parents=True)
    monkeypatch.delenv("JPY_SESSION_NAME", raising=False)
    monkeypatch.setattr(current_notebook, "_kernel_id", lambda: None)
    monkeypatch.chdir(tmp_path / here)
    assert current_notebook.templates_folder() == tmp_path / there


def test_outside_a_notebook_there_is_none(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("JPY_SESSION_NAME", raising=False)
    assert current_notebook.running_notebook() is None
