"""3MF: one file for a print bed, with every part's name, place and mesh.

Written to the 3MF Core Specification 1.4.0: a zip package whose model part is found through a
relationship, in millimetres, every edge shared by exactly two triangles.
"""

from __future__ import annotations

import math
import re
import zipfile
import zlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from io import BytesIO
from xml.etree import ElementTree
from xml.sax.saxutils import escape, quoteattr

import numpy as np

from workbench import gate
from workbench.errors import RepairError
from workbench.solids.meshes.mesh import closes
from workbench.words import _

CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
MODEL_TYPE = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
MODEL_PART = "3D/3dmodel.model"
RELATIONSHIPS = "http://schemas.openxmlformats.org/package/2006/relationships"
THUMBNAIL_TYPE = f"{RELATIONSHIPS}/metadata/thumbnail"
CONTENT_TYPES = "http://schemas.openxmlformats.org/package/2006/content-types"
#: Names of metadata that the specification does not define need a name space: this is ours.
OURS = "urn:x-repair-workbench:record"

#: Metadata names that the core specification defines.
DEFINED = frozenset(
    (
        *("Title", "Designer", "Description", "Copyright", "LicenseTerms", "Rating"),
        *("CreationDate", "ModificationDate", "Application"),
    )
)

#: Every entry bears this date, so that equal parts make equal files.
_EPOCH = (1980, 1, 1, 0, 0, 0)
_NOT_IN_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


@dataclass(frozen=True, eq=False)
class Body:
    """A named part with its place on the bed.

    vertices : (n, 3) in mm, as the part lies: its lowest point at z = 0
    faces : (m, 3) indices into vertices, counter-clockwise seen from outside
    at : where its origin goes, in mm from the bed's front left corner
    turn : degrees about the upright line through its origin, before it is moved
    """

    name: str
    vertices: np.ndarray
    faces: np.ndarray
    at: tuple[float, float, float] = (0.0, 0.0, 0.0)
    turn: float = 0.0

    @property
    def placed(self) -> np.ndarray:
        """The vertices (n, 3) in mm where they lie on the bed."""
        c, s = math.cos(math.radians(self.turn)), math.sin(math.radians(self.turn))
        return self.vertices @ np.array([[c, s, 0], [-s, c, 0], [0, 0, 1]]) + np.array(self.at)


def threemf(
    bodies: Sequence[Body], metadata: Mapping[str, object], thumbnail: bytes | None = None
) -> bytes:
    """Bodies on one bed as the bytes of a 3MF file.

    bodies : at least one, each a closed mesh
    metadata : such as Title, Description, CreationDate, Application; a name that the
        specification does not define, such as Revision, goes into our own name space
    thumbnail : a PNG picture that file managers show

    Raises RepairError when there is no body, or one does not close.
    """
    if not bodies:
        raise RepairError(_("there is no part to put on the bed; add one"))
    for body in bodies:
        if not closes(np.asarray(body.faces)):
            raise RepairError(
                _("{name}: the surface does not close; change a size a little").format(
                    name=body.name
                )
            )
    into = BytesIO()
    with zipfile.ZipFile(into, "w", zipfile.ZIP_DEFLATED) as package:
        _put(package, "[Content_Types].xml", _content_types())
        _put(package, "_rels/.rels", _relationships(thumbnail is not None))
        _put(package, MODEL_PART, "".join(_model(bodies, metadata)))
        if thumbnail is not None:
            _put(package, "Metadata/thumbnail.png", thumbnail)
    return into.getvalue()


def read_threemf(content: bytes) -> tuple[list[Body], dict[str, str]]:
    """The bodies and the metadata of a 3MF file that :func:`threemf` wrote.

    Raises RepairError when it is no 3MF file in millimetres, or a mesh in it does not close.
    """
    try:
        return _read(content)
    except (
        zipfile.BadZipFile,
        zlib.error,
        EOFError,
        NotImplementedError,
        KeyError,
        ElementTree.ParseError,
        ValueError,
        OverflowError,
        StopIteration,
    ):
        raise RepairError(_("the 3MF file is damaged; export it again")) from None


def _put(package: zipfile.ZipFile, name: str, content: str | bytes) -> None:
    entry = zipfile.ZipInfo(name, _EPOCH)
    entry.compress_type = zipfile.ZIP_DEFLATED
    package.writestr(entry, content)


