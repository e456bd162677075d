"""Evenings at the bench, made up from a seed: edits, and an end at a random moment.

A real kernel works on a real file; the page is a stand-in that does what the notebook's script
does in JupyterLab (``lab/extensions``), which the browser tests hold to it.
"""

from __future__ import annotations

import json
import os
import signal
import time
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from typing import Any

import nbformat
from edits import random_repair
from jupyter_client import KernelManager

from workbench.output.notebook.template_notebook import KEY, as_notebook

#: How a session ends.
ENDS = ("kill", "restart", "run all", "reload", "cull")

#: Nothing older than this may be missing, in s.
OLDEST = 2.0

#: Run in each kernel first: a bench without widgets and geometry, which are not what is tried.
_BEGIN = """
import sys, types
sys.path.insert(0, {tests!r})
from random import Random
from edits import edit
from workbench.jupyter.keeping import keeping
def bench(repair):
    global _latest
    _latest = keeping().begin(repair, lambda lines, can_write: None)
def _do(change):
    change()
    keeping().soon()
def _hand(seed):
    _do(lambda: _latest.edit(lambda repair: edit(Random(seed), repair)))
sys.modules["workbench.jupyter.bench"] = types.SimpleNamespace(bench=bench)
"""


class Page:
    """A notebook as a page of JupyterLab has it."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.comms: dict[str, Any] = {}
        self.load()

    def load(self) -> None:
        """Read the notebook from its file; what was not saved is gone."""
        book = nbformat.read(self.path, as_version=4)
        self.cells = [dict(cell) for cell in book.cells]
        self.metadata = json.loads(json.dumps(book.metadata))
        self.comms = {}
        self.loaded = True

    def save(self) -> None:
        """Write it."""
        book = nbformat.v4.new_notebook(
            cells=[nbformat.from_dict(cell) for cell in self.cells], metadata=self.metadata
        )
        whole = self.path.with_suffix(".whole")
        nbformat.write(book, whole)
        whole.replace(self.path)

    def content(self) -> dict[str, Any]:
        """What the kernel is told of it."""
        return {
            "cells": [
                {key: cell[key] for key in ("id", "cell_type", "source", "metadata")}
                for cell in self.cells
            ],
            "metadata": {KEY: self.metadata.get(KEY)},
        }

    def set(self, asked: dict[str, Any]) -> dict[str, Any]:
        """Do what the kernel asks, or say how the notebook is; what is answered."""
        cells = {cell["id"]: cell for cell in self.cells}
        for name, one in asked["cells"].items():
            if name not in cells or cells[name]["source"] != one["before"]:
                return {"content": self.content()}
        for name, one in asked["cells"].items():
            cells[name]["source"] = one["source"]
        for name, own in asked["own"].items():
            cells[name]["metadata"].pop(KEY, None)
            cells[name]["metadata"] |= {KEY: own} if own else {}
        if asked["metadata"]:
            self.metadata[KEY] = asked["metadata"]
        return {"did": "write", "serial": asked["serial"]}


class Kernel:
    """A kernel of a notebook, and the page's line to it."""

    def __init__(self, page: Page, environment: dict[str, str]) -> None:
        self.page = page
        for last in (False, False, True):
            self.manager = KernelManager()
            self.manager.start_kernel(
                env={**environment, "JPY_SESSION_NAME": str(page.path)}, cwd=str(page.path.parent)
            )
            self.client = self.manager.client()
            self.client.start_channels()
            try:
                self.client.wait_for_ready(timeout=120)
            except RuntimeError:  # another kernel that began at once took one of its ports
                self.client.stop_channels()
                self.manager.shutdown_kernel(now=True)
                if last:
                    raise
            else:
                break
        self.run(_BEGIN.format(tests=str(Path(__file__).parent)))

    def run(self, code: str, cell: str = "", fails: bool = False) -> str:
        """Run code as the cell with this id; what it printed."""
        message = self.client.session.msg(
            "execute_request",
            {"code": code, "silent": False, "store_history": bool(cell), "stop_on_error": True},
            metadata={"cellId": cell} if cell else {},
        )
        self.client.shell_channel.send(message)
        return self._until(message["header"]["msg_id"], fails)

    def run_all(self) -> None:
        """Run every code cell of the page."""
        for cell in list(self.page.cells):
            if cell["cell_type"] == "code":
                self.run(cell["source"], cell["id"])
        self.settle(0.1)

    def repair(self) -> str:
        """The repair on the bench, as JSON."""
        return self.run("print(_latest.repair.to_json())").strip()

    def attach(self) -> None:
        """What the page does when it is loaded with a kernel at work: it finds the open lines."""
        message = self.client.session.msg("comm_info_request", {"target_name": "workbench"})
        self.client.shell_channel.send(message)
        end = time.monotonic() + 60
        while time.monotonic() < end:
            answer = self.client.get_shell_msg(timeout=60)
            if answer["parent_header"].get("msg_id") == message["header"]["msg_id"]:
                for name in answer["content"]["comms"]:
                    self._first(name)
                return
        raise TimeoutError("the kernel did not say which lines are open")

    def tell(self, what: dict[str, Any]) -> None:
        """Tell the kernel something over every open line."""
        for name in self.page.comms:
            self._say(name, what)

    def settle(self, seconds: float) -> None:
        """Let page and kernel speak for so long."""
        end = time.monotonic() + seconds
        while (left := end - time.monotonic()) > 0:
            try:
                self._hear(self.client.get_iopub_msg(timeout=min(left, 0.2)))
            except Exception as error:
                if type(error).__name__ != "Empty":
                    raise

    def kill(self) -> None:
        """End it as a power cut would."""
        os.kill(self.manager.provisioner.pid, signal.SIGKILL)
        self.close()

    def end(self) -> None:
        """End it as a restart does, and as the server's own culling."""
        self.manager.shutdown_kernel(now=False)
        self.close()

    def close(self) -> None:
        self.client.stop_channels()
        self.manager.shutdown_kernel(now=True)
        self.manager.cleanup_resources()
        self.page.comms = {}

    def _until(self, message: str, fails: bool) -> str:
        printed, end = "", time.monotonic() + 120
        while time.monotonic() < end:
            heard = self.client.get_iopub_msg(timeout=120)
            self._hear(heard)
            if heard["parent_header"].get("msg_id") != message:
                continue
            kind, content = heard["msg_type"], heard["content"]
            if kind == "stream":
                printed += content["text"]
            elif kind == "error" and not fails:
                raise RuntimeError("\n".join(content["traceback"]))
            elif kind == "status" and content["execution_state"] == "idle":
                return printed
        raise TimeoutError(message)

    def _hear(self, message: dict[str, Any]) -> None:
        content = message["content"]
        if message["msg_type"] == "comm_open" and content["target_name"] == "workbench":
            self._first(content["comm_id"])
        elif message["msg_type"] == "comm_msg" and content["data"].get("do") == "read":
            self._say(content["comm_id"], {"content": self.page.content()})
        elif message["msg_type"] == "comm_msg" and content["data"].get("do") == "write":
            self._say(content["comm_id"], self.page.set(content["data"]))

    def _first(self, comm: str) -> None:
        """Say how the notebook is over a line that is new, and whether it was loaded anew."""
        self._say(comm, {"content": self.page.content(), "loaded": self.page.loaded})
        self.page.loaded = False

    def _say(self, comm: str, data: dict[str, Any]) -> None:
        self.page.comms[comm] = True
        message = self.client.session.msg("comm_msg", {"comm_id": comm, "data": data})
        self.client.shell_channel.send(message)


