"""Which notebook this code runs in, so that a template saved from it lands beside it."""

from __future__ import annotations

import json
import os
from contextlib import suppress
from pathlib import Path
from typing import Any
from urllib.parse import unquote

from workbench import gate
from workbench.errors import RepairError
from workbench.output.notebook.bundled import NOTEBOOKS, TEMPLATES, is_checkout
from workbench.words import _

#: Bytes that the folder of a page without code may hold before its visitors may write no more.
ROOM = 200_000_000

#: How long to wait for an answer of the server, in s; it runs on the same machine.
_PATIENCE = 2.0


def running_notebook() -> Path | None:
    """The file of the notebook that this kernel runs, or None where that cannot be known.

    The server is asked which session has this kernel, since that stays right after a rename;
    the name that the session was started with is the second choice.
    """
    kernel = _kernel_id()
    if kernel is not None:
        for server in _servers():
            path = _session_path(server, kernel)
            if path is not None:
                return path
    started_as = os.environ.get("JPY_SESSION_NAME", "")
    if started_as.endswith(".ipynb") and Path(started_as).is_file():
        return Path(started_as)
    # Voila starts kernels of its own in the notebook's folder, and says what page it is for.
    if without_code():
        asked = Path.cwd() / Path(unquote(os.environ.get("SCRIPT_NAME", ""))).name
        return asked if asked.suffix == ".ipynb" and asked.is_file() else None
    return None


def without_code() -> bool:
    """Whether this kernel is behind a page that shows a notebook without its code."""
    return os.environ.get("SERVER_SOFTWARE", "").startswith("voila/")


def templates_folder() -> Path:
    """Where templates saved from here go: the folder ``templates`` of this class or checkout.

    Where that is only read, such as a shelf that a class shares, it is the user's own.
    """
    return own(beside_notebook())


def own(folder: Path, name: str = "") -> Path:
    """A folder if files can be made in it, else one in the user's own, with its name or ``name``.

    The user's own is what their JupyterLab shows, or their home.
    """
    if _may_write(folder):
        return folder
    tops = [*(Path(server["root_dir"]) for server in _servers()), Path.home() / "workbench-class"]
    found = (top / (name or folder.name) for top in tops)
    return next((other for other in found if _may_write(other)), folder)


def visited(folder: str | Path) -> Path:
    """The folder itself; on a page for visitors only one of theirs, while there is room in it.

    Raises RepairError when it leads out of the visitor's folder, or that is full.
    """
    place = Path(folder)
    if not without_code():
        return place
    theirs = [Path.cwd().resolve(), own(Path("repairs")).resolve()]
    within = [top for top in theirs if place.resolve().is_relative_to(top)]
    if not within:
        raise RepairError(
            _("you may not write to {folder} here; give a folder in {own}").format(
                folder=place, own=theirs[0]
            )
        )
    with_room(within[0])
    return place


def with_room(folder: Path) -> Path:
    """The folder itself; RepairError where a page's visitors have filled it."""
    held = sum(path.lstat().st_size for path in folder.rglob("*")) if without_code() else 0
    if held > ROOM:
        raise RepairError(
            _(
                "{folder} holds {size} MB, and the limit here is {most} MB; download what you "
                "need, and ask whoever looks after this page to make room"
            ).format(folder=folder, size=round(held / 1e6), most=round(ROOM / 1e6))
        )
    return folder


def beside_notebook() -> Path:
    """The folder ``templates`` of the class or checkout that the notebook is in."""
    notebook = running_notebook()
    here = notebook.parent if notebook is not None else Path.cwd()
    if here.name == TEMPLATES:
        return here
    if here.name == NOTEBOOKS or (here.parent / TEMPLATES).is_dir():
        return here.parent / TEMPLATES
    return here / TEMPLATES


def _may_write(folder: Path) -> bool:
    """Whether files can be made in a folder, or the folder itself where it is not there yet.

    What the tool ships is only read, in a checkout too.
    """
    there = folder.absolute()
    if there.name in (NOTEBOOKS, TEMPLATES) and is_checkout(there.parent):
        return False
    while not os.access(there, os.F_OK) and there != there.parent:
        there = there.parent
    return os.access(there, os.W_OK | os.X_OK)


def _kernel_id() -> str | None:
    try:
        from ipykernel.connect import get_connection_file

        name = Path(get_connection_file()).stem
    except (ImportError, RuntimeError):
        return None
    return name.removeprefix("kernel-")


def _servers() -> list[dict[str, Any]]:
    """The user's Jupyter servers that run now, by the notes that they leave.

    They are read here, since Jupyter's own reader of them takes longer to import than a bench to
    be built.
    """
    try:
        import psutil
        from jupyter_core.paths import jupyter_runtime_dir
    except ImportError:
        return []
    found = []
    for note in sorted(Path(jupyter_runtime_dir()).glob("jpserver-*.json")):
        with suppress(ValueError):  # it is being written, or gone
            server = gate.json_file(note)
            if isinstance(server, dict) and psutil.pid_exists(server.get("pid", -1)):
                found.append(server)
    return found


def _session_path(server: dict[str, Any], kernel: str) -> Path | None:
    from urllib.request import Request, urlopen

    token = server.get("token", "")
    request = Request(f"{server['url']}api/sessions", headers={"Authorization": f"token {token}"})
    try:
        with urlopen(request, timeout=_PATIENCE) as answer:
            sessions = json.load(answer)
    except (OSError, ValueError):
        return None
    for session in sessions if isinstance(sessions, list) else []:
        if session.get("kernel", {}).get("id") == kernel:
            return Path(server["root_dir"]) / session.get("path", "")
    return None
