"""Which corners each value of a template holds apart, found by changing it by a hair."""

from __future__ import annotations

from typing import Annotated

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import near_default

from workbench.errors import RepairError
from workbench.solids import catalogue
from workbench.solids import measured_faces as module
from workbench.solids.geometry.features import features
from workbench.solids.measured_faces import Round, Span, Turn, meaning
from workbench.solids.parameters import Size, template_of


def found_in(template, values):
    own = features(template.function(**values))
    return own, meaning(template, values, own)


def measured(own, mark) -> float:
    """What a mark measures on the shape, worked out from its points alone."""
    if isinstance(mark, Span):
        start, end = own.points[list(mark.start)], own.points[list(mark.end)]
        return float(end[0, mark.axis] - start[0, mark.axis])
    if isinstance(mark, Round):
        return float(own.radii[mark.circles[0]]) * (1 if mark.radius else 2)
    way = own.edges[mark.edge][1] - own.edges[mark.edge][0]
    return float(np.degrees(np.arccos(abs(way[mark.axis]) / np.linalg.norm(way))))


@pytest.mark.parametrize("name", ["fin", "plate", "clip", "peg", "tab", "box", "wedge", "tube"])
def test_every_mark_measures_its_own_value(name):
    template = catalogue.find(name)
    values = template.complete({})
    own, known = found_in(template, values)
    assert known.marks
    for mark in known.marks:
        assert measured(own, mark) == pytest.approx(abs(values[mark.field]), abs=1e-4)


@pytest.mark.parametrize(
    ("name", "fields"),
    [
        ("fin", {"bottom", "top", "height", "inset", "thickness"}),
        ("plate", {"width", "height", "thickness"}),
        ("peg", {"diameter", "length"}),
        ("tab", {"width", "length", "thickness"}),
        ("clip", {"length", "tip_thickness", "width", "hook_depth", "lead_in_angle"}),
        ("box", {"width", "depth", "height"}),
        ("cone", {"bottom", "top", "height"}),
        ("sphere", {"diameter"}),
    ],
)
def test_the_main_sizes_of_shipped_templates_are_found(name, fields):
    template = catalogue.find(name)
    _own, known = found_in(template, template.complete({}))
    assert fields <= {mark.field for mark in known.marks}


@given(st.data())
def test_marks_stay_true_as_sizes_move(data):
    template = catalogue.find(data.draw(st.sampled_from(["fin", "tab", "peg", "clip"])))
    values = template.complete(data.draw(near_default(template)))
    try:
        own = features(template.function(**values))
    except RepairError:
        return
    for mark in meaning(template, values, own).marks:
        assert measured(own, mark) == pytest.approx(abs(values[mark.field]), abs=2e-4)


def test_values_that_change_nothing_are_idle():
    plate = catalogue.find("plate")
    _own, bare = found_in(plate, plate.complete({"holes": 0}))
    assert {"spacing", "screw", "fit", "head", "countersink"} <= bare.idle
    _own, holed = found_in(plate, plate.complete({"holes": 2}))
    assert not {"spacing", "screw", "fit"} & holed.idle


def test_a_function_of_the_users_own_is_understood():
    def bracket(
        reach: Annotated[float, Size(5, 50, measure="out from the wall")] = 20.0,
        drop: Annotated[float, Size(5, 50, measure="down the wall")] = 30.0,
        slope: Annotated[float, Size(10, 80, unit="°", measure="of the brace")] = 40.0,
    ):
        """A bracket with a slanting top."""
        from workbench.solids.shapes.profile import prism

        rise = reach * np.tan(np.radians(slope)) / 4
        return prism([(0, 0), (reach, 0), (reach, drop), (reach * 0.75, drop + rise), (0, drop)], 6)

    template = template_of(bracket)
    own, known = found_in(template, template.complete({}))
    kinds = {mark.field: type(mark) for mark in known.marks}
    assert kinds == {"reach": Span, "drop": Span, "slope": Turn}
    for mark in known.marks:
        assert measured(own, mark) == pytest.approx(
            {"reach": 20, "drop": 30, "slope": 40}[mark.field]
        )


def test_what_was_found_out_is_used_again(monkeypatch):
    template = catalogue.find("fin")
    found_in(template, template.complete({"height": 50.0}))
    monkeypatch.setattr(module, "_find_out", lambda *_: pytest.fail("asked again"))
    own, known = found_in(template, template.complete({"height": 51.5}))
    height = next(mark for mark in known.marks if mark.field == "height")
    assert measured(own, height) == pytest.approx(51.5)
