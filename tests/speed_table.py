"""The table of speeds in DEVELOPERS.md: ``python tests/speed_table.py --write``.

With names of its parts, such as ``built solved``, these alone are measured and written anew.
Processor time, the least of some runs, rivals taking turns. A part is a plate with tabs, pegs, clips
and holes all over it; what it is compared with stands in each row.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from itertools import product
from pathlib import Path
from typing import NamedTuple

import manifold3d
import numpy as np
from bodies import arrays, ball
from layered import BODIES, everything, sections, tight
from painted_scene import Scene, photo_on_sheet
from speeds import changing, processor_seconds, quickest
from surveys import ring

from workbench.checks.check import judge
from workbench.checks.layers import layer_analysis
from workbench.checks.orientation.orient import ways_up
from workbench.checks.subject import Subject
from workbench.measure.outlines.outline import trapezoid
from workbench.measure.sketches.solve import solve
from workbench.solids.building.build import assemble, build
from workbench.solids.geometry import kernel
from workbench.solids.geometry.cache import Cache
from workbench.solids.meshes.mesh import mesh
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import Seat

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


def field(steps: int, cuts: int = 0, pitch: float = PITCH, unlike: bool = False) -> Repair:
    """A plate with leaves all over it, and holes between them; ``steps`` in all.

    unlike : no two leaves have the same sizes
    """
    columns = int(np.ceil(np.sqrt(steps)))
    side = pitch * columns + 4
    repair = Repair("field").add("plate", name="base", width=side, height=side)
    spots = [
        (pitch * (i % columns - (columns - 1) / 2), pitch * (i // columns - (columns - 1) / 2))
        for i in range(steps - 1 - cuts)
    ]
    for i, (x, y) in enumerate(spots):
        kind = list(KINDS)[i % len(KINDS)]
        first, *_others = sizes = dict(KINDS[kind])
        sizes[first] += i / 2000 if unlike else 0
        repair.add(kind, Seat("top of base", x, y, sink=0.2), f"part {i}", **sizes)
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


def checked(parts: list) -> None:
    """The same, with faces in one plane made one, and every face looked at by the kernel."""
    from OCP.BRepCheck import BRepCheck_Analyzer
    from OCP.ShapeUpgrade import ShapeUpgrade_UnifySameDomain

    unify = ShapeUpgrade_UnifySameDomain(fused(parts), True, True, True)
    unify.Build()
    assert BRepCheck_Analyzer(unify.Shape()).IsValid()


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
    for steps, unlike in product(SIZES, (False, True)):
        repair, tries = field(steps, unlike=unlike), 5 if steps < 80 else 2
        parts = list(assemble(repair, known := Cache()).parts.values())

        def anew(repair: Repair = repair, known: Cache = known) -> None:
            cache = Cache()
            cache.built = known.built
            build(repair, cache)

        rivals = {
            "one union of the kernel": lambda p=parts: fused(p),
            "that, made one and checked": lambda p=parts: checked(p),
        }
        if steps < 200:
            rivals["`+= [list]`"] = lambda p=parts: summed(p)
        rivals["manifold3d"] = of_meshes(parts)
        ours, *theirs = quickest(anew, *rivals.values(), tries=tries)
        for name, time in zip(rivals, theirs, strict=True):
            what = "build, all unlike" if unlike else "build"
            yield Row(what, f"{steps} steps", 1000 * ours, name, 1000 * time)


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
            layer_analysis._LAYERS.clear()
        again = Subject(subject.repair, subject.assembly)
        assert ways_up(again)
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
    """Whole processes, with all modules compiled as pip leaves them: processor time, then memory in MB."""
    used = {}
    compiled = tempfile.TemporaryDirectory()
    kept = {"PYTHONDONTWRITEBYTECODE": "", "PYTHONPYCACHEPREFIX": compiled.name}
    for name, code in STARTS.items():
        # Not ru_maxrss: a process that was forked begins with what its parent had.
        told = "import time; peak = open('/proc/self/status').read().split('VmHWM:')[1].split()[0]"
        lines = f"{code}\n{told}\nprint(time.process_time(), int(peak) / 1024)"
        runs = [
            subprocess.run(
                [sys.executable, "-c", lines],
                check=True,
                capture_output=True,
                text=True,
                env=os.environ | kept,
            )
            for _try in range(4)  # the first compiles
        ]
        used[name] = np.min([[float(x) for x in run.stdout.split()[-2:]] for run in runs], axis=0)
    compiled.cleanup()
    bare = used["kernel and numpy"]
    for name in list(STARTS)[2:]:
        for other in ("kernel and numpy", "build123d"):
            (ours, memory), (theirs, most) = used[name], used[other]
            size = f"{memory:.0f} MB against {most:.0f}"
            yield Row(name, size, 1000 * ours, f"importing {other}", 1000 * theirs)
    assert bare.all()


def cut_up() -> Iterator[Row]:
    """All that layers tell against two areas of each layer, by libraries and by the mesh kernel."""
    for name, make in BODIES.items():
        mesh = make()
        ours, floor = quickest(lambda m=mesh: everything(m), lambda m=mesh: tight(m), tries=3)
        (theirs,) = quickest(lambda m=mesh: sections(m), tries=1)
        for other, time in (("trimesh and shapely", theirs), ("manifold3d alone", floor)):
            yield Row(
                f"layers of a {name}", f"{len(mesh[1])} triangles", 1000 * ours, other, 1000 * time
            )


def solved() -> Iterator[Row]:
    """A sketch with one wrong reading against one least squares of its size."""
    for corners in (20, 100, 200):
        sketch = ring(corners)
        name = sketch.rows[25].name
        sketch.change(name, sketch.row(name).value + 1.0)
        assert solve(sketch).suspect == name
        rng, count = np.random.default_rng(1), len(sketch.rows)
        matrix, side = rng.normal(size=(count, 2 * corners)), rng.normal(size=count)
        ours, theirs = quickest(
            lambda s=sketch: solve(s), lambda m=matrix, b=side: np.linalg.lstsq(m, b), tries=5
        )
        yield Row(
            "one wrong reading",
            f"{corners} corners",
            1000 * ours,
            "one least squares",
            1000 * theirs,
        )


_TRACED = """
import sys, time
import numpy as np
from workbench.errors import RepairError
from workbench.measure.photos.trace import trace
picture, said = np.load(sys.argv[1]), []
start = time.process_time()
try:
    told = f"{len(trace(picture, progress=lambda share, text: said.append(share)).sides)} sides"
