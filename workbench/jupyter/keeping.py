"""What the benches of one notebook have is kept: in the notebook's cells, and in a hidden file.

The page is asked to set the cells; the hidden file has what the saved notebook does not, so that
nothing is lost when kernel, page or machine end at any moment.
"""

from __future__ import annotations

import atexit
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any

from workbench.errors import RepairError
from workbench.jupyter.browser_comm import FrontEnd
from workbench.jupyter.running_cell import cell_that_runs, code_that_ran, shell
from workbench.jupyter.state import Workpiece
from workbench.output.files.paths import write_over
from workbench.output.notebook import cells, document, recovery
from workbench.output.notebook.current_notebook import running_notebook
from workbench.output.notebook.recovery import Kept, Recovery
from workbench.output.notebook.template_notebook import KEY, read_json, read_template, tags_of
from workbench.solids.recipe.changes import Row, same
from workbench.solids.recipe.merge import repair_of, row_of
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.stored import cuts_last
from workbench.words import _

#: Shows sentences on a bench, and whether a button is to offer writing the notebook's file.
Tell = Callable[[list[str], bool], None]

#: Seconds from an edit until it is kept; those in between go with it. The page's cells wait for a hand
#: that moves, which setting them would hold up, but so many times that long at most.
SOON, PATIENCE = 0.6, 5


@dataclass
class Work:
    """One bench's part of the notebook.

    ran : the repair as its cells last built it, or were last written
    saved : as the notebook's file has it, or None
    tell : shows sentences on the bench
    built : what the cells that have run built, where they were written after that
    runs : how many cells had run when they were written
    loaded : the page was loaded anew, and its cells neither ran nor were written since
    """

    piece: Workpiece
    ran: Row
    saved: Row | None
    tell: Tell
    built: Row | None = None
    runs: int = 0
    loaded: bool = False

    @property
    def is_in_file(self) -> bool:
        """Whether opening the notebook's file again and running it brings back the same part."""
        return same(row_of(self.piece.frozen()), self.ran if self.saved is None else self.saved)

    def wrote(self, repair: Row) -> None:
        """The cells were written; what they built before that may still come to a bench."""
        if self.loaded:
            self.built = self.saved
        elif self.built is None or self._has_run:
            self.built = self.ran
        self.ran, self.runs, self.loaded = repair, len(code_that_ran()), False

    def is_older(self, built: Row) -> bool:
        """Whether this is what the cells built before they were written, and not since."""
        return self.built is not None and same(self.built, built) and not self._has_run

    @property
    def _has_run(self) -> bool:
        return any("Repair(" in code for code in code_that_ran()[self.runs :])

    def kept(self) -> Kept:
        """The work as plain data."""
        repair, history = self.piece.kept()
        return Kept(repair, self.ran, self.saved, history)


@dataclass(frozen=True)
class Asked:
    """What the page was asked to set for a bench.

    message : what it was sent
    content : the notebook's content once that is done
    sizes : by name what the parameters cell then sets; None where there is no such cell
    """

    key: str
    repair: Row
    message: Row
    content: Row
    sizes: Row | None


