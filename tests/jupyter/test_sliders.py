"""Each control, made from an annotation alone, without a browser."""

from __future__ import annotations

from typing import Annotated, Any

import ipywidgets as w
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.jupyter.sizes import fields
from workbench.jupyter.sizes.fields import CountField, SizeField, held, span
from workbench.jupyter.sizes.sliders import ChoiceField, CornersField, FlagField, Sliders, field_for
from workbench.measure.reading import Reading
from workbench.solids import catalogue
from workbench.solids.parameters import Choice, Corners, Count, Flag, Parameter, Size, template_of
from workbench.solids.recipe.same import Same

WIDTH = Parameter("slot_width", Size(1, 300, 0.1, measure="across the slot"), 20.0)


class Told:
    """Keeps what a control told, and may refuse."""

    def __init__(self, refusal: str = "") -> None:
        self.heard: list[tuple[str, Any]] = []
        self.refusal = refusal

    def __call__(self, field: str, value: Any) -> str | None:
        self.heard.append((field, value))
        return self.refusal or None


def size_field(value: float = 35.0, told: Told | None = None) -> tuple[SizeField, Told]:
    told = told or Told()
    field = field_for(WIDTH, told)
    assert isinstance(field, SizeField)
    field.show(value)
    return field, told


def test_a_size_has_a_slider_and_a_box_that_show_the_value():
    field, told = size_field(34.85)
    assert field.box.value == "34.85"
    assert field.slider.value == pytest.approx(34.85, abs=0.05 + 1e-9)
    assert told.heard == []


def test_what_stands_under_a_size_is_told_the_browser_once():
    field, _told = size_field(20.0)
    notes: list[str] = []
    field.note.observe(lambda change: notes.append(change["new"]), "value")
    field.follow(Same("base.width - 4"))
    field.show(22.0)
    assert len(notes) == 1 and "across the slot" in notes[0] and "base.width - 4" in notes[0]
    for value in (23.0, 24.0):
        field.show(value)
        field.take(value)
    assert len(notes) == 1


def test_under_a_hand_a_complaint_stays_until_it_is_known_what_comes_of_the_value():
    told = Told()
    field, _told = size_field(20.0, told)
    field.complain("too wide")
    notes: list[str] = []
    field.note.observe(lambda change: notes.append(change["new"]), "value")
    assert field.drag(23.0)
    field.slider.value = 26.0
    assert told.heard == [("slot_width", 23.0), ("slot_width", 26.0)] and notes == []
    told.refusal = "too wide"
    assert field.drag(24.0) and field.refusal == "too wide" and notes == []


def test_box_and_slider_keep_up_with_a_drag_now_and_then_and_when_it_rests(monkeypatch):
    now = [100.0]
    monkeypatch.setattr(fields.time, "monotonic", lambda: now[0])
    told = Told("too wide")
    field, _told = size_field(20.0, told)
    boxes = []
    for value in (21.0, 22.0, 23.0, 24.0):
        assert field.drag(value)
        boxes.append(field.box.value)
        now[0] += 0.08
    assert boxes == ["21", "21", "23", "23"], "every 0.15 s"
    assert [value for _field, value in told.heard] == [21.0, 22.0, 23.0, 24.0]
    field.catch_up()
    assert field.box.value == "24" and field.slider.value == pytest.approx(24.0)
    assert field.refusal == "too wide" and len(told.heard) == 4
    field.show(30.0)
    field.catch_up()
    assert field.box.value == "30"
    now[0] += 0.1
    assert field.drag(31.0) and field.box.value == "31"
    now[0] += 0.149
    assert field.drag(32.0) and field.box.value == "31"
    field.show(33.0)  # as by an undo
    field.catch_up()
    assert field.box.value == "33"


def test_the_browser_s_own_rounding_of_a_typed_value_is_no_input():
    field, told = size_field(20.0)
    field.box.value = "34.85"
    mark = field.slider.value
    for echo in (mark + 1e-14, mark - 1e-14, mark):
        field.slider.value = echo
    assert told.heard == [("slot_width", 34.85)]
    assert field.box.value == "34.85"


def test_the_slider_stays_on_its_marks_so_that_the_browser_has_nothing_to_round():
    field, _told = size_field(20.0)
    for value in (34.85, 299.97, 1.02, 250.55, 20.0):
        field.show(value)
        marks = (field.slider.value - field.slider.min) / field.slider.step
        assert marks == pytest.approx(round(marks), abs=1e-6)
        assert field.slider.value == pytest.approx(value, abs=0.05 + 1e-9)


def test_what_the_browser_said_is_not_said_back_to_it_and_so_holds_up_no_quick_hand():
    field, told = size_field(35.0)
    field.slider.set_state({"value": 35.099999999999994})
    assert told.heard == [("slot_width", 35.1)]
    assert field.slider.value == 35.099999999999994


