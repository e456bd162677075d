"""What shapes that were joined in a way of our own are held against: the kernel's union of the same."""

from __future__ import annotations

import pytest

from workbench.solids.meshes.mesh import closes, mesh, volume


def is_as_the_kernel_makes_it(made, whole) -> None:
    """Whether one solid is valid, and in its parts, areas and mesh what the kernel made of the same."""
    from OCP.BRepCheck import BRepCheck_Analyzer

    assert BRepCheck_Analyzer(made.wrapped).IsValid()
    for kind in ("solids", "shells", "faces", "edges", "vertices"):
        assert len(getattr(made, kind)()) == len(getattr(whole, kind)()), kind
    assert made.volume == pytest.approx(whole.volume, rel=1e-9)
    assert made.area == pytest.approx(whole.area, rel=1e-9)
    areas = [sorted(face.area for face in solid.faces()) for solid in (made, whole)]
    assert areas[0] == pytest.approx(areas[1], rel=1e-6)
    points, triangles = mesh(made)
    assert closes(triangles)
    assert volume(points, triangles) == pytest.approx(volume(*mesh(whole)), rel=1e-3)
