"""The bench and every control on it, driven without a browser."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import ipywidgets as w
import numpy as np
import pytest

from workbench.checks.report import Finding, Report
from workbench.errors import RepairError
from workbench.jupyter import bench as benches
from workbench.jupyter.bench import Bench, bench
from workbench.jupyter.page_buttons import widgets_of
from workbench.jupyter.pages.files_page import Files
from workbench.jupyter.pages.findings_page import Findings, as_html, summary
from workbench.jupyter.pages.gallery import Shelf
from workbench.jupyter.pages.use import Use
from workbench.jupyter.panel import Panel
from workbench.jupyter.picture.preview import Preview
from workbench.solids.building.build import build
from workbench.solids.catalogue import register
from workbench.solids.meshes import mesh as meshes
from workbench.solids.parameters import Size
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import At, Seat

pytestmark = pytest.mark.usefixtures("in_a_folder_of_its_own")


@pytest.fixture
def repair() -> Repair:
    return (
        Repair("tray divider")
        .add("fin", name="blade", bottom=46, top=37, height=71, inset=-7, thickness=1.6)
        .add("tab", seat="bottom of blade", name="foot", width=30, length=4, thickness=2.4)
    )


@pytest.fixture
def looking_closer(repair: Repair):
    """A bench that checks, draws and pictures as soon as nothing moves."""
    shown = Bench(repair)
    yield shown
    shown.close()
    assert shown.settle()


def panel(on_bench: Bench, kind: type) -> Any:
    return on_bench.panel(kind)


def every_widget(root: w.Widget) -> list[w.Widget]:
    children = getattr(root, "children", ())
    return [root, *(found for child in children for found in every_widget(child))]


def volume_of_preview(preview: Preview) -> float:
    return meshes.volume(*preview.part.mesh)


# -- sizes and the live picture ------------------------------------------------------------------


def test_moving_a_slider_changes_repair_picture_and_volume(on_bench: Bench, repair: Repair):
    before = on_bench.shown.volume
    on_bench.fields("blade")["bottom"].slider.value = 47.0
    assert repair.step("blade").values["bottom"] == 47.0
    # A trapezoid gains half a millimetre of mean width for each at its bottom: 0.5 x 71 x 1.6.
    assert on_bench.shown.volume - before == pytest.approx(0.5 * 71 * 1.6, abs=1e-3)
    assert volume_of_preview(on_bench.preview) == pytest.approx(on_bench.shown.volume, rel=1e-5)
    assert "mm³" in on_bench.line.value


def test_a_typed_reading_is_taken_exactly(on_bench: Bench, repair: Repair):
    on_bench.fields("blade")["bottom"].box.value = "34.85"
    assert repair.step("blade").values["bottom"] == 34.85
    assert on_bench.shown.repair.step("blade").values["bottom"] == 34.85


def test_bad_input_says_one_sentence_and_keeps_the_last_good_solid(on_bench: Bench):
    good = on_bench.shown
    field = on_bench.fields("blade")["bottom"]
    for typed in ("-4", "abc", "nan", "10 m"):
        field.box.value = typed
        assert "wb-refusal" in field.note.value
        assert on_bench.shown is good


def test_sizes_that_cannot_be_built_keep_the_last_good_solid_and_say_so_by_the_field(
    on_bench: Bench, repair: Repair
):
    good = on_bench.shown
    on_bench.edit(lambda r: r.add("box", seat=At(x=120), name="nub"))
    assert on_bench.refusal and on_bench.shown is good
    assert "nub" in on_bench.message.value and 'role="alert"' in on_bench.message.value
    height = on_bench.fields("blade")["height"]
    height.slider.value = 60
    assert "wb-refusal" in height.note.value and "nub" in height.note.value
    on_bench.undo()
    on_bench.undo()
    assert on_bench.refusal == "" and on_bench.message.value == ""
    assert on_bench.shown.volume == pytest.approx(good.volume)


def test_a_size_that_changes_leaves_its_old_reading_behind(on_bench: Bench, repair: Repair):
    from workbench.measure.reading import Reading

    on_bench.edit(lambda r: r.change("blade", bottom=Reading([45.9, 46.0, 45.95])))
    assert "blade.bottom" in repair.readings
    on_bench.fields("blade")["bottom"].slider.value = 40
    assert "blade.bottom" not in repair.readings


def test_a_rapid_burst_beside_the_caller_shows_the_last_value(repair: Repair):
    shown = Bench(repair, inline=False)
    assert shown.settle()
    builds = []
    original = shown._built

    def counted(result: Any, value: Any) -> None:
        builds.append(value)
        original(result, value)

    shown._builder._done = counted
    slider = shown.fields("blade")["bottom"].slider
    values = [round(36 + n / 10, 1) for n in range(60)]
    for value in values:
        slider.value = value
    assert shown.settle()
    assert len(builds) < len(values)
    assert builds[-1].step("blade").values["bottom"] == values[-1]
    assert shown.shown.repair.step("blade").values["bottom"] == values[-1]
    assert volume_of_preview(shown.preview) == pytest.approx(build(repair).volume, rel=1e-5)
    shown.close()


# -- undo and redo -------------------------------------------------------------------------------


def test_undo_and_redo_move_the_controls_and_the_picture(on_bench: Bench):
    before = on_bench.shown.volume
    field = on_bench.fields("blade")["bottom"]
    assert on_bench.bar.undo.disabled and on_bench.bar.redo.disabled
    field.slider.value = 45.0
    assert not on_bench.bar.undo.disabled
    on_bench.bar.undo.click()
    assert field.slider.value == 46.0 and field.box.value == "46"
    assert on_bench.shown.volume == pytest.approx(before)
    on_bench.bar.redo.click()
    assert field.slider.value == 45.0 and on_bench.bar.undo.disabled is False


def test_the_keyboard_s_undo_arrives_from_the_browser(on_bench: Bench, repair: Repair):
    on_bench.fields("blade")["bottom"].slider.value = 45.0
    reach = on_bench.children[-1]
    reach._handle_custom_msg({"do": "undo"}, [])
    assert repair.step("blade").values["bottom"] == 46.0
    reach._handle_custom_msg({"do": "redo"}, [])
    reach._handle_custom_msg({"do": "something else"}, [])
    assert repair.step("blade").values["bottom"] == 45.0


def test_what_a_hand_that_holds_a_slider_does_is_one_edit(on_bench: Bench, repair: Repair):
    reach, slider = on_bench.children[-1], on_bench.fields("blade")["bottom"].slider
    slider.value = 44.0
    reach._handle_custom_msg({"do": "hold"}, [])
    slider.value = 45.0
    slider.value = 47.0
    reach._handle_custom_msg({"do": "release"}, [])
    slider.value = 48.0
    on_bench.undo()
    assert repair.step("blade").values["bottom"] == 44.0
    on_bench.undo()
    assert repair.step("blade").values["bottom"] == 46.0


# -- steps ---------------------------------------------------------------------------------------


def test_a_step_is_added_on_a_face_and_chosen(on_bench: Bench, repair: Repair):
    add = on_bench.add
    add.template.value, add.name.value = "box", "grip"
    add.on.value, add.face.value = "blade", "top"
    add.button.click()
    step = repair.step("grip")
    assert step.place == Seat("top of blade") and not step.cuts
    assert on_bench.steps.chosen == "grip"
    assert "width" in on_bench.fields("grip")
    assert on_bench.shown.repair == repair


def test_a_step_stands_by_itself_where_it_sits_on_nothing(on_bench: Bench, repair: Repair):
    add = on_bench.add
    add.template.value, add.on.value = "box", ""
    assert add.face.disabled
    add.button.click()
    assert repair.step("box").place == At()
    assert on_bench.step_pages.buttons.value == 1, "its place is what comes next"


def test_a_step_without_a_place_is_no_fault_until_it_has_one(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(Bench, "_look_closer", lambda self, made: iter(()))
    away = Repair("away").add("box", name="base", seat=At(x=80), width=20, depth=20, height=5)
    on_bench = Bench(away, inline=True)
    on_bench.add.template.value, on_bench.add.on.value = "box", ""
    on_bench.add.name.value = "block"
    on_bench.add.button.click()
    assert "block has no place yet" in on_bench.message.value
    assert "wb-stop" not in on_bench.message.value + on_bench.bar.verdict.value
    assert "Give block a place." in on_bench.bar.verdict.value
    on_bench.edit(lambda repair: repair.change("block", place=At(x=30)))
    assert "wb-stop" in on_bench.message.value and "wb-stop" in on_bench.bar.verdict.value
    on_bench.edit(lambda repair: repair.change("block", place=Seat("top of base")))
    assert on_bench.message.value == ""
    on_bench.close()


def test_a_cut_goes_wholly_into_its_face(on_bench: Bench, repair: Repair):
    add = on_bench.add
    add.template.value, add.name.value = "cylinder", "hole"
    add.on.value, add.face.value, add.joins.value = "blade", "front", "cut"
    before = on_bench.shown.volume
    add.button.click()
    assert repair.step("hole").cuts
    diameter = repair.step("hole").values["diameter"]
    bored = np.pi / 4 * diameter**2 * 1.6
    assert before - on_bench.shown.volume == pytest.approx(bored, rel=1e-6)


@pytest.mark.parametrize("through", [True, False])
def test_a_hole_goes_right_through_whatever_the_thickness(
    on_bench: Bench, repair: Repair, through: bool
):
    add = on_bench.add
    assert add.through.layout.display == "none"
    add.template.value, add.name.value = "cylinder", "hole"
    add.on.value, add.face.value, add.joins.value = "blade", "front", "cut"
    assert add.through.layout.display == ""
    add.through.value = through
    add.button.click()
    repair.change("blade", thickness=3.0)
    hole = repair.step("hole")
    assert hole.values["height"] == (3.0 if through else 10.0)
    assert hole.number("place.sink") == hole.values["height"]


def test_enter_adds_a_step_by_the_name_that_was_typed(on_bench: Bench, repair: Repair):
    on_bench.add.template.value = "box"
    on_bench.reach._hear(None, {"do": "add", "name": "ledge"}, [])
    assert repair.steps[-1].name == "ledge" and on_bench.add.name.value == ""
    on_bench.reach._hear(None, {"do": "undo"}, [])
    assert repair.steps[-1].name != "ledge"


def test_a_step_sits_on_the_wall_of_a_room_that_was_cut(on_bench: Bench, repair: Repair):
    add = on_bench.add
    add.template.value, add.name.value = "cylinder", "hole"
    add.on.value, add.face.value, add.joins.value = "blade", "front", "cut"
    add.button.click()
    assert "hole" in [value for _label, value in add.on.options]
    assert add.on.value == "blade", "what adds is offered first"


def test_a_name_that_is_taken_is_refused_in_the_form(on_bench: Bench, repair: Repair):
    add = on_bench.add
    add.template.value, add.name.value = "box", "foot"
    add.button.click()
    assert len(repair.steps) == 2
    assert "foot" in add.note.value and 'role="alert"' in add.note.value


def test_the_form_offers_shapes_of_one_s_own(on_bench: Bench):
    @register
    def bench_test_block(width: Annotated[float, Size(1, 50)] = 10.0):
        """A block of one's own."""

    on_bench.add.show(on_bench.repair)
    assert "bench_test_block" in [value for _label, value in on_bench.add.template.options]


