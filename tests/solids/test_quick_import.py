"""build123d loads without what workbench does not use of it, and all of it works nevertheless."""

from __future__ import annotations

import os
import subprocess
import sys
from textwrap import dedent

import pytest

#: Names of everything below a package that is loaded.
LOADED = """
import sys
def loaded(*names):
    return sorted(m for m in sys.modules if any(f"{m}.".startswith(f"{n}.") for n in names))
"""

USES = {
    "clusters": """
        import build123d.brep_from_stl as used
        assert used.DBSCAN(eps=1.0).eps == 1.0
        assert loaded("sklearn")""",
    "a DXF file": """
        from build123d import Box, ExportDXF, Plane, Unit, section
        drawn = ExportDXF(unit=Unit.MM)
        drawn.add_shape(section(Box(9, 8, 3), Plane.XY))
        drawn.write("part.dxf")
        assert type(ExportDXF._UNITS_LOOKUP[Unit.IN]) is int
        assert "LINE" in open("part.dxf").read()""",
    "a 3MF file": """
        from build123d import Box, Mesher, Unit
        written = Mesher(unit=Unit.MM)
        written.add_shape(Box(9, 8, 3))
        written.write("part.3mf")
        (read,) = Mesher().read("part.3mf")
        assert abs(read.volume - 216) < 1e-6""",
    "an SVG file": """
        from build123d import Box, ExportSVG, Plane, import_svg, section
        drawn = ExportSVG()
        drawn.add_shape(section(Box(9, 8, 3), Plane.XY))
        drawn.write("part.svg")
        assert import_svg("part.svg")""",
    "a search for a point": """
        from build123d import Edge, Vector
        spline = Edge.make_spline([(0, 0), (5, 8), (9, 0)])
        assert 0 < spline.param_at_point(spline.position_at(0.3)) < 1""",
    "a hull": """
        from build123d import ConvexPolyhedron
        corners = [(0, 0, 0), (2, 0, 0), (0, 2, 0), (0, 0, 2), (0.1, 0.1, 0.1)]
        assert abs(ConvexPolyhedron(corners).volume - 8 / 6) < 1e-9""",
    "a tree in words": """
        from build123d import Box
        assert "Solid" in Box(1, 2, 3).show_topology()""",
}


#: Each use in a copy of a process that has the kernel and nothing else, as if it alone were asked
#: for; the names of those that failed are printed.
EACH = """
import os, traceback
import workbench.solids.geometry.kernel
for name, code in USES.items():
    if not (child := os.fork()):
        try:
            exec(code)
        except BaseException:
            traceback.print_exc()
            os._exit(1)
        os._exit(0)
    if os.waitpid(child, 0)[1]:
        print(name)
"""


def run(tmp_path, code):
    done = subprocess.run(
        [sys.executable, "-c", LOADED + dedent(code)],
        check=True,
        cwd=tmp_path,
        stdout=subprocess.PIPE,
        text=True,
    )
    return done.stdout


def test_the_kernel_loads_alone_and_nothing_stands_in_for_the_rest_afterwards(tmp_path):
    run(
        tmp_path,
        """
        import workbench.solids.geometry.kernel
        import build123d
        from workbench.solids.geometry.quick_import import UNUSED
        assert loaded(*UNUSED) == [], loaded(*UNUSED)
        assert not [f for f in sys.meta_path if f.__class__.__module__.startswith("workbench")]
        import scipy.optimize, sklearn
        assert sklearn.__file__ and scipy.optimize.linprog([1], bounds=(2, 3)).x == [2]""",
    )


@pytest.mark.skipif(not hasattr(os, "fork"), reason="copies the process by fork")
def test_what_was_left_out_comes_when_it_is_used(tmp_path):
    uses = {name: dedent(code) for name, code in USES.items()}
    assert run(tmp_path, f"USES = {uses!r}\n{EACH}") == ""


def test_what_is_loaded_already_stays(tmp_path):
    run(
        tmp_path,
        """
        import scipy.optimize as real
        import workbench.solids.geometry.kernel
        import build123d.objects_curve as used
        assert used.minimize is real.minimize
        assert sys.modules["scipy.optimize"] is real""",
    )


def test_build123d_that_is_there_already_is_left_alone(tmp_path):
    run(
        tmp_path,
        """
        import build123d
        before = list(sys.meta_path)
        import workbench.solids.geometry.kernel
        assert sys.meta_path == before""",
    )


def test_the_kernel_s_objects_are_looked_through_for_garbage_neither_then_nor_later(tmp_path):
    run(
        tmp_path,
        """
        import gc
        searches = []
        gc.callbacks.append(lambda phase, told: searches.append("build123d" in sys.modules))
        import workbench.solids.geometry.kernel
        before = len(searches)
        import build123d
        assert gc.isenabled() and len(searches) == before
        assert gc.get_freeze_count() > 100_000 > len(gc.get_objects())
        gc.collect()
        assert len(searches) > before""",
    )
