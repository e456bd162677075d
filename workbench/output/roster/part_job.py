"""One part of a roster, from plain data to its files: what a worker does."""

from __future__ import annotations

import tempfile
import threading
from contextvars import copy_context
from dataclasses import dataclass
from importlib import import_module
from typing import Any

import numpy as np

from workbench.checks.orientation.orient import chosen_down, laid_layers
from workbench.errors import RepairError
from workbench.output.files.paths import json_bytes
from workbench.output.roster.roster_row import AGAIN, LATER, READY, STOPPED, Job, doubts
from workbench.words import _, sentence

#: The file, beside the revision, that says what a row came to. It is written last.
RESULT = "result.json"

#: The part as it lies, with its raised label, for the bed.
LABELLED = "labelled.3mf"


_ONE_AT_A_TIME = threading.Lock()

#: What takes long to import.
_NEEDED = (
    *("build123d", "manifold3d", "scipy.ndimage", "scipy.sparse", "shapely"),
    *(f"matplotlib.backends.backend_{form}" for form in ("agg", "pdf", "svg")),
    *("workbench.output.files.export", "workbench.output.files.raised_label"),
)


@dataclass(frozen=True)
class Made:
    """What came of a job.

    state, why : as for the summary
    facts : what packing needs; empty where there is no part
    files : content by path, relative to the part's folder
    """

    state: str
    why: tuple[str, ...]
    facts: dict[str, Any]
    files: dict[str, bytes]

    def result(self, job: Job) -> bytes:
        """The content of :data:`RESULT`."""
        row = {"key": job.key, "name": job.name, "state": self.state, "why": self.why}
        return json_bytes({**row, **self.facts})


def load() -> None:
    """Import the kernel and all that a part needs, once for each worker, before its first part."""
    for name in _NEEDED:
        import_module(name)


def warm_up() -> None:
    """Load what a part needs into a process of our own, and hold its arithmetic to one thread.

    Workers whose arithmetic spreads over all processors get in each other's way.
    """
    from threadpoolctl import threadpool_limits

    load()
    threadpool_limits(1)  # of the libraries that are loaded by now; until the process ends


def made(job: Job) -> Made:
    """Build, check and export one part. What goes wrong is told, never raised.

    One at a time in each process: neither the kernel nor matplotlib is made for several threads.
    """
    try:
        with _ONE_AT_A_TIME:
            return copy_context().run(_made, job)
    except OSError as error:
        text = _("the worker cannot write: {reason}; make room and run it again")
        return _not_made(text.format(reason=error.strerror or error))
    except MemoryError:
        return _not_made(_("it needs more memory than its worker has; make it with fewer steps"))
    except Exception as error:  # a fault of ours in one row is not to stop the others
        text = _("an internal error ({reason}); change a size a little, or leave it out")
        return _not_made(text.format(reason=f"{type(error).__name__}: {error}"))


def _not_made(why: str) -> Made:
    return Made(LATER, (why,), {}, {})


def _made(job: Job) -> Made:
    from workbench.checks.check import judge
    from workbench.checks.subject import Subject
    from workbench.output.files.export import export
    from workbench.output.files.laid_part import on_the_bed
    from workbench.output.files.threemf import Body, threemf
    from workbench.solids.counterpart import FOLDER
    from workbench.solids.recipe.repair import Repair
    from workbench.solids.recipe.revision import checksum

    FOLDER.set(job.folder)
    try:
        repair = Repair.from_json(job.repair)
        subject = Subject.of(repair)
        report = judge(subject)
        bed = on_the_bed(subject)
    except RepairError as error:  # its sizes do not make a part
        return Made(AGAIN, (str(error),), {}, {})
    stops = [_told(f) for f in report.findings if f.severity == "stop"]
    doubtful = doubts(repair)
    if doubtful or stops:
        return Made(AGAIN if doubtful else STOPPED, (*doubtful, *stops), {}, {})
    try:
        with tempfile.TemporaryDirectory(prefix="workbench-") as place:
            paths = export(subject, place, report, job.paper)
            files = {path.relative_to(place).as_posix(): path.read_bytes() for path in paths}
    except RepairError as error:  # the worker's disk, not the part
        return _not_made(str(error))
    brim = laid_layers(subject).stance.brim
    mesh = next(name for name in files if name.endswith(".3mf"))
    warnings = [_told(f) for f in report.findings if f.severity == "warning"]
    raised = ""
    if job.label:
        raised, vertices, faces = _labelled(subject, bed.vertices, bed.faces, job)
        if raised:
            mesh = LABELLED
            files[LABELLED] = threemf([Body(repair.name, vertices, faces)], {"Title": repair.name})
        else:
            warnings.append(_("No flat face has room for a raised label; mark it by hand."))
    facts = {
        "material": repair.material,
        "printer": repair.printer,
        "size": [round(side, 6) for side in bed.size],
        "brim": brim.width if brim is not None else 0.0,
        "mesh": mesh,
        "mesh_sha256": checksum(files[mesh]),
        "raised": raised,
    }
    return Made(READY, tuple(warnings), facts, files)


def _labelled(
    subject: Any, vertices: np.ndarray, faces: np.ndarray, job: Job
) -> tuple[str, np.ndarray, np.ndarray]:
    """What is raised, the first that finds room, and the mesh with it; "" where nothing does."""
    from workbench.output.files.letter_rings import to_raise
    from workbench.output.files.raised_label import raised
    from workbench.solids.lay import laid, rotation

    # Laying moves the part after turning it; the same move goes for its steps.
    turn = rotation(chosen_down(subject)).T
    whole = subject.mesh[0]
    move = laid(whole, chosen_down(subject))[0] - whole[0] @ turn
    steps = {fit.step for fit in subject.repair.fits}
    keep_off = [subject.part_mesh(step)[0] @ turn + move for step in sorted(steps)]
    for text in to_raise(job.label, job.row):
        found = raised(vertices, faces, text, keep_off)
        if found is not None:
            return text.text, *found
    return "", vertices, faces


def _told(finding: Any) -> str:
    return " ".join(sentence(text) for text in (finding.text, finding.remedy) if text)