def test_a_step_is_taken_out_but_not_from_under_another(on_bench: Bench, repair: Repair):
    on_bench.steps.list.value = "blade"
    on_bench.steps.remove.click()
    assert len(repair.steps) == 2 and "foot" in on_bench.steps.note.value
    on_bench.steps.list.value = "foot"
    on_bench.steps.remove.click()
    assert [step.name for step in repair.steps] == ["blade"]
    assert on_bench.steps.chosen == "blade"


def test_the_list_says_what_adds_what_cuts_and_where(on_bench: Bench):
    on_bench.edit(lambda r: r.cut("cylinder", seat=Seat("front of blade", sink=5), name="hole"))
    labels = [label for label, _name in on_bench.steps.list.options]
    assert labels == [
        "+ blade: fin",
        "+ foot: tab on bottom of blade",
        "− hole: cylinder on front of blade",
    ]


def test_a_seat_is_moved_along_turned_and_put_on_another_face(on_bench: Bench, repair: Repair):
    on_bench.choose("foot")
    on_bench.place.field("along").box.value = "2.5"
    assert repair.step("foot").place == Seat("bottom of blade", along=2.5)
    on_bench.place.face.value = "top"
    assert repair.step("foot").place == Seat("top of blade", along=2.5)
    on_bench.place.on.value = ""
    assert repair.step("foot").place == At()
    on_bench.place.field("z").box.value = "-3,5"
    assert repair.step("foot").place == At(z=-3.5)


