"""Solids as files that other programs read: binary STL and STEP.

3MF has a module of its own. Both mesh formats are made from the same rounded triangles, so
that what one holds the other holds too.
"""

from __future__ import annotations

import struct
from datetime import datetime
from io import BytesIO
from typing import TYPE_CHECKING

import numpy as np

from workbench.errors import RepairError
from workbench.solids.meshes import foreign_mesh
from workbench.solids.meshes.mesh import closes
from workbench.words import _

if TYPE_CHECKING:
    from build123d import Shape

#: One facet of a binary STL: normal, three corners, and two bytes that stay zero.
FACET = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])

#: Bytes before the first facet: the title, then the number of facets.
HEADER = 80
PREAMBLE = HEADER + 4


def rounded(vertices: np.ndarray, faces: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """A closed mesh in the single precision that mesh files carry, still closed.

    Corners that become one in single precision are welded, and the slivers between them go.

    vertices : (n, 3) in mm
    faces : (m, 3) indices into vertices, counter-clockwise seen from outside

    Returns
    vertices : (k, 3) float32, each used
    faces : (l, 3) int64

    Raises RepairError when the surface does not close, or a corner is not finite.
    """
    single = np.asarray(vertices, dtype=np.float32) + np.float32(0)
    if not np.isfinite(single).all():
        raise RepairError(_("the surface has a corner that is not finite; build it again"))
    corners, index = np.unique(single, axis=0, return_inverse=True)
    welded = index.reshape(-1)[np.asarray(faces)].reshape(-1, 3)
    a, b, c = welded.T
    kept = welded[(a != b) & (b != c) & (c != a)]
    if not closes(kept):
        raise RepairError(_("the surface does not close; change a size a little and try again"))
    used, compact = np.unique(kept, return_inverse=True)
    return corners[used], compact.reshape(-1, 3).astype(np.int64)


def stl(vertices: np.ndarray, faces: np.ndarray, title: str = "") -> bytes:
    """A mesh as the bytes of a binary STL file, 84 + 50 m of them for m facets, in mm.

    vertices : (n, 3) in mm
    faces : (m, 3) indices into vertices, counter-clockwise seen from outside
    title : put into the header, cut to what fits; the header never begins with "solid", which
        readers take for the text form of STL
    """
    corners = np.asarray(vertices, dtype=np.float32)[faces]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0], axis=1)
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    facets = np.zeros(len(corners), dtype=FACET)
    facets["normal"] = np.divide(normals, lengths, out=np.zeros_like(normals), where=lengths > 0)
    facets["corners"] = corners
    header = f"binary STL, mm; {title}".encode("ascii", "replace")[:HEADER].ljust(HEADER)
    return header + struct.pack("<I", len(facets)) + facets.tobytes()


def read_stl(content: bytes) -> np.ndarray:
    """Corners (m, 3, 3) float32, in mm, of a binary STL file's m facets.

    Raises RepairError when the length of the file is not the one that its facet count asks for.
    """
    if len(content) < PREAMBLE:
        raise RepairError(
            _("the STL file has {found} bytes, fewer than its header; export it again").format(
                found=len(content)
            )
        )
    (count,) = struct.unpack_from("<I", content, HEADER)
    wanted = PREAMBLE + count * FACET.itemsize
    if len(content) != wanted:
        raise RepairError(
            _("the STL file has {found} bytes instead of {wanted}; export it again").format(
                found=len(content), wanted=wanted
            )
        )
    return np.frombuffer(content, dtype=FACET, offset=PREAMBLE)["corners"]


def step(solid: Shape, name: str = "", date: datetime | None = None) -> bytes:
    """A solid as the bytes of a STEP file (ISO 10303-21), in mm, as it stands on the bench."""
    from build123d import Location, export_step

    # A copy that shares the geometry: the name is written from the shape's label.
    named = solid.moved(Location())
    named.label = name
    into = BytesIO()
    try:
        export_step(named, into, timestamp=date)
    except RuntimeError as error:
        raise RepairError(
            _("the STEP file could not be made ({reason}); change a size a little").format(
                reason=error
            )
        ) from None
    return into.getvalue()


def read_step(content: bytes) -> Shape:
    """The shape in a STEP file, or RepairError where it holds none."""
    return foreign_mesh.of_step(content, _("the STEP file"), lambda shape: shape)