class Keeping:
    """Keeps what the benches of this kernel's notebook have."""

    def __init__(self, path: Path | None) -> None:
        self.path = path
        self.works: dict[str, Work] = {}
        self._waiting: dict[str, Kept] = {}
        self._taken: list[Path] = []
        self._content: Row | None = None
        self._sent: dict[int, Asked] = {}
        self._begun: list[str] = []
        self._serial = 0
        self._lock = threading.RLock()
        self._timer: threading.Timer | None = None
        self._edited, self._put_off = 0.0, 0
        self._timing = threading.Lock()
        self._file: Path | None = None
        self._said: dict[str, str] = {}
        self._failed = ""
        self.front = FrontEnd(self._hear, self._unheard)
        atexit.register(self._keep_file)

    # -- a bench begins ----------------------------------------------------------------------

    def begin(self, repair: Repair, tell: Tell) -> Workpiece:
        """Lay what was kept over the repair that the cells have just built, in place.

        Returns the repair with the way back; ``tell`` is called with what there is to say.
        """
        with self._lock:
            key = self._key(repair)
            file = self._read()
            if document.is_bench_of(file, key) and _is_of_old_form(file):
                repair.steps = cuts_last(repair.steps)
            ran = row_of(repair)
            lines: list[str] = []
            kept = self._known(key, repair, lines)
            saved = self._in_file(key)
            earlier = self.works.get(key)
            older = earlier if earlier is not None and earlier.is_older(ran) else None
            if kept is not None and older is not None:
                kept = replace(kept, cells=ran)  # no hand changed them
            before = None
            if kept is not None:
                try:
                    both = kept.laid_over(ran, earlier is None or earlier.loaded)
                    before = repair_of(kept.repair)
                    for each in fields(both.repair):
                        setattr(repair, each.name, getattr(both.repair, each.name))
                    lines += both.lines
                except RepairError as error:
                    lines.append(str(error))
            piece = Workpiece(repair)
            if kept is not None and before is not None:
                piece.resume(kept.history)
                piece.note_since(before)
            self.works[key] = (
                Work(piece, ran, saved, tell)
                if older is None
                else replace(older, piece=piece, saved=saved, tell=tell, loaded=False)
            )
            self._waiting.pop(key, None)
            # A bench may begin although a cell before it has just failed: that still holds.
            failed = self._said.get("cell", "")
            self._said = {"begin": " ".join(lines), "cell": failed}
        self.front.open()
        self.front.say({"do": "read"})  # a hand may have changed the cells that have just run
        self.soon()
        return piece

    def cell_failed(self, fault: str) -> None:
        """A cell did not run: say so on the bench where it is one of those that build the part."""
        cell, _run = cell_that_runs()
        listed = (self._content or {}).get("cells", ())
        tags = next((tags_of(each) for each in listed if each.get("id") == cell), [])
        for tag, name in (
            (cells.PARAMETERS, _("cell with the sizes")),
            (cells.BUILD, _("cell that builds the part")),
        ):
            if tag in tags:
                self._failed = cell
                self._said["cell"] = _(
                    "The {cell} did not run, {fault}; the bench shows the last good part."
                ).format(cell=name, fault=fault)
                self._tell()

    def cell_ran(self) -> None:
        """A cell has run: what was said of it when it did not is over."""
        cell, _run = cell_that_runs()
        if self._failed and cell == self._failed:
            self._failed = ""
            self._said["cell"] = ""
            self._tell()

    def has(self, piece: Workpiece) -> bool:
        """Whether this is still what some cell's bench works on."""
        return any(work.piece is piece for work in self.works.values())

    def _key(self, repair: Repair) -> str:
        """What a bench is known by: the cell that runs, and which bench of that run it is."""
        cell, run = cell_that_runs()
        self._begun = [*self._begun, run] if run and run in self._begun else [run]
        count, name = len(self._begun), cell or repair.name
        if count > 1:
            return f"{name} {count}"
        return cells.BENCH if document.is_bench_of(self._read(), name) else name

    def _known(self, key: str, repair: Repair, lines: list[str]) -> Kept | None:
        """What there is of a bench: still here, in a recovery file, or in the saved notebook."""
        if key in self.works:
            return self.works[key].kept()
        if self.path is None:
            return None
        found, told = recovery.found(self.path)
        lines += told
        for one in found:
            self._waiting |= one.benches
            self._taken.append(one.path)
            lines += _newer(one, key, repair)
        if key in self._waiting:
            return self._waiting[key]
        return _in_notebook(self._read(), key)

    def _in_file(self, key: str) -> Row | None:
        with suppress(RepairError):
            if self.path is not None and document.is_bench_of(self._read(), key):
                return row_of(read_template(self.path))
        kept = _in_notebook(self._read(), key)
        return kept.repair if kept is not None else None

    def _read(self) -> Row:
        with suppress(RepairError):
            if self.path is not None and isinstance(row := read_json(self.path), dict):
                return row
        return {}

    # -- an edit -----------------------------------------------------------------------------

    def soon(self) -> None:
        """Something has changed: keep it within a moment."""
        with self._timing:
            self._edited = time.monotonic()
            self._begin()

    def _begin(self) -> None:
        if self._timer is None:
            self._timer = threading.Timer(SOON, self._in_turn)
            self._timer.daemon = True
            self._timer.start()

    def _in_turn(self) -> None:
        """Keep everything, the page's cells only where no hand is at work any more."""
        with self._timing:
            self._timer = None
            moves = time.monotonic() < self._edited + SOON / 2
            self._put_off = (self._put_off + 1) % PATIENCE if moves else 0
            if self._put_off:
                self._begin()
        if self._put_off:
            self._keep_file()
        else:
            self.now()

    def now(self) -> None:
        """Keep everything as it is now."""
        with self._lock:
            kept = {key: work.kept() for key, work in self.works.items()}
            self._keep_beside(kept)
            for key, one in kept.items():
                self._write_cells(key, one)
            self._tell()

    def _keep_file(self) -> None:
        with self._lock:
            self._keep_beside({key: work.kept() for key, work in self.works.items()})

    def _keep_beside(self, kept: dict[str, Kept]) -> None:
        """Write the hidden file, or take it away where the notebook holds all that it would have."""
        if self.path is None:
            return
        in_notebook = all(k.saved is not None and same(k.repair, k.saved) for k in kept.values())
        try:
            if not (in_notebook and not self._waiting):
                self._file = self._file or recovery.place_for(self.path)
                at = time.strftime("%Y-%m-%d %H:%M:%S")
                recovery.write(self._file, self.path, {**self._waiting, **kept}, at)
            elif self._file is not None:
                recovery.remove(self._file)
                self._file = None
            while self._taken:
                self._taken.pop().unlink(missing_ok=True)  # what it had is in ours, or saved
        except (RepairError, OSError) as error:
            self._said["file"] = _("Your work on the bench is not being saved: {reason}").format(
                reason=error
            )
        else:
            self._said["file"] = self._where()

    def _where(self) -> str:
        if self._file is None or not recovery.is_elsewhere(self._file):
            return ""
        return _(
            "This folder is read-only; your work on the bench is kept in {file} for now."
        ).format(file=self._file)

    def _write_cells(self, key: str, kept: Kept) -> None:
        """Ask the page to set the cells of a bench, where they say something else."""
        if self._content is None or not self.front.reached:
            return
        try:
            asked = _asked(self._content, key, kept, self.path)
        except RepairError as error:
            self._said[key] = "" if self._said.get("cell") else str(error)
            return
        self._said[key] = ""
        if asked is not None:
            self._serial += 1
            self._sent[self._serial] = asked
            self.front.say({**asked.message, "do": "write", "serial": self._serial})

    # -- what the page says ------------------------------------------------------------------

    def _hear(self, said: Row) -> None:
        with self._lock:
            if "content" in said:
                self._content = said["content"]
                for work in self.works.values():
                    work.loaded |= bool(said.get("loaded"))
                self.soon()
            elif said.get("did") == "write":
                self._done(int(said["serial"]))
            elif said.get("renamed"):
                if self._file is not None:
                    recovery.remove(self._file)
                self.path, self._file = running_notebook(), None
                self.soon()
        if said.get("saved"):
            threading.Thread(target=self._look_at_file, daemon=True).start()

    def _done(self, serial: int) -> None:
        """The page has set what it was asked to."""
        asked = self._sent.pop(serial, None)
        self._sent = {number: other for number, other in self._sent.items() if number > serial}
        if asked is None:
            return
        self._content = asked.content
        work = self.works.get(asked.key)
        if work is not None and asked.sizes is not None:
            work.wrote(asked.repair)
            running = shell()
            if running is not None:  # so that a later cell, run alone, builds the same
                running.user_ns.update(asked.sizes)

    def _look_at_file(self) -> None:
        """The notebook was saved: whatever it holds now need not be kept beside it."""
        with self._lock:
            for key, work in self.works.items():
                work.saved = self._in_file(key) or work.saved
        self.now()

    def _unheard(self) -> None:
        with self._lock:
            self._tell()

    def _tell(self) -> None:
        lines = [said for said in self._said.values() if said]
        for work in self.works.values():
            work.tell(lines, self.can_write_file and not work.is_in_file)

    # -- without a page that answers ----------------------------------------------------------

    @property
    def can_write_file(self) -> bool:
        """Whether the notebook is to be written from here, since no page does it."""
        return self.path is not None and self.front.refused

    def write_file(self) -> None:
        """Write what the benches have into the notebook's file; RepairError where that fails."""
        if self.path is None:
            return
        with self._lock:
            content = read_json(self.path)
            for key, work in self.works.items():
                asked = _asked(content, key, work.kept(), self.path)
                content = asked.content if asked is not None else content
            from nbformat import from_dict, writes

            write_over(self.path, (writes(from_dict(content)) + "\n").encode())
        self._look_at_file()