def test_a_step_can_be_made_a_cut(on_bench: Bench, repair: Repair):
    on_bench.choose("foot")
    on_bench.place.field("sink").box.value = "4"
    before = on_bench.shown.volume
    on_bench.place.joins.value = "cut"
    assert repair.step("foot").cuts
    assert on_bench.shown.volume < before


def test_a_seat_in_a_ring_is_refused_and_the_controls_go_back(on_bench: Bench, repair: Repair):
    on_bench.choose("blade")
    on_bench.place.on.value = "foot"
    assert repair.step("blade").place == At()
    assert on_bench.place.on.value == ""
    assert "already sits" in on_bench.place.note.value


def test_an_empty_repair_can_be_begun_on_the_bench():
    repair = Repair("something new")
    shown = Bench(repair)
    assert shown.shown is None and "add one" in shown.message.value
    shown.add.template.value = "plate"
    shown.add.button.click()
    assert shown.shown is not None and shown.message.value == ""
    assert len(shown.preview.part.mesh[1]) == 12
    shown.close()


# -- preview -------------------------------------------------------------------------------------


def test_the_pieces_are_shown_apart_and_together_again(on_bench: Bench):
    preview = on_bench.preview

    def height() -> float:
        points, triangles = preview.part.mesh
        return float(np.ptp(points[triangles][..., 2]))

    together = height()
    preview.show_apart(True)
    parts = sum(shape.volume for shape in on_bench.shown.assembly.parts.values())
    assert volume_of_preview(preview) == pytest.approx(parts, rel=1e-5)
    assert height() > together
    assert set(preview.part.owners) == {0, 1}
    preview.show_apart(False)
    assert height() == together