@dataclass
class Session:
    """What was done in a session, and what the bench then had.

    states : for each moment, in s, the repair as JSON
    """

    seed: int
    end: str = ""
    done: list[str] = field(default_factory=list)
    states: list[tuple[float, str]] = field(default_factory=list)

    def may_be(self, at: float) -> list[dict[str, Any]]:
        """What the bench may have after the session ended then, the newest last."""
        settled = [n for n, (when, _row) in enumerate(self.states) if when <= at - OLDEST]
        first = settled[-1] if settled else 0
        return [json.loads(row) for _when, row in self.states[first:]]


def hand_written(path: Path, rng: Random) -> None:
    """A notebook of somebody's own: code that no tool wrote, in one cell."""
    sizes = [rng.randint(10, 40) for _n in range(3)]
    code = (
        "from workbench import Repair, bench\n"
        f"r = Repair('block').add('box', name='base', width={sizes[0]}, depth={sizes[1]})\n"
        f"r.add('tab', name='foot', seat='top of base', width={sizes[2]})\nbench(r)"
    )
    cell = nbformat.v4.new_code_cell(code, id="mine")
    nbformat.write(nbformat.v4.new_notebook(cells=[cell]), path)


def play(seed: int, folder: Path, environment: dict[str, str]) -> tuple[Session, Page, Kernel]:
    """One session, ended and opened again: what was done, and the bench that is there now."""
    rng = Random(seed)
    session = Session(seed)
    path = folder / f"evening-{seed}.ipynb"
    own = rng.random() < 0.25
    if own:
        hand_written(path, rng)
    else:
        repair = random_repair(rng, rng.randint(1, 6))
        path.write_bytes(as_notebook(repair, path.stem, image=b""))
    page = Page(path)
    kernel = Kernel(page, environment)
    kernel.run_all()

    def note(what: str) -> None:
        session.done.append(what)
        session.states.append((time.monotonic(), kernel.repair()))

    note("opened")
    for _n in range(rng.randint(5, 40)):
        what = rng.choices(("hand", "undo", "redo", "cell", "save"), (70, 8, 4, 10, 8))[0]
        if what == "hand":
            kernel.run(f"_hand({rng.randrange(2**32)})")
        elif what in ("undo", "redo"):
            kernel.run(f"_do(_latest.{what})")
        elif what == "save":
            kernel.settle(1.0)
            page.save()
            kernel.tell({"saved": True})
        elif not own:
            kernel.settle(1.0)  # as long as it takes a hand to reach the cell
            change_cell(rng, page)
            kernel.run_all()
        note(what)
        if rng.random() < 0.4:
            kernel.settle(rng.uniform(0, 0.6))
    kernel.settle(rng.uniform(0, 2.5))
    session.end = rng.choice(ENDS)
    kernel = _ended(session, rng.random() < 0.5, page, kernel, environment)
    return session, page, kernel