def _content_types() -> str:
    kinds = {
        "rels": "application/vnd.openxmlformats-package.relationships+xml",
        "model": "application/vnd.ms-package.3dmanufacturing-3dmodel+xml",
        "png": "image/png",
    }
    rows = "".join(f'<Default Extension="{k}" ContentType="{v}"/>' for k, v in kinds.items())
    return f'<?xml version="1.0" encoding="UTF-8"?>\n<Types xmlns="{CONTENT_TYPES}">{rows}</Types>'


def _relationships(thumbnail: bool) -> str:
    rows = [f'<Relationship Target="/{MODEL_PART}" Id="model" Type="{MODEL_TYPE}"/>']
    if thumbnail:
        rows.append(
            f'<Relationship Target="/Metadata/thumbnail.png" Id="thumbnail" Type="{THUMBNAIL_TYPE}"/>'
        )
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<Relationships xmlns="{RELATIONSHIPS}">'
        f"{''.join(rows)}</Relationships>"
    )


def _model(bodies: Sequence[Body], metadata: Mapping[str, object]) -> Iterator[str]:
    yield '<?xml version="1.0" encoding="UTF-8"?>\n'
    yield f'<model unit="millimeter" xml:lang="en" xmlns="{CORE}" xmlns:repair="{OURS}">\n'
    for name, value in metadata.items():
        full = name if name in DEFINED else f"repair:{name}"
        yield f"<metadata name={quoteattr(full)}>{escape(_clean(str(value)))}</metadata>\n"
    yield "<resources>\n"
    for number, body in enumerate(bodies, 1):
        yield f'<object id="{number}" type="model" name={quoteattr(_clean(body.name))}><mesh>\n'
        yield "<vertices>\n"
        corners = np.asarray(body.vertices, dtype=np.float32).tolist()
        yield "".join(f'<vertex x="{x:.9g}" y="{y:.9g}" z="{z:.9g}"/>\n' for x, y, z in corners)
        yield "</vertices>\n<triangles>\n"
        rows = np.asarray(body.faces).tolist()
        yield "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>\n' for a, b, c in rows)
        yield "</triangles>\n</mesh></object>\n"
    yield "</resources>\n<build>\n"
    for number, body in enumerate(bodies, 1):
        yield f'<item objectid="{number}" transform="{_transform(body)}"/>\n'
    yield "</build>\n</model>\n"


def _transform(body: Body) -> str:
    c, s = math.cos(math.radians(body.turn)), math.sin(math.radians(body.turn))
    values = (c, s, 0, -s, c, 0, 0, 0, 1, *body.at)
    return " ".join(f"{round(v, 9) + 0.0:.9g}" for v in values)


def _clean(text: str) -> str:
    return _NOT_IN_XML.sub(" ", text)


def _read(content: bytes) -> tuple[list[Body], dict[str, str]]:
    with gate.zipped(content) as package:
        found = package.testzip()
        if found is not None:
            raise ValueError(found)
        relationships = gate.xml(package.read("_rels/.rels"))
        target = next(r.attrib["Target"] for r in relationships if r.attrib["Type"] == MODEL_TYPE)
        model = gate.xml(package.read(target.lstrip("/")))
    if model.attrib.get("unit", "millimeter") != "millimeter":
        raise ValueError("unit")
    metadata = {
        row.attrib["name"].removeprefix("repair:"): row.text or ""
        for row in model.iter(f"{{{CORE}}}metadata")
    }
    objects = {row.attrib["id"]: row for row in model.iter(f"{{{CORE}}}object")}
    items = model.iter(f"{{{CORE}}}item")
    return [_body(objects[item.attrib["objectid"]], item) for item in items], metadata


def _body(row: ElementTree.Element, item: ElementTree.Element) -> Body:
    vertices = [[float(v.attrib[axis]) for axis in "xyz"] for v in row.iter(f"{{{CORE}}}vertex")]
    faces = [
        [int(t.attrib[corner]) for corner in ("v1", "v2", "v3")]
        for t in row.iter(f"{{{CORE}}}triangle")
    ]
    triangles = np.array(faces, dtype=np.int64).reshape(-1, 3)
    if not closes(triangles) or triangles.max() >= len(vertices):
        raise ValueError("mesh")
    move = [float(v) for v in item.attrib.get("transform", "1 0 0 0 1 0 0 0 1 0 0 0").split()]
    return Body(
        row.attrib.get("name", ""),
        np.array(vertices),
        triangles,
        (move[9], move[10], move[11]),
        math.degrees(math.atan2(move[1], move[0])),
    )