def test_the_sizes_in_the_picture_are_those_of_the_chosen_step(on_bench: Bench):
    def sizes() -> dict[str, str]:
        return {size["field"]: size["text"] for size in on_bench.preview.scene["sizes"]}

    on_bench.steps.list.value = "blade"
    assert sizes()["thickness"] == "1.6" and sizes()["height"] == "71"
    on_bench.steps.list.value = "foot"
    assert sizes() == {"width": "30", "length": "4", "thickness": "2.4"}
    assert on_bench.preview.scene["chosen"] == 1


def test_a_click_in_the_picture_chooses_the_step_and_opens_its_sizes(on_bench: Bench):
    hear = on_bench.preview.picture._hear
    hear(None, {"do": "choose", "with": [1]}, [])
    assert on_bench.steps.chosen == "foot"
    hear(None, {"do": "choose", "with": [7]}, [])  # a step that is gone by now
    assert on_bench.steps.chosen == "foot"
    on_bench.step_pages.buttons.value = 1
    hear(None, {"do": "size", "with": ["blade", "top"]}, [])
    assert on_bench.steps.chosen == "blade" and on_bench.step_pages.buttons.value == 0


def test_a_drag_in_the_picture_keeps_to_the_size_s_own_steps_and_range(on_bench: Bench):
    hear = on_bench.preview.picture._hear
    hear(None, {"do": "drag", "with": ["blade", "height", 70.537]}, [])
    field = on_bench.fields("blade")["height"]
    assert on_bench.repair.step("blade").values["height"] == 70.5
    assert field.slider.value == 70.5 and field.box.value == "70.5"
    hear(None, {"do": "drag", "with": ["blade", "height", -8.0]}, [])
    assert on_bench.repair.step("blade").values["height"] == 1.0


def test_what_a_size_fits_goes_with_it_into_the_picture(on_bench: Bench):
    on_bench.edit(lambda repair: repair.fit("foot", "thickness", "2.6"))
    on_bench.choose("foot")
    mating = {size["field"]: size.get("mating") for size in on_bench.preview.scene["sizes"]}
    assert mating == {"width": None, "length": None, "thickness": 2.6}


def test_the_header_does_not_call_a_part_good_that_is_not_the_one_typed(looking_closer: Bench):
    shown = looking_closer
    assert shown.settle()
    before = shown.bar.verdict.value
    shown.edit(lambda repair: repair.add("box", name="far", seat=At(200)))
    assert shown.settle()
    assert "cannot be built" in shown.bar.verdict.value and "wb-stop" in shown.bar.verdict.value
    shown.undo()
    assert shown.settle()
    assert shown.bar.verdict.value == before


def test_adding_a_step_ends_in_its_sizes(on_bench: Bench):
    on_bench.step_pages.buttons.value = 2
    on_bench.add.shapes.chosen = "box"
    on_bench.add.button.click()
    assert on_bench.repair.steps[-1].template == "box"
    assert on_bench.steps.chosen == on_bench.repair.steps[-1].name
    assert on_bench.step_pages.buttons.value == 0