def _ended(
    session: Session, loaded: bool, page: Page, kernel: Kernel, environment: dict[str, str]
) -> Kernel:
    """End a session, and open the notebook again: the kernel that works on it now."""
    session.states.append((time.monotonic(), session.states[-1][1]))
    session.done.append(f"{session.end}{', page loaded anew' if loaded else ''}")
    alive = session.end in ("run all", "reload")
    if session.end == "kill":
        kernel.kill()
    elif not alive:
        kernel.end()
    if session.end == "reload" or (loaded and not alive):
        page.load()
    if session.end == "reload":
        kernel.attach()
    now = kernel if alive else Kernel(page, environment)
    now.run_all()
    return now


def change_cell(rng: Random, page: Page) -> None:
    """Type another number into a line of the cell with the sizes."""
    cell = next(c for c in page.cells if "parameters" in c["metadata"].get("tags", ()))
    lines = cell["source"].split("\n")
    sizes = [
        n for n, line in enumerate(lines) if " = " in line and line.split(" = ")[1][0].isdigit()
    ]
    at = rng.choice(sizes)
    name, _equals, rest = lines[at].partition(" = ")
    number, _space, comment = rest.partition("  ")
    whole = "." not in number
    value = int(number) if whole else round(float(number) * rng.uniform(0.97, 1.03), 2)
    lines[at] = f"{name} = {value}  {comment}"
    cell["source"] = "\n".join(lines)