except RepairError:
    told = "a sentence"
took = time.process_time() - start
peak = open("/proc/self/status").read().split("VmHWM:")[1].split()[0]
print(took, int(peak) / 1024, len(said), told)
"""


def photographed() -> Iterator[Row]:
    """Photos of every size, traced in a process of their own, against the one of 12 megapixels."""
    outline, times = trapezoid(46, 39, 71, -7).moved(80, 110), dict[int, float]()
    with tempfile.TemporaryDirectory() as folder:
        for width in (3000, 490, 4240, 6000, 8660):
            scene = Scene(pixels=(width, width * 4 // 3), tilt=10)
            path = Path(folder) / "photo.npy"
            np.save(path, photo_on_sheet(outline, scene))
            words = [sys.executable, "-c", _TRACED, str(path)]
            run = subprocess.run(words, check=True, capture_output=True, text=True)
            took, peak, steps, *told = run.stdout.split()
            times[width] = 1000 * float(took)
            size = f"{width**2 * 4 / 3e6:.1f} megapixels, {float(peak):.0f} MB, {steps} steps told, {' '.join(told)}"
            yield Row("photo", size, times[width], "12 megapixels", times[3000])


def large() -> Iterator[Row]:
    """What is larger than anybody needs: its time grows as its size does, not faster."""
    times = {}
    for steps in (100, 500):
        repair = field(steps)
        (times[steps],) = quickest(lambda r=repair: mesh(build(r, Cache())), tries=1)
    yield Row("build and mesh", "500 steps", 1000 * times[500], "100 steps", 1000 * times[100])
    meshes = [BODIES["ball"](), arrays(ball(30, 640))]
    small, huge = quickest(*(lambda m=m: everything(m) for m in meshes), tries=1)
    size = f"{len(meshes[1][1])} triangles"
    yield Row("layers of a ball", size, 1000 * huge, f"{len(meshes[0][1])} triangles", 1000 * small)


PARTS = (built, changed, sized, looked_at, started, cut_up, solved, photographed, large)

HEAD = "| what | size | ours, ms | against, ms | ratio |\n|---|---|---|---|---|"


def main() -> None:
    names = [word for word in sys.argv[1:] if not word.startswith("-")]
    page, (begin, end) = PAGE.read_text(encoding="utf-8"), MARKS
    head, old, tail = re.split(f"{re.escape(begin)}|{re.escape(end)}", page)
    kept = [line for line in old.splitlines() if line.startswith("| ")][1:] if names else []
    for part in PARTS:
        if not names or part.__name__ in names:
            rows = [str(row) for row in part()]
            print("\n".join(rows), flush=True)
            known = {tuple(row.split(" | ")[:2]) for row in rows}
            kept = [line for line in kept if tuple(line.split(" | ")[:2]) not in known] + rows
    if "--write" in sys.argv:
        made = "\n".join([HEAD, *kept])
        PAGE.write_text(f"{head}{begin}\n{made}\n{end}{tail}", encoding="utf-8")


if __name__ == "__main__":
    main()