def test_sizes_that_change_nothing_are_set_back_until_they_do(on_bench: Bench):
    on_bench.edit(lambda repair: repair.add("plate", name="lid", seat="top of blade"))
    fields = on_bench.fields("lid")
    assert "wb-idle" in fields["spacing"].widget._dom_classes
    assert "wb-idle" not in fields["width"].widget._dom_classes
    on_bench.edit(lambda repair: repair.change("lid", width=60, holes=2, spacing=20))
    assert "wb-idle" not in on_bench.fields("lid")["spacing"].widget._dom_classes


def test_every_triangle_in_the_picture_knows_its_step(on_bench: Bench):
    points, triangles = on_bench.preview.part.mesh
    owners = on_bench.preview.part.owners
    middles = points[triangles].mean(axis=1)
    # The foot hangs below the blade, whose bottom lies level at 0.
    np.testing.assert_array_equal(owners[middles[:, 2] < -0.01], 1)
    np.testing.assert_array_equal(owners[middles[:, 2] > 0.01], 0)


def test_a_changed_size_costs_few_bytes(on_bench: Bench, monkeypatch: pytest.MonkeyPatch):
    sent: list[int] = []
    picture = on_bench.preview.picture
    monkeypatch.setattr(picture, "send", lambda _said, parts=(): sent.append(sum(map(len, parts))))
    on_bench.fields("foot")["length"].slider.value = 5.0
    body = meshes.mesh(on_bench.shown.assembly.parts["foot"])
    assert sent[2:] == [0]  # the foot is chosen, then longer; its sizes are written after that
    # As much as the foot's own corners and triangles would be, unpacked, twice over.
    assert sent[1] <= 2 * (12 * len(body[0]) + 12 * len(body[1]))


def test_a_browser_that_comes_later_is_told_all(on_bench: Bench):
    on_bench.fields("blade")["bottom"].slider.value = 36.0
    told = on_bench.preview.picture.get_state()["scene"]
    assert told["part"]["base"] == -1 and len(told["part"]["parts"]) == 5
    assert told["part"]["version"] == on_bench.preview.part.version
    assert [step["name"] for step in told["steps"]] == ["blade", "foot"]


# -- checks, drawing, picture --------------------------------------------------------------------


def test_checks_drawing_and_still_picture_follow_a_moment_later(looking_closer: Bench):
    looking_closer.fields("blade")["bottom"].slider.value = 41.0
    assert looking_closer.settle()
    assert looking_closer.drawing.svg.startswith("<svg") and "41" in looking_closer.drawing.svg
    shown = looking_closer.drawing.widget.value
    assert "Front view, in mm" in shown and "Top view, in mm" in shown
    assert "wb-told" in panel(looking_closer, Findings).text.value
    assert looking_closer.still.html.count("<img") == 2
    assert "tray divider" in looking_closer.still.html


def test_slow_checks_do_not_hold_up_the_slider_and_old_ones_are_dropped(
    looking_closer: Bench, monkeypatch: pytest.MonkeyPatch
):
    import threading

    from workbench.checks import check

    looking_closer.settle()
    gate, judged = threading.Event(), []

    def slow(subject: Any) -> Report:
        judged.append(subject.repair.step("blade").values["bottom"])
        gate.wait(20)
        return Report()

    monkeypatch.setattr(check, "judge", slow)
    told = []
    monkeypatch.setattr(
        panel(looking_closer, Findings), "judged", lambda made, _report: told.append(made)
    )
    slider = looking_closer.fields("blade")["bottom"].slider
    slider.value = 41.0
    for _n in range(2000):
        if judged:
            break
        threading.Event().wait(0.01)
    assert judged == [41.0]
    for value in (42.0, 43.0, 44.0):
        slider.value = value
        assert looking_closer.shown.repair.step("blade").values["bottom"] == value
    gate.set()
    assert looking_closer.settle()
    assert judged == [41.0, 44.0]
    assert [made.repair.step("blade").values["bottom"] for made in told] == [44.0]


def test_a_finding_says_its_severity_in_words_its_remedy_and_its_source():
    report = Report(
        (
            Finding(
                severity="stop",
                rule="bed",
                where="blade",
                text="It is <wider> than the bed.",
                remedy="Turn it.",
                source="S1",
            ),
            Finding(severity="note", rule="mass", where="all", text="It weighs 5 g."),
        )
    )
    html = "".join(map(as_html, report.findings))
    assert "&lt;wider&gt;" in html and "<strong>stop</strong>" in html
    assert "Turn it." in html and "S1" in html
    assert summary(report) == "Do not print this yet: 1 stop, 1 note."
    assert summary(Report()) == "Nothing found that stops a print."
    only_warned = Report(
        (
            Finding(severity="warning", rule="a", where="b", text="c"),
            Finding(severity="warning", rule="a", where="b", text="c"),
        )
    )
    assert summary(only_warned) == "Nothing stops a print: 2 warnings."