def test_a_step_away_from_a_typed_value_and_back_is_an_input():
    field, told = size_field(34.85)
    mark = field.slider.value
    field.slider.value = mark + 0.1
    field.slider.value = mark
    assert [value for _field, value in told.heard] == pytest.approx([mark + 0.1, mark])


def test_a_control_says_its_name_its_unit_and_what_to_measure():
    field, _told = size_field()
    assert field.box.description == "slot width"
    assert "across the slot" in field.note.value
    assert "1 to 300 mm" in field.note.value
    assert "mm" in field.slider.tooltip and "slot width" in field.slider.tooltip


@pytest.mark.parametrize(
    ("typed", "millimetres"),
    [("34.85", 34.85), ("34,85", 34.85), ("34.9 mm", 34.9), ("1 3/8 in", 34.925), ("3.5 cm", 35)],
)
def test_a_reading_is_typed_as_a_person_writes_it(typed: str, millimetres: float):
    field, told = size_field(20.0)
    field.box.value = typed
    assert told.heard == [("slot_width", pytest.approx(millimetres))]
    assert field.slider.value == pytest.approx(millimetres, abs=0.05 + 1e-9)
    assert float(field.box.value) == pytest.approx(millimetres)


def test_a_typed_value_far_from_the_last_takes_the_slider_with_it():
    field, told = size_field(20.0)
    field.box.value = "250.55"
    assert told.heard == [("slot_width", 250.55)]
    assert field.slider.min < 250.55 < field.slider.max
    assert field.slider.value == pytest.approx(250.55, abs=0.05 + 1e-9)


@pytest.mark.parametrize("typed", ["abc", "", "-3", "0", "nan", "inf", "1e9", "10 m", "3 4 m"])
def test_a_value_that_cannot_be_used_is_refused_in_one_sentence_by_the_field(typed: str):
    field, told = size_field(20.0)
    field.box.value = typed
    assert told.heard == []
    assert "wb-refusal" in field.note.value and 'role="alert"' in field.note.value
    assert field.slider.value == 20.0


def test_what_was_typed_stays_to_be_put_right_and_a_good_value_clears_the_refusal():
    field, _told = size_field(20.0)
    field.box.value = "3O.5"
    assert field.box.value == "3O.5"
    field.box.value = "30.5"
    assert "wb-refusal" not in field.note.value


def test_a_refusal_of_the_repair_is_said_by_the_field_that_caused_it():
    field, _told = size_field(20.0, Told("slot: slot width is 25 mm; its plate is 22 mm"))
    field.slider.value = 25.0
    assert "its plate is 22 mm" in field.note.value and "wb-refusal" in field.note.value


def test_a_refusal_cannot_smuggle_markup_into_the_page():
    field, _told = size_field(20.0)
    field.box.value = "<img src=x onerror=alert(1)>"
    assert "<img" not in field.note.value and "&lt;img" in field.note.value


def test_moving_the_slider_tells_a_tidy_value_and_writes_it_in_the_box():
    field, told = size_field(20.0)
    field.slider.value = 20.400000000000002
    assert told.heard == [("slot_width", 20.4)]
    assert field.box.value == "20.4"


def test_showing_a_value_tells_nobody():
    field, told = size_field(20.0)
    for value in (300.0, 1.0, 150.0, 34.85):
        field.show(value)
        assert field.slider.value == pytest.approx(value, abs=0.05 + 1e-9)
    assert told.heard == []


def test_after_a_drag_to_the_end_the_slider_lies_round_the_value_anew():
    field, told = size_field(35.0)
    end = field.slider.max
    field.slider.value = end
    field.settle()
    assert field.slider.min < end < field.slider.max
    assert told.heard == [("slot_width", pytest.approx(end))]


@given(value=st.floats(0.4, 60), step=st.sampled_from([0.05, 0.1, 0.5, 1.0]))
def test_a_span_holds_the_value_stays_in_range_and_is_finely_graded(value: float, step: float):
    size = Size(0.4, 60, step)
    low, high = span(value, size)
    assert size.low <= low < high <= size.high
    assert low - step <= value <= high + step
    assert (high - low) / step <= 300.5


def test_a_count_takes_whole_numbers_only():
    told = Told()
    field = field_for(Parameter("holes", Count(0, 8, measure="screw holes"), 2), told)
    assert isinstance(field, CountField)
    field.show(2)
    field.box.value = "4"
    field.slider.value = 5
    assert told.heard == [("holes", 4), ("holes", 5)]
    for bad in ("2.5", "9", "-1", "two"):
        field.box.value = bad
        assert "wb-refusal" in field.note.value
    assert told.heard == [("holes", 4), ("holes", 5)]


def test_a_choice_offers_its_options_and_nothing_else():
    told = Told()
    field = field_for(Parameter("edge", Choice(("square", "rounded")), "square"), told)
    assert isinstance(field, ChoiceField)
    field.show("square")
    assert [value for _label, value in field.list.options] == ["square", "rounded"]
    field.list.value = "rounded"
    assert told.heard == [("edge", "rounded")]


