"""A JupyterLab of its own and a headless Chromium, for as long as these tests run."""

from __future__ import annotations

import os
import secrets
import shutil
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import ExitStack, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import nbformat
import pytest
from browsed import PATIENCE, serving
from guide import configuration
from ports import free_port

#: What measures and judges no more than that stands apart, until it is asked for.
collect_ignore = [] if os.environ.get("WORKBENCH_FULL") else ["test_following.py"]

#: As where there is no graphics card: software draws the part, and composes the page without it,
#: or else every frame of the page would take longer than all that is tested.
FLAGS = [
    "--headless=new",
    "--no-sandbox",
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
    "--disable-gpu-compositing",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@dataclass(frozen=True)
class Lab:
    """A running JupyterLab: its address, its token, and the folder it shows."""

    address: str
    token: str
    folder: Path

    def notebook(self, name: str, *cells: str) -> str:
        """Write a notebook of code cells and return the address that opens it."""
        book = nbformat.v4.new_notebook(
            cells=[nbformat.v4.new_code_cell(cell) for cell in cells],
            metadata={
                "kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}
            },
        )
        nbformat.write(book, self.folder / name)
        return self.url(name)

    def url(self, name: str) -> str:
        """The address that opens a notebook of the folder by itself, in a workspace of its own."""
        workspace = Path(name).stem
        return (
            f"{self.address}/lab/workspaces/{workspace}/tree/{name}?token={self.token}&reset=true"
        )


def chromium() -> str:
    """Where Chromium is; a missing one skips the test, but fails it on a build machine."""
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    if found is None:
        message = "chromium is not installed: apt-get install chromium"
        if os.environ.get("CI"):
            pytest.fail(message)
        pytest.skip(message)
    return found


@pytest.fixture(scope="session")
def lab(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Lab]:
    """JupyterLab on a free loopback port, with a token and an empty folder."""
    yield from _served(tmp_path_factory)


@pytest.fixture(scope="module")
def pupils_lab(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Lab]:
    """The same with the options that the guide gives to pupils' servers."""
    options = configuration(tmp_path_factory.mktemp("guide")).Spawner.args
    yield from _served(tmp_path_factory, *options)


def _served(tmp_path_factory: pytest.TempPathFactory, *options: str) -> Iterator[Lab]:
    chromium()
    base = tmp_path_factory.mktemp("lab")
    folder = base / "repairs"
    folder.mkdir()
    home = base / "home"
    settings = home / "config" / "lab" / "user-settings" / "@jupyterlab" / "apputils-extension"
    settings.mkdir(parents=True)
    (settings / "notification.jupyterlab-settings").write_text(
        '{"fetchNews": "false", "checkForUpdates": false}', encoding="utf-8"
    )
    port = free_port()
    token = secrets.token_hex(16)
    environment = os.environ | {
        "JUPYTER_CONFIG_DIR": str(home / "config"),
        "JUPYTER_DATA_DIR": str(home / "data"),
        "JUPYTER_RUNTIME_DIR": str(home / "runtime"),
        "IPYTHONDIR": str(home / "ipython"),
        "PYTHONDONTWRITEBYTECODE": "",  # a kernel finds its modules compiled, as pip leaves them
    }
    command = [
        *(sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root"),
        *("--ip=127.0.0.1", f"--port={port}", "--ServerApp.port_retries=0"),
        "--expose-app-in-browser",
        *(f"--IdentityProvider.token={token}", f"--ServerApp.root_dir={folder}"),
        *(f"--LabApp.workspaces_dir={home / 'workspaces'}", *options),
        f"--LabApp.user_settings_dir={home / 'config' / 'lab' / 'user-settings'}",
    ]
    address, log = f"http://127.0.0.1:{port}", base / "lab.log"
    with (
        log.open("wb") as file,
        serving(command, env=environment, cwd=folder, stdout=file) as server,
    ):
        _wait_for(f"{address}/api?token={token}", server, log)
        yield Lab(address, token, folder)


def _wait_for(url: str, server: subprocess.Popen, log: Path, timeout: float = PATIENCE) -> None:
    end = time.monotonic() + timeout
    while time.monotonic() < end:
        if server.poll() is not None:
            pytest.fail(f"JupyterLab ended: {log.read_text(encoding='utf-8')[-2000:]}")
        try:
            with urllib.request.urlopen(url, timeout=2):
                return
        except (urllib.error.URLError, OSError):
            time.sleep(0.1)
    pytest.fail(f"JupyterLab did not answer within {timeout} s")


@pytest.fixture(scope="session")
def chromium_command() -> list[str]:
    """What starts a headless Chromium."""
    return [chromium(), *FLAGS]


#: What drives these tests, the one page that they share, and what ends both.
_kept: dict[str, Any] = {}
_driving = ExitStack()


@pytest.fixture(scope="module")
def playwright() -> Any:
    """What drives browsers; there can be one at a time."""
    from playwright.sync_api import sync_playwright

    if not _kept:
        _kept["playwright"] = _driving.enter_context(sync_playwright())
        _driving.callback(_kept.clear)
    return _kept["playwright"]


@pytest.fixture(scope="module")
def page(lab: Lab, playwright: Any) -> Iterator:
    """A browser page, 1380 by 1000 pixels, which has kept nothing of another file's tests."""
    if "page" not in _kept:  # one that stays has compiled JupyterLab's scripts
        browser = playwright.chromium.launch(executable_path=chromium(), args=FLAGS)
        _driving.callback(browser.close)
        context = browser.new_context(viewport={"width": 1380, "height": 1000})
        _kept["page"] = shown = context.new_page()
        shown.said = said = []
        shown.on("console", lambda message: said.append(f"{message.type}: {message.text}"))
        shown.on("pageerror", lambda error: said.append(f"error: {error}"))
    one = _kept["page"]
    one.set_viewport_size({"width": 1380, "height": 1000})
    yield one
    one.evaluate("localStorage.clear(); sessionStorage.clear()")
    one.goto("about:blank")
    one.unroute_all()
    one.context.clear_cookies()
    one.said.clear()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_teardown(nextitem: pytest.Item | None) -> Iterator:
    """The browser ends with these tests: while it is driven, no other can run a loop of its own."""
    result = yield
    if nextitem is None or Path(__file__).parent not in nextitem.path.parents:
        _driving.close()
    return result


def pytest_sessionfinish() -> None:
    """Nor does it outlive a run that was stopped."""
    _driving.close()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Iterator:
    """Where a test fails, what its page showed then, and the end of what it said by itself."""
    report = yield
    page = getattr(item, "funcargs", {}).get("page")
    if page is not None and report.failed:
        shown = Path(tempfile.gettempdir()) / "workbench-seen" / f"{item.name[:60]}.png"
        with suppress(Exception):
            page.screenshot(path=shown, timeout=10_000)
            report.sections.append(("the page", f"{page.url}\n{shown}"))
        report.sections.append(("the page's console", "\n".join(getattr(page, "said", [])[-30:])))
    return report