def test_material_and_printer_are_chosen_and_the_mass_follows(on_bench: Bench, repair: Repair):
    before = on_bench.line.value
    on_bench.bar.material.value = "PETG"
    assert repair.material == "PETG"
    assert on_bench.line.value != before and "PETG" in on_bench.line.value
    on_bench.undo()
    assert on_bench.bar.material.value == "PLA" and on_bench.line.value == before


# -- use, bed side, statements -------------------------------------------------------------------


def test_uses_are_ticked_and_heat_has_its_temperature(on_bench: Bench, repair: Repair):
    use = panel(on_bench, Use)
    assert use.warm.disabled
    use.boxes["child"].value = True
    use.boxes["heat"].value = True
    use.warm.value = "70"
    assert repair.uses == ("child", "heat 70")
    use.warm.value = "warm"
    assert 'role="alert"' in use.note.value and repair.uses == ("child", "heat 70")
    on_bench.undo()
    on_bench.undo()
    assert repair.uses == ("child",)
    assert use.boxes["child"].value and not use.boxes["heat"].value and use.warm.disabled


def test_the_bed_side_is_chosen_among_those_that_the_tool_ranked(
    looking_closer: Bench, repair: Repair
):
    assert looking_closer.settle()
    use = panel(looking_closer, Use)
    names = [name for name, _down in use.side.options]
    assert names[0] == "let the tool choose" and len(names) > 1
    assert use.side.index == 0
    assert "wb-way" in use.reasons.value
    use.side.value = use.side.options[-1][1]
    assert repair.down == use.side.options[-1][1]
    looking_closer.undo()
    assert repair.down is None and use.side.index == 0


def test_a_stop_is_answered_with_a_statement_and_the_statement_taken_back(
    on_bench: Bench, repair: Repair
):
    use = panel(on_bench, Use)
    assert use.state.disabled
    use.judged(
        on_bench.shown,
        Report((Finding(severity="stop", rule="small parts", where="blade", text="It fits."),)),
    )
    assert not use.state.disabled and use.rule.value == "small parts"
    use.why.value = "no child comes near this tray"
    use.state.click()
    assert repair.statements == {"small parts": "no child comes near this tray"}
    use.why.value = ""
    use.state.click()
    assert repair.statements == {}


# -- what is said of a part that is no longer there ------------------------------------------------


def test_the_verdict_is_in_sight_and_is_marked_while_it_is_about_an_earlier_part(on_bench: Bench):
    verdict = on_bench.bar.verdict
    assert "wb-waiting" in verdict._dom_classes
    on_bench.bar.judged(
        Report(
            (
                Finding(
                    severity="warning", rule="stands firm", where="blade", text="It may tip over."
                ),
            )
        )
    )
    assert "Nothing stops a print: 1 warning" in verdict.value
    assert "wb-waiting" not in verdict._dom_classes
    on_bench.fields("blade")["bottom"].slider.value = 36.0
    assert "wb-waiting" in verdict._dom_classes


