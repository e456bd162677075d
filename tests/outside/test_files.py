"""Files against their published formats, read by programs that are not ours."""

from __future__ import annotations

import re
import struct
import zipfile
from io import BytesIO
from xml.etree import ElementTree

import numpy as np
import pytest
from parts import ALL, cube, divider, screw_plate

from workbench.output.files.stl_step import rounded, step, stl
from workbench.output.files.threemf import Body, threemf
from workbench.solids.building.build import build
from workbench.solids.meshes.mesh import mesh, volume

lib3mf = pytest.importorskip("lib3mf")
trimesh = pytest.importorskip("trimesh")


def solid_mesh(repair):
    return rounded(*mesh(build(repair)))


# -- binary STL: an 80-byte header, a uint32 count, 50 bytes a facet, little-endian ---------------
# (the layout as published by the format's makers, reproduced in the Library of Congress's
# "Sustainability of Digital Formats", entry STL; copy)


def test_stl_byte_layout():
    content = stl(*cube(), "a cube")
    assert len(content) == 84 + 50 * 12 == 684
    (count,) = struct.unpack_from("<I", content, 80)
    assert count == 12
    for i in range(count):
        values = struct.unpack_from("<12fH", content, 84 + 50 * i)
        normal, a, b, c = (np.array(values[k : k + 3]) for k in (0, 3, 6, 9))
        assert values[12] == 0
        # Counter-clockwise from outside: the right-hand normal is the stored one.
        crossed = np.cross(b - a, c - a)
        assert crossed / np.linalg.norm(crossed) == pytest.approx(normal, abs=1e-6)


@pytest.mark.parametrize("make", ALL)
def test_stl_read_by_trimesh(make):
    vertices, faces = solid_mesh(make())
    read = trimesh.load(BytesIO(stl(vertices, faces)), file_type="stl")
    assert read.is_watertight and read.is_winding_consistent
    assert read.volume == pytest.approx(build(make()).volume, rel=2e-3)
    assert len(read.faces) == len(faces)


# -- 3MF Core Specification 1.4.0 -----------------------------------------------------------------


def read_strictly(content: bytes):
    """The file as the 3MF Consortium's own library reads it, every warning an error."""
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromBuffer(content)
    assert [reader.GetWarning(i) for i in range(reader.GetWarningCount())] == []
    return model


def bed() -> bytes:
    """A class's bed: two named parts, one turned."""
    first, second = solid_mesh(divider()), solid_mesh(screw_plate())
    return threemf(
        [
            Body("Ada: divider", *first, (60, 50, 0)),
            Body("Ben: plate", *second, (150, 80, 0), turn=90),
        ],
        {"Title": "Bed 1 of 2", "Revision": 7, "Application": "workbench"},
    )


def test_3mf_package_relationship_and_content_type():
    with zipfile.ZipFile(BytesIO(bed())) as package:
        relationships = ElementTree.fromstring(package.read("_rels/.rels"))
        kinds = {r.attrib["Type"]: r.attrib["Target"] for r in relationships}
        target = kinds["http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"]
        assert target == "/3D/3dmodel.model"
        model = ElementTree.fromstring(package.read(target.lstrip("/")))
        types = package.read("[Content_Types].xml").decode()
    assert "application/vnd.ms-package.3dmanufacturing-3dmodel+xml" in types
    assert model.tag == "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}model"
    assert model.attrib["unit"] == "millimeter"


def test_3mf_read_by_lib3mf_with_names_places_and_metadata():
    model = read_strictly(bed())
    assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
    items = model.GetBuildItems()
    seen = {}
    while items.MoveNext():
        item = items.GetCurrent()
        matrix = item.GetObjectTransform().Fields
        seen[item.GetObjectResource().GetName()] = [list(row) for row in matrix]
    assert seen["Ada: divider"][3] == [60, 50, 0]
    assert seen["Ben: plate"][3] == [150, 80, 0]
    # Row vectors: x goes to +y under a quarter turn.
    assert seen["Ben: plate"][0] == pytest.approx([0, 1, 0], abs=1e-6)
    group = model.GetMetaDataGroup()
    entries = [group.GetMetaData(i) for i in range(group.GetMetaDataCount())]
    found = {entry.GetName(): (entry.GetNameSpace(), entry.GetValue()) for entry in entries}
    assert found["Title"] == ("", "Bed 1 of 2")
    space, revision = found["Revision"]
    assert space and revision == "7"


@pytest.mark.parametrize("make", ALL)
def test_3mf_meshes_are_manifold_and_oriented_in_lib3mf(make):
    vertices, faces = solid_mesh(make())
    model = read_strictly(threemf([Body("part", vertices, faces)], {}))
    meshes = model.GetMeshObjects()
    assert meshes.MoveNext()
    found = meshes.GetCurrentMeshObject()
    assert found.IsManifoldAndOriented()
    assert found.GetVertexCount() == len(vertices)
    assert found.GetTriangleCount() == len(faces)


def test_3mf_edges_are_shared_by_exactly_two_triangles():
    """Counted in the file itself, by the letter of the specification, section 4.1."""
    with zipfile.ZipFile(BytesIO(bed())) as package:
        text = package.read("3D/3dmodel.model").decode()
    for block in text.split("<object ")[1:]:
        edges: dict[tuple[int, int], int] = {}
        for a, b, c in re.findall(r'v1="(\d+)" v2="(\d+)" v3="(\d+)"', block):
            for edge in ((int(a), int(b)), (int(b), int(c)), (int(c), int(a))):
                edges[edge] = edges.get(edge, 0) + 1
        assert set(edges.values()) == {1}
        assert all((b, a) in edges for a, b in edges)


def test_3mf_read_by_trimesh_with_places():
    scene = trimesh.load(BytesIO(bed()), file_type="3mf")
    assert set(scene.geometry) == {"Ada: divider", "Ben: plate"}
    first, second = solid_mesh(divider()), solid_mesh(screw_plate())
    assert scene.volume == pytest.approx(
        volume(first[0].astype(float), first[1]) + volume(second[0].astype(float), second[1]),
        rel=1e-5,
    )
    low, high = scene.bounds
    assert high[0] == pytest.approx(150 + 10, abs=1e-3)  # the plate is 20 mm wide, turned
    assert low[2] == pytest.approx(float(first[0][:, 2].min()), abs=1e-3)


# -- STEP, ISO 10303-21 ---------------------------------------------------------------------------


@pytest.mark.parametrize("make", ALL)
def test_step_is_clear_text_in_millimetres_with_the_same_volume(make, tmp_path):
    from OCP.GProp import GProp_GProps
    from OCP.STEPControl import STEPControl_Reader

    solid = build(make())
    path = tmp_path / "part.step"
    path.write_bytes(step(solid, "part"))
    text = path.read_text(encoding="ascii")
    assert text.startswith("ISO-10303-21;") and text.rstrip().endswith("END-ISO-10303-21;")
    assert re.search(r"SI_UNIT\(\.MILLI\.,\.METRE\.\)", text)
    reader = STEPControl_Reader()
    reader.ReadFile(str(path))
    reader.TransferRoots()
    properties = GProp_GProps()
    from OCP.BRepGProp import BRepGProp

    BRepGProp.VolumeProperties_s(reader.OneShape(), properties)
    assert properties.Mass() == pytest.approx(solid.volume, rel=1e-6)
