"""Opening a notebook in JupyterLab: in which folder, with which settings, and straight on the bench."""

from __future__ import annotations

import hashlib
import json
import os
import sys
from pathlib import Path
from typing import Any
from urllib.parse import quote

from workbench import folders, gate
from workbench.errors import RepairError
from workbench.output.files.paths import write_over
from workbench.output.notebook.bundled import folders as bundled
from workbench.output.notebook.bundled import in_checkout
from workbench.output.notebook.current_notebook import NOTEBOOKS
from workbench.output.notebook.untrusted_template import own_code
from workbench.words import _

#: Under a user's folder, the notebook to start with.
START = Path(NOTEBOOKS) / "00-start.ipynb"

#: The folder of lessons and templates that is made where there is none.
FOLDER = "workbench-class"

#: Settings of JupyterLab that this tool begins with, and the script that it adds to it.
_LAB = Path(__file__).resolve().parents[2] / "jupyter" / "lab"

#: Bytes of JupyterLab's log at most; one that was full before is kept beside it.
_LOG = 200_000

#: What JupyterLab's page is told by the notebook's script while a notebook goes onto the bench.
_WORDS = {
    "starting": "Starting the kernel …",
    "running": "Running cell {cell} of {cells} …",
    "building": "Building the part …",
    "gone": "The kernel behind this bench has ended. Your part is kept.",
    "go": "Put it back on the bench",
}


def home() -> Path:
    """The user's folder: the current one if it has the notebooks, else ``workbench-class`` in it.

    Never the tool's own source, which is only read; there it is in the user's home.
    """
    if in_checkout(Path()):
        return Path.home() / FOLDER
    return Path() if START.is_file() else Path(FOLDER)


def notebook_in(folder: Path, given: str | None) -> Path:
    """The notebook to open: the one to start with, or the one given; of a shipped one the copy."""
    if given is None:
        return folder / START
    path = Path(given)
    where = path.resolve().parent
    shipped = bundled()
    for own in (shipped.notebooks, shipped.templates):
        if where == own.resolve():
            return folder / own.name / path.name
    return path


def refuse_missing(notebook: Path) -> None:
    """RepairError where the notebook is not there, or is none."""
    if not notebook.is_file():
        raise RepairError(
            _("there is no notebook at {path}; choose one that exists").format(path=notebook)
        )
    try:
        fine = notebook.suffix == ".ipynb" and isinstance(gate.json_file(notebook), dict)
    except OSError as error:
        raise gate.unreadable(notebook, error) from None
    except (json.JSONDecodeError, UnicodeDecodeError):
        fine = False
    if not fine:
        raise RepairError(
            _("{file} is not a notebook; choose a file that ends in .ipynb").format(file=notebook)
        )


def may_run(notebook: Path) -> bool:
    """Whether opening a notebook is to run it: its code is the tool's, or its user has run it."""
    try:
        if not own_code(notebook):
            return True
        from nbformat import read
        from nbformat.sign import NotebookNotary

        return bool(NotebookNotary().check_signature(read(notebook, as_version=4)))
    except Exception:  # whatever is wrong with the file, JupyterLab tells it
        return False


def lab_command(
    notebook: Path,
    folder: Path,
    port: int | None = None,
    no_browser: bool = False,
    arrive: bool = False,
) -> list[str]:
    """The command that starts JupyterLab on a notebook, with ``folder`` as its top folder.

    arrive : run the notebook once it is open, and bring its bench into view

    Raises RepairError when the notebook is not there.
    """
    refuse_missing(notebook)
    top = folder.resolve()
    if not notebook.resolve().is_relative_to(top):
        top = notebook.resolve().parent
    within = notebook.resolve().relative_to(top).as_posix()
    # -P: a file of the user's in the current folder must not stand in for a library's module.
    command = [sys.executable, "-P", "-m", "jupyterlab", f"--ServerApp.root_dir={top}"]
    command += [f"--LabApp.default_url=/lab/tree/{quote(within)}"]
    command += [f"--LabApp.app_settings_dir={_settings(within if arrive else '', top)}"]
    command += [f"--LabApp.extra_labextensions_path={_LAB / 'extensions'}"]
    command += [f"--port={port}"] if port is not None else []
    command += ["--no-browser"] if no_browser else []
    # Who is root has decided so; without this the server would refuse to start.
    command += ["--allow-root"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
    return command


def quiet_environment() -> dict[str, str]:
    """The environment in which JupyterLab shows its address alone and logs into a file.

    The user's own settings of JupyterLab stay as they are.
    """
    folder = folders.folder() / "lab" / "quiet"
    content = json.dumps({"Application": {"logging_config": _logging(folder / "lab.log")}})
    try:
        write_over(folder / "jupyter_config.json", content.encode())
    except RepairError:
        return dict(os.environ)
    known = os.environ.get("JUPYTER_CONFIG_PATH")
    path = os.pathsep.join([str(folder), *([known] if known else [])])
    return {**os.environ, "JUPYTER_CONFIG_PATH": path}


def _logging(log: Path) -> dict[str, Any]:
    """What Python's logging is to do with the server's lines and the page's; an address is critical."""
    to_file = {"class": "logging.handlers.RotatingFileHandler", "filename": str(log)}
    kept: dict[str, Any] = {"maxBytes": _LOG, "backupCount": 1, "encoding": "utf-8", "delay": True}
    both = {"handlers": ["console", "file"]}
    return {
        "handlers": {
            "console": {"level": "CRITICAL"},
            "file": {**to_file, **kept, "formatter": "console", "level": "INFO"},
        },
        "loggers": {"ServerApp": both, "LabApp": both},
    }


def _settings(arrive: str, top: Path) -> Path:
    """A folder with the settings of this JupyterLab, in the user's data; else the plain ones."""
    # Nobody in a class is to be asked about news, or told of updates in the middle of it.
    overrides = (_LAB / "overrides.json").read_bytes()
    page: dict[str, Any] = json.loads((_LAB / "page_config.json").read_text(encoding="utf-8"))
    # As text: of a table in its page's settings JupyterLab keeps the names alone.
    told = {"arrive": arrive, "words": {key: _(text) for key, text in _WORDS.items()}}
    page["workbench"] = json.dumps(told)
    mark = hashlib.sha256(f"{top}\n{arrive}".encode()).hexdigest()[:12]
    folder = folders.folder() / "lab" / mark
    try:
        write_over(folder / "overrides.json", overrides)
        write_over(folder / "page_config.json", json.dumps(page).encode())
    except RepairError:
        return _LAB
    return folder
