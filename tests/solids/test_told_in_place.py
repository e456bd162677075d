"""What to measure is told as the step stands: the size grows along the way that is named."""

from __future__ import annotations

import numpy as np
import pytest

from workbench.solids import catalogue, told_in_place
from workbench.solids.building.build import assemble
from workbench.solids.parameters import Size
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import FACES, At, Seat

#: Every size of a shipped template that is told by its template's axes.
SIZES = [
    (name, parameter.name)
    for name in catalogue.SHIPPED
    for parameter in catalogue.find(name).parameters
    if isinstance(parameter.kind, Size)
    and parameter.kind.measure.endswith(tuple(told_in_place._AXES))
]

#: The axis of the bench that each way is, for a seat on each side.
WAYS = {"from left to right": 0, "from front to back": 1, "from bottom to top": 2, "up the body": 2}


def body() -> Repair:
    return Repair("part").add("box", name="body", width=90, depth=90, height=90)


def grown(repair: Repair, field: str) -> np.ndarray:
    """By how much a step grows along each axis of the bench when a size is larger by 1 mm."""
    sizes = []
    for more in (0, 1):
        value = repair.step("it").values[field] + more
        other = repair.copy().change("it", **{field: value})
        size = assemble(other).parts["it"].bounding_box().size
        sizes.append([size.X, size.Y, size.Z])
    return np.subtract(*sizes[::-1])


@pytest.mark.parametrize("face", FACES)
@pytest.mark.parametrize(("template", "field"), SIZES)
def test_a_size_grows_along_the_way_that_is_named_wherever_it_sits(template, field, face):
    by = {"top": "bottom", "left": "back"}.get(face, "bottom")
    repair = body().add(template, Seat(f"{face} of body", turn=90, by=by), "it")
    told = repair.step("it").parameter(field).kind.measure.rpartition(", ")[2]
    told = {"left to right": "from left to right"}.get(told, told)
    out = {"left": 0, "right": 0, "front": 1, "back": 1}.get(face)
    axis = out if told == "out of the body" else WAYS[told]
    by_axis = grown(repair, field)
    if by_axis.max() > 0.01:  # an opening does not change what is round it
        assert axis == int(np.argmax(by_axis)) and by_axis[axis] == pytest.approx(1.0, abs=0.01)


def test_the_divider_s_rib_is_told_up_the_blade_and_out_of_it():
    divider = Repair("divider").add("fin", name="blade")
    rib = divider.add("box", "front of blade", "rib", width=2.4, depth=30, height=1.6).step("rib")
    told = {field: rib.parameter(field).kind.measure for field in ("width", "depth", "height")}
    assert told == {
        "width": "from left to right",
        "depth": "up the blade",
        "height": "out of the blade",
    }


def test_every_face_of_the_tool_tells_it_so(tmp_path):
    """The notebook and its cells, the command's help, and the bench's fields."""
    from workbench.jupyter.bench import Bench
    from workbench.output.notebook.beginning import beginning
    from workbench.output.notebook.template_notebook import save_template

    divider = Repair("divider").add("fin", name="blade")
    divider.add("box", "front of blade", "rib", width=2.4, depth=30, height=1.6)
    path = save_template(divider, tmp_path)
    assert "up the blade" in path.read_text() and "out of the blade" in path.read_text()
    told = beginning(str(path)).sizes
    assert "up the blade" in [getattr(asked.kind, "measure", "") for asked, _now in told.values()]
    bench = Bench(divider)
    try:
        assert bench.fields("rib")["depth"].help().startswith("up the blade")
    finally:
        bench.close()


@pytest.mark.parametrize(
    ("turn", "told"),
    [(0, "from left to right"), (19, "from left to right"), (90, "from front to back"), (45, None)],
)
def test_what_is_turned_freely_is_told_so(turn, told):
    step = Repair("part").add("plate", At(turn=turn), "it").step("it")
    assert step.parameter("width").kind.measure == (
        told or "from left to right, before it is turned"
    )


def test_a_template_s_own_words_stay_where_they_are_true():
    for name in catalogue.SHIPPED:
        step = Repair("part").add(name, name="it").step("it")
        for parameter in catalogue.find(name).parameters:
            assert step.parameter(parameter.name) == parameter


def test_what_stands_before_the_axis_is_kept_and_translated():
    step = body().add("stop", Seat("front of body"), "it").step("it")
    assert step.parameter("length").kind.measure == "of the base, up the body"
    heads = {
        parameter.kind.measure.removesuffix(ending).removesuffix(", ")
        for name in catalogue.SHIPPED
        for parameter in catalogue.find(name).parameters
        for ending in told_in_place._AXES
        if getattr(parameter.kind, "measure", "").endswith(f", {ending}")
    }
    assert heads <= set(told_in_place._heads())
