"""A shape of the kernel that may never be done, made where it can be ended."""

from __future__ import annotations

from collections.abc import Callable
from io import BytesIO
from typing import TYPE_CHECKING

from workbench import fork

if TYPE_CHECKING:
    from build123d import Solid


def bounded(make: Callable[[], Solid], start: Solid) -> Solid:
    """What ``make`` makes of a solid, within the limits of :data:`workbench.process.SHAPE`.

    Parameters
    ----------
    make : gives ``start`` itself where there is nothing to do

    Raises
    ------
    RepairError
        What ``make`` raises, or that it took too long.
    """
    made: list[Solid] = []

    def as_bytes() -> bytes:
        made.append(make())
        return b"" if made[0] is start else _written(made[0])

    found = fork.in_copy(as_bytes)
    if made:  # it was made here
        return made[0]
    return _read(found) if found else start


def _written(solid: Solid) -> bytes:
    from OCP.BinTools import BinTools

    into = BytesIO()
    BinTools.Write_s(solid.wrapped, into)
    return into.getvalue()


def _read(content: bytes) -> Solid:
    from build123d import Solid
    from OCP.BinTools import BinTools
    from OCP.TopoDS import TopoDS, TopoDS_Shape

    shape = TopoDS_Shape()
    BinTools.Read_s(shape, BytesIO(content))
    return Solid(TopoDS.Solid(shape))