def test_settle_waits_for_the_panels_as_well(on_bench: Bench, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(on_bench._later, "settle", lambda _timeout: True)
    asked = []
    for one in on_bench.panels:
        monkeypatch.setattr(one, "settle", lambda timeout, one=one: asked.append(one) or True)
    assert on_bench.settle(5) and asked == on_bench.panels
    monkeypatch.setattr(on_bench.panels[-1], "settle", lambda _timeout: False)
    assert not on_bench.settle(5)


def test_a_good_solid_is_judged_though_the_next_one_is_refused_at_once(
    on_bench: Bench, monkeypatch: pytest.MonkeyPatch
):
    put = []
    monkeypatch.setattr(on_bench._later, "put", put.append)
    on_bench.fields("blade")["bottom"].slider.value = 36.0
    good = on_bench.shown
    on_bench.edit(lambda r: r.add("box", seat=At(x=120), name="nub"))
    assert on_bench.refusal and put == [good, good]


# -- files, template, shelf ----------------------------------------------------------------------


def test_a_revision_is_written_with_its_paths_shown_and_counted(
    on_bench: Bench, in_a_folder_of_its_own: Path
):
    files = panel(on_bench, Files)
    files.opened()
    assert files.write.description == "Write revision 1"
    files.write.click()
    folder = in_a_folder_of_its_own / "repairs" / "tray-divider" / "revision-1"
    for suffix in ("stl", "3mf", "step"):
        path = folder / f"tray-divider.{suffix}"
        assert path.stat().st_size > 0
        assert path.name in files.files.names
    assert files.files.names[0] == "tray-divider.3mf"
    assert str(folder) in files.written.value
    assert files.write.description == "Write revision 2" and not files.write.disabled


def test_a_written_file_is_sent_to_the_browser_that_asks_for_it_and_no_other_file_is(
    on_bench: Bench, in_a_folder_of_its_own: Path, monkeypatch: pytest.MonkeyPatch
):
    files = panel(on_bench, Files)
    files.write.click()
    answers: list[tuple[Any, Any]] = []
    monkeypatch.setattr(
        files.files, "send", lambda content, buffers=None: answers.append((content, buffers))
    )
    written = in_a_folder_of_its_own / "repairs" / "tray-divider" / "revision-1"
    files.files._hear(None, {"get": "tray-divider.3mf", "asked": "a"}, [])
    files.files._hear(None, {"get": "../../../elsewhere.txt", "asked": "a"}, [])
    ((answer, buffers),) = answers
    assert answer == {"name": "tray-divider.3mf", "asked": "a"}
    assert buffers == [(written / "tray-divider.3mf").read_bytes()]

    (written / "tray-divider.step").unlink()
    files.files._hear(None, {"get": "tray-divider.step", "asked": "b"}, [])
    answer, buffers = answers[-1]
    assert "tray-divider.step" in answer["fault"] and "write the files again" in answer["fault"]
    assert buffers is None

    # what failed to be written leaves nothing to download
    (in_a_folder_of_its_own / "taken").write_text("a file, not a folder")
    files.folder.value = "taken/here"
    files.write.click()
    assert files.files.names == []


def test_a_folder_that_cannot_be_written_to_is_told_and_nothing_is_lost(
    on_bench: Bench, in_a_folder_of_its_own: Path
):
    (in_a_folder_of_its_own / "taken").write_text("a file, not a folder")
    files = panel(on_bench, Files)
    files.folder.value = "taken/here"
    files.write.click()
    assert 'role="alert"' in files.written.value and "taken" in files.written.value
    assert not files.write.disabled
    assert on_bench.shown is not None


def test_a_template_is_saved_and_is_on_the_shelf_at_once(
    on_bench: Bench, in_a_folder_of_its_own: Path
):
    files, shelf = panel(on_bench, Files), panel(on_bench, Shelf)
    shelf.opened()
    files.name.value, files.about.value = "evening class divider", "measure the slot first"
    files.save.click()
    path = in_a_folder_of_its_own / "templates" / "evening-class-divider.ipynb"
    assert path.is_file() and str(path) in files.saved.value
    assert files.template.names == ["evening-class-divider.ipynb"] and not files.save.disabled
    assert str(path) in [value for _label, value in shelf.list.options]


def test_a_repair_is_started_from_the_shelf_with_other_numbers(
    on_bench: Bench, in_a_folder_of_its_own: Path
):
    from workbench.output.notebook.template_notebook import read_template

    files, shelf = panel(on_bench, Files), panel(on_bench, Shelf)
    files.name.value = "evening class divider"
    files.save.click()
    shelf.opened()
    shelf.list.value = str(in_a_folder_of_its_own / "templates" / "evening-class-divider.ipynb")
    shelf.starting.fields["blade_bottom"].box.value = "1 3/8 in"
    shelf.starting.name.value = "left divider"
    shelf.starting.button.click()
    started = in_a_folder_of_its_own / "left-divider.ipynb"
    assert str(started) in shelf.starting.note.value
    assert read_template(started).step("blade").values["bottom"] == pytest.approx(34.925)
    assert read_template(started).name == "left divider"


def test_a_damaged_template_is_told_and_does_not_stop_the_shelf(
    on_bench: Bench, in_a_folder_of_its_own: Path
):
    files, shelf = panel(on_bench, Files), panel(on_bench, Shelf)
    files.name.value = "broken"
    files.save.click()
    path = in_a_folder_of_its_own / "templates" / "broken.ipynb"
    path.write_text(path.read_text(encoding="utf-8").replace("blade_bottom = ", "blade_bottom = ("))
    shelf.opened()
    shelf.list.value = str(path)
    shelf._open()
    assert 'role="alert"' in shelf.starting.note.value


# -- the bench as a whole ------------------------------------------------------------------------


def test_every_control_has_a_name_and_a_tooltip(on_bench: Bench):
    for pages in (on_bench.pages, on_bench.step_pages):
        for page in range(len(pages.stack.children)):
            pages.buttons.value = page
    controls = (w.Button, w.ToggleButton, w.Text, w.Textarea, w.Dropdown, w.Select, w.Checkbox)
    found = [c for c in every_widget(on_bench) if isinstance(c, controls)]
    assert len(found) > 90
    for control in found:
        assert control.description, control
        assert control.tooltip, control.description


def test_the_buttons_that_open_panels_open_each(on_bench: Bench):
    for index, opened in enumerate(on_bench.panels):
        on_bench.pages.buttons.value = index
        assert on_bench.pages.stack.selected_index == index
        assert on_bench.pages.stack.children[index] is opened.widget


def test_a_page_is_made_when_it_is_first_opened(on_bench: Bench):
    assert len(widgets_of(on_bench)) < 300, "what nobody looks at costs nobody time"
    assert list(on_bench._panels) == [0]
    on_bench.choose("foot")
    on_bench.step_pages.buttons.value = 1
    assert on_bench.place.on.value == "blade", "it shows the step that is chosen"
    on_bench.pages.buttons.value = 2
    assert list(on_bench._panels) == [0, 2]


def test_a_panel_of_one_s_own_is_told_of_solids_and_reports(
    repair: Repair, monkeypatch: pytest.MonkeyPatch
):
    class Layers(Panel):
        title = "Layers"

        def __init__(self, owner: Bench) -> None:
            super().__init__(owner)
            self.widget = w.HTML("layers")
            self.volumes: list[float] = []
            self.reports: list[Report] = []
            self.steps: list[str] = []

        def made(self, made: Any) -> None:
            self.volumes.append(made.volume)

        def judged(self, made: Any, report: Report) -> None:
            self.reports.append(report)

        def chosen(self, step: str) -> None:
            self.steps.append(step)

    monkeypatch.setattr(benches, "PANELS", [*benches.PANELS, Layers])
    shown = Bench(repair)
    assert shown.settle()
    own = panel(shown, Layers)
    assert own.volumes == [shown.shown.volume] and own.reports[0].ok and own.steps == ["blade"]
    shown.fields("blade")["bottom"].slider.value = 39
    assert shown.settle()
    assert own.volumes[-1] == pytest.approx(shown.shown.volume)
    assert isinstance(own.reports[-1], Report)
    assert own.steps[-1] == "blade"
    shown.close()


def test_what_a_cell_does_to_the_repair_shows_on_the_bench(on_bench: Bench, repair: Repair):
    repair.change("foot", thickness=2.6).add("box", seat="top of blade", name="grip")
    on_bench.look_again()
    assert on_bench.fields("foot")["thickness"].slider.value == 2.6
    assert on_bench.shown.repair == repair


def test_a_repair_has_one_bench_at_a_time(repair: Repair):
    def open_widgets() -> int:
        return len(w.widget._instances)

    before = open_widgets()
    first = bench(repair)
    other = bench(Repair("other").add("box"))
    assert first.settle() and other.settle()
    beside = open_widgets()
    second = bench(repair)
    assert second.settle()
    assert first.comm is None and second.repair is repair and other.comm is not None
    assert open_widgets() == beside
    second.close()
    other.close()
    assert open_widgets() == before


def test_a_fault_of_the_kernel_is_told_in_a_sentence(
    on_bench: Bench, monkeypatch: pytest.MonkeyPatch
):
    good = on_bench.shown

    def broken(_repair: Repair) -> Any:
        raise RuntimeError("StdFail_NotDone")

    monkeypatch.setattr(benches, "make", broken)
    on_bench.fields("blade")["bottom"].slider.value = 44.0
    assert "internal error" in on_bench.message.value
    assert on_bench.shown is good


def test_a_refused_edit_returns_its_sentence(on_bench: Bench):
    def refuse(_repair: Repair) -> None:
        raise RepairError("no such thing")

    assert on_bench.edit(refuse) == "no such thing"


def test_a_bench_computes_in_its_own_threads_alone():
    from threadpoolctl import threadpool_info

    Bench(Repair("part").add("box"), inline=True)
    blas = [library for library in threadpool_info() if library["user_api"] == "blas"]
    assert blas and {library["num_threads"] for library in blas} == {1}