def _asked(content: Row, key: str, kept: Kept, path: Path | None) -> Asked | None:
    """What a page is to be asked so that its notebook has what a bench has; None for nothing."""
    if document.is_bench_of(content, key):
        called = Path(path.name if path is not None else "notebook.ipynb")
        writing = document.written(content, repair_of(kept.repair), kept.cells, called)
        metadata = {**writing.metadata, "history": kept.history}
        if not writing.sources and metadata == content["metadata"][KEY]:
            return None
        before = {cell["id"]: "".join(cell["source"]) for cell in content["cells"]}
        sources = {
            name: {"source": source, "before": before[name]}
            for name, source in writing.sources.items()
        }
        message: Row = {"cells": sources, "metadata": metadata, "own": {}}
        after = document.set_in(content, replace(writing, metadata=metadata))
        return Asked(key, kept.repair, message, after, writing.sizes)
    own: Row | None = None
    if not same(kept.cells, kept.repair):
        own = {"cells": kept.cells, "repair": kept.repair, "history": kept.history}
    there = next((cell for cell in content["cells"] if cell.get("id") == key), None)
    if there is None or there["metadata"].get(KEY) == own:
        return None
    cell = {**there, "metadata": {**there["metadata"], KEY: own}}
    after = {**content, "cells": [cell if c is there else c for c in content["cells"]]}
    message = {"cells": {}, "metadata": None, "own": {key: own}}
    return Asked(key, kept.repair, message, after, None)