def test_a_flag_is_a_box_to_tick():
    told = Told()
    field = field_for(Parameter("countersink", Flag(measure="for a flat head"), False), told)
    assert isinstance(field, FlagField)
    field.show(False)
    field.mark.value = True
    assert told.heard == [("countersink", True)]
    assert "for a flat head" in field.note.value


def test_corners_are_written_one_a_line():
    told = Told()
    field = field_for(Parameter("outline", Corners(), ((0, 0), (10, 0), (0, 5))), told)
    assert isinstance(field, CornersField)
    field.show(((0.0, 0.0), (10.0, 0.0), (0.0, 5.0)))
    assert field.text.value == "0  0\n10  0\n0  5"
    field.text.value = "0 0\n12,5 0\n0 6"
    assert told.heard == [("outline", ((0.0, 0.0), (12.5, 0.0), (0.0, 6.0)))]
    for bad in ("0 0\n1 1", "0 0\n4 x\n0 6", "0 0\n9 9\n9 0\n0 9"):
        field.text.value = bad
        assert "wb-refusal" in field.note.value
    assert len(told.heard) == 1


@pytest.mark.parametrize("name", catalogue.SHIPPED)
def test_every_shipped_template_has_a_named_control_for_each_thing_it_asks_for(name: str):
    template = catalogue.find(name)
    sliders = Sliders(template, Told())
    sliders.show(template.complete({}))
    assert list(sliders.fields) == [parameter.name for parameter in template.parameters]
    for parameter in template.parameters:
        controls = sliders.fields[parameter.name].widget.children
        named = [c for c in controls if getattr(c, "description", "") == parameter.label]
        assert len(named) == 1
        for control in controls:
            if not isinstance(control, w.HTML):
                assert control.tooltip


def test_a_function_of_one_s_own_gets_the_same_controls():
    def handle(
        reach: Annotated[float, Size(5, 80, 0.5, measure="from door to finger")] = 25.0,
        holes: Annotated[int, Count(0, 4)] = 2,
    ):
        """A handle of one's own."""

    sliders = Sliders(template_of(handle), Told())
    sliders.show({"reach": 25.0, "holes": 2})
    reach, holes = sliders.fields["reach"], sliders.fields["holes"]
    assert isinstance(reach, SizeField) and isinstance(holes, CountField)
    assert reach.slider.step == 0.5 and reach.slider.max == 80
    assert "from door to finger" in reach.note.value


def test_a_size_takes_several_readings_and_says_which_one_is_off():
    told = {}
    field = field_for(Parameter("width", Size(1, 60), 20.0), told.__setitem__)
    field.box.value = "36.0 36,1; 36.1"
    assert told["width"] == Reading([36.0, 36.1, 36.1])
    assert field.box.value == "36.07"  # 108.2 / 3, as fine as calipers read
    assert "mean of 36 · 36.1 · 36.1" in field.note.value
    # Scatter, widened by Student's t of 3 + 1 degrees of freedom: 0.0577/sqrt(3)·sqrt(2); the
    # display's step, 0.01/sqrt(12); what calipers may be off, 0.02/sqrt(3): together 0.0487.
    assert "±\u00a00.049 mm" in field.note.value and "wb-doubt" not in field.note.value

    field.box.value = "36.0 36.1 63.1"
    assert "63.1 mm is far from the others, which read about 36.05 mm" in field.note.value
    field.box.value = "1 3/8 in"
    assert told["width"] == pytest.approx(34.925)
    assert "mean of" not in field.note.value
    field.box.value = "36.0 abc"
    assert "wb-refusal" in field.note.value and told["width"] == pytest.approx(34.925)


def test_readings_behind_a_size_are_shown_and_go_when_it_is_slid():
    field = field_for(Parameter("width", Size(1, 60), 20.0), lambda *_told: None)
    field.show(36.05, Reading([36.0, 36.1]))
    assert "mean of 36 · 36.1" in field.note.value
    field.slider.value = 40.0
    assert field.read is None and "mean of" not in field.note.value


@pytest.mark.parametrize("keys", [{"value", "min", "max"}, None])
def test_the_browser_learns_the_span_of_a_slider_before_its_value(keys: set[str] | None):
    # In the other order it cuts the value off at the end of the earlier span, and says so.
    field, _told = size_field(35.0)
    assert list(field.slider.get_state(keys))[-1] == "value"


@given(
    st.floats(-50, 300),
    st.integers(10, 400),
    st.sampled_from([0.005, 0.05, 0.1, 0.5, 1.0]),
    st.data(),
)
def test_a_mark_is_kept_to_the_last_figure_once_it_was_reckoned(low, marks, step, data):
    low = round(low, 3)
    high = low + marks * step
    value = data.draw(st.floats(low, high))
    mark = held(value, low, high, step)
    assert held(mark, low, high, step) == mark, "or the browser says it back"
    assert abs(mark - value) <= step / 2 + 1e-9
    assert low <= mark <= high
