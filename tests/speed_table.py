"""The table of speeds in DEVELOPERS.md: ``python tests/speed_table.py --write``.

Processor time, the least of some runs, rivals taking turns. A part is a plate with tabs, pegs, clips
and holes all over it; what it is compared with stands in each row.
"""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

import manifold3d
import numpy as np
from speeds import changing, processor_seconds, quickest

from workbench.checks import report
from workbench.checks.check import judge
from workbench.checks.report import Subject
from workbench.solids import kernel
from workbench.solids.build import assemble, build
from workbench.solids.cache import Cache
from workbench.solids.mesh import mesh
from workbench.solids.repair import Repair
from workbench.solids.seat import Seat

PAGE = Path(__file__).parents[1] / "DEVELOPERS.md"
MARKS = "<!-- speeds -->", "<!-- end of speeds -->"

KINDS = {
    "tab": {"width": 3, "length": 5, "thickness": 2, "chamfer": 0.4},
    "peg": {"diameter": 3, "length": 8, "chamfer": 0.4},
    "clip": {"width": 5},
}

#: Between the middles of neighbours, in mm.
PITCH = 6.0

#: Steps, and how many of them cut.
SIZES = {5: 1, 20: 5, 80: 20, 200: 50}


class Row(NamedTuple):
    """A line of the table: what, how large, our milliseconds, against what, and its milliseconds."""

    what: str
    size: str
    ours: float
    against: str
    theirs: float

    def __str__(self) -> str:
        ratio = f"{self.ours / self.theirs:.2f}"
        return f"| {self.what} | {self.size} | {self.ours:.0f} | {self.against}: {self.theirs:.0f} | {ratio} |"