def _newer(one: Recovery, key: str, repair: Repair) -> list[str]:
    kept = one.benches.get(key)
    if kept is None or same(kept.repair, row_of(repair)):
        return []
    return [
        _("Restored: work on the bench from {time} that was not saved in the notebook.").format(
            time=one.at
        )
    ]


def _is_of_old_form(content: Row) -> bool:
    """Whether the cell that has just built the part is as the old form has it."""
    ran = (code for code in reversed(code_that_ran()) if "Repair(" in code)
    return document.was_built_by(content, next(ran, ""))


def _in_notebook(content: Row, key: str) -> Kept | None:
    """What a saved notebook has of a bench, with its history."""
    about: Any = (content.get("metadata") or {}).get(KEY)
    if document.is_bench_of(content, key):
        row = about.get("repair")
        return Kept(row, row, None, about.get("history") or {}) if row else None
    for cell in content.get("cells") or ():
        own = (cell.get("metadata") or {}).get(KEY)
        if cell.get("id") == key and isinstance(own, dict) and "repair" in own:
            return Kept(own["repair"], own["cells"], None, own.get("history") or {})
    return None


_keeping: list[Keeping] = []


def keeping() -> Keeping | None:
    """What keeps this kernel's notebook; None where there is no kernel."""
    if shell() is None:
        return None
    if not _keeping:
        _keeping.append(Keeping(running_notebook()))
    return _keeping[0]