def field(steps: int, cuts: int = 0, pitch: float = PITCH) -> Repair:
    """A plate with leaves all over it, and holes between them; ``steps`` in all."""
    columns = int(np.ceil(np.sqrt(steps)))
    side = pitch * columns + 4
    repair = Repair("field").add("plate", name="base", width=side, height=side)
    spots = [
        (pitch * (i % columns - (columns - 1) / 2), pitch * (i // columns - (columns - 1) / 2))
        for i in range(steps - 1 - cuts)
    ]
    for i, (x, y) in enumerate(spots):
        kind = list(KINDS)[i % len(KINDS)]
        repair.add(kind, Seat("top of base", x, y, sink=0.2), f"part {i}", **KINDS[kind])
    for i in range(cuts):
        x, y = (at + pitch / 2 - 0.3 for at in spots[i * len(spots) // cuts])
        hole = Seat("top of base", x, y, sink=9)
        repair.cut("cylinder", hole, f"hole {i}", diameter=1.2, height=12)
    return repair


def fused(parts: list) -> object:
    """All parts in one union of the kernel."""
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Fuse

    fuse = BRepAlgoAPI_Fuse()
    fuse.SetArguments(kernel._listed(parts[:1]))
    fuse.SetTools(kernel._listed(parts[1:]))
    fuse.SetRunParallel(True)
    fuse.Build()
    return fuse.Shape()


def summed(parts: list) -> object:
    """As build123d's documentation writes it."""
    from build123d import Part

    whole = Part()
    whole += parts
    return whole


def of_meshes(parts: list) -> Callable[[], float]:
    """The same by manifold3d, of triangles that are there already."""
    bodies = []
    for part in parts:
        points, faces = mesh(part)
        corners = np.array(faces, dtype=np.uint64)
        bodies.append(manifold3d.Manifold(manifold3d.Mesh64(np.array(points), corners)))
    add = manifold3d.OpType.Add
    return lambda: manifold3d.Manifold.batch_boolean(bodies, add).volume()


def built() -> Iterator[Row]:
    """A whole build, its templates built before, against the same shapes joined otherwise."""
    for steps in SIZES:
        repair, tries = field(steps), 5 if steps < 80 else 2
        parts = list(assemble(repair, known := Cache()).parts.values())

        def anew(repair: Repair = repair, known: Cache = known) -> None:
            cache = Cache()
            cache.built = known.built
            build(repair, cache)

        rivals = {"one union of the kernel": lambda p=parts: fused(p)}
        if steps < 200:
            rivals["`+= [list]`"] = lambda p=parts: summed(p)
        rivals["manifold3d"] = of_meshes(parts)
        ours, *theirs = quickest(anew, *rivals.values(), tries=tries)
        for name, time in zip(rivals, theirs, strict=True):
            yield Row("build", f"{steps} steps", 1000 * ours, name, 1000 * time)


def changed() -> Iterator[Row]:
    """One leaf or one hole changed, to the mesh, against the whole; the first against the next."""
    next_times = {}
    # Once beforehand: what is imported with the first cut and the first change is no part of it.
    cache = Cache()
    for diameter in (3.0, 3.01):
        mesh(build(field(5, 1).change("part 1", diameter=diameter), cache))
    for steps, cuts in SIZES.items():
        repair, cache = field(steps, cuts), Cache()
        start = processor_seconds()
        mesh(build(repair, cache))
        whole = 1000 * (processor_seconds() - start)
        sizes = changing([3.05 + i / 50 for i in range(40)])

        def leaf(repair=repair, cache=cache, sizes=sizes) -> None:
            mesh(build(repair.change("part 1", diameter=next(sizes)), cache))

        def hole(repair=repair, cache=cache, sizes=sizes) -> None:
            mesh(build(repair.change("hole 0", diameter=next(sizes) - 1.8), cache))

        start = processor_seconds()
        leaf()
        first = 1000 * (processor_seconds() - start)
        again, cut = (1000 * time for time in quickest(leaf, hole, tries=6))
        next_times[steps] = again
        size = f"{steps} steps, {cuts} of them cuts"
        yield Row("change of a leaf, to mesh", size, again, "build and mesh", whole)
        yield Row("change of a cut, to mesh", size, cut, "build and mesh", whole)
        yield Row("first change", size, first, "the next", again)
    power = np.polyfit(np.log(list(next_times)), np.log(list(next_times.values())), 1)[0]
    size = f"5 to 200 steps, exponent {power:.2f}"
    yield Row("change of a leaf", size, next_times[20], "5 steps", next_times[5])


def sized() -> Iterator[Row]:
    """A change below and beyond the size from which meshes are coarser."""
    below, beyond = field(20, 5, pitch=14.9), field(20, 5, pitch=15.4)
    sizes = changing([3.05 + i / 50 for i in range(40)])
    jobs = []
    for repair in (below, beyond):
        cache = Cache()
        mesh(build(repair, cache))
        jobs.append(
            lambda r=repair, c=cache: mesh(build(r.change("part 1", diameter=next(sizes)), c))
        )
    one, other = quickest(*jobs, tries=8)
    yield Row("change of a leaf, 81 mm", "20 steps", 1000 * other, "78.5 mm", 1000 * one)


def looked_at() -> Iterator[Row]:
    """Ways up and all checks, found anew, and again after a change of a name or a colour."""
    few, many = (Subject.of(field(steps, SIZES[steps])) for steps in (5, 20))

    def ways(subject: Subject, anew: bool = True) -> Subject:
        if anew:
            report._LAYERS.clear()
        again = Subject(subject.repair, subject.assembly)
        assert again.orientations
        return again

    jobs = [
        lambda: ways(few),
        lambda: ways(many),
        lambda: ways(many, anew=False),
        lambda: judge(ways(few)),
        lambda: judge(ways(many)),
    ]
    one, other, kept, one_judged, judged = (1000 * time for time in quickest(*jobs, tries=4))
    yield Row("ways up", "20 steps", other, "5 steps", one)
    yield Row("ways up, another name", "20 steps", kept, "found anew", other)
    yield Row("ways up and checks", "20 steps", judged, "5 steps", one_judged)


SMALL = (
    'r = Repair("small").add("box", name="base", width=20, depth=10, height=5)'
    '.add("tab", "top of base", "t", width=8, thickness=3)'
)

STARTS = {
    "kernel and numpy": "import numpy, OCP.OCP",
    "build123d": "import build123d",
    "`check` of a small part": f"from workbench import Repair, check; {SMALL}; check(r)",
    "build of a small part": f"from workbench import Repair, build; {SMALL}; build(r)",
}


def started() -> Iterator[Row]:
    """Whole processes: processor time, then memory in MB."""
    used = {}
    for name, code in STARTS.items():
        # Not ru_maxrss: a process that was forked begins with what its parent had.
        told = "import time; peak = open('/proc/self/status').read().split('VmHWM:')[1].split()[0]"
        lines = f"{code}\n{told}\nprint(time.process_time(), int(peak) / 1024)"
        runs = [
            subprocess.run(
                [sys.executable, "-c", lines], check=True, capture_output=True, text=True
            )
            for _try in range(3)
        ]
        used[name] = np.min([[float(x) for x in run.stdout.split()[-2:]] for run in runs], axis=0)
    bare = used["kernel and numpy"]
    for name in list(STARTS)[2:]:
        for other in ("kernel and numpy", "build123d"):
            (ours, memory), (theirs, most) = used[name], used[other]
            size = f"{memory:.0f} MB against {most:.0f}"
            yield Row(name, size, 1000 * ours, f"importing {other}", 1000 * theirs)
    assert bare.all()


def table() -> str:
    """The whole table, in Markdown."""
    rows = [str(row) for part in (built, changed, sized, looked_at, started) for row in part()]
    head = "| what | size | ours, ms | against, ms | ratio |\n|---|---|---|---|---|"
    return "\n".join([head, *rows])


def main() -> None:
    made = table()
    print(made)
    if "--write" in sys.argv:
        begin, end = MARKS
        page = PAGE.read_text(encoding="utf-8")
        pattern = f"{re.escape(begin)}.*{re.escape(end)}"
        whole = re.sub(pattern, lambda _old: f"{begin}\n{made}\n{end}", page, flags=re.DOTALL)
        PAGE.write_text(whole, encoding="utf-8")


if __name__ == "__main__":
    main()
