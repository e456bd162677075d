"""A repair is plain data: its edits check their input, and its record reads back equal."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import values

from workbench.errors import RepairError
from workbench.measure.reading import Reading
from workbench.measure.sketches.sketch import Sketch
from workbench.solids import catalogue
from workbench.solids.building.build import assemble, build
from workbench.solids.geometry import kernel
from workbench.solids.measured import Measured
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.same import Same
from workbench.solids.recipe.seat import At, Seat
from workbench.solids.recipe.service import Load, Trial


def divider():
    repair = Repair("tray divider", material="PETG")
    repair.add("fin", name="blade", bottom=Reading([45.9, 46.0]), thickness="1,6 mm")
    repair.add("tab", seat=Seat("bottom of blade", along=1, sink=0.2), name="foot", width=28)
    repair.cut("cylinder", seat=At(15, 4, 30, tilt=12), name="finger", diameter=9, height=8)
    return repair


# -- edits -------------------------------------------------------------------------------------


def test_steps_take_numbers_text_and_readings():
    repair = divider()
    assert repair.step("blade").values["bottom"] == pytest.approx(45.95)
    assert repair.step("blade").values["thickness"] == 1.6
    assert repair.readings["blade.bottom"].values == (45.9, 46.0)
    assert [step.cuts for step in repair.steps] == [False, False, True]


def test_steps_are_named_after_their_template_until_taken():
    repair = Repair("r").add("triangular_prism").add("triangular_prism").add("box")
    assert [step.name for step in repair.steps] == ["triangular prism", "triangular prism 2", "box"]


def test_changing_a_step():
    repair = divider().change("foot", place=At(1, 2, 3), cuts=True, width=25)
    foot = repair.step("foot")
    assert (foot.values["width"], foot.place, foot.cuts) == (25.0, At(1, 2, 3), True)
    assert foot.values["length"] == 5.0


def test_removing_a_step_takes_what_was_said_of_it():
    repair = divider()
    repair.loads = (Load("finger", 5),)
    repair.fit("finger", "diameter", 9.1)
    repair.remove("finger")
    assert [step.name for step in repair.steps] == ["blade", "foot"]
    assert repair.loads == ()
    assert repair.fits == ()


def test_a_step_moves_up_and_down_and_stops_at_the_ends():
    def names(repair):
        return [step.name for step in repair.steps]

    assert names(divider().move("finger", -1)) == ["blade", "finger", "foot"]
    assert names(divider().move("blade", 1)) == ["foot", "blade", "finger"]
    assert names(divider().move("finger", -9)) == ["finger", "blade", "foot"]
    assert names(divider().move("blade", 9)) == ["foot", "finger", "blade"]
    assert divider().move("foot", 0).steps == divider().steps


def test_whatever_refers_to_a_step_follows_its_new_name():
    repair = divider().fit("blade", "thickness", 1.7)
    repair.loads = (Load("blade", 5), Load("foot", 4))
    repair.trials = (Trial(1, "blade", "thickness", "right", 1.6),)
    sketch = Measured(Sketch(), ("blade", "foot"), holes=("finger",))
    repair.sketches = {"blade": sketch}
    readings = repair.readings
    repair.rename("blade", "leaf").rename("finger", "notch")
    assert [step.name for step in repair.steps] == ["leaf", "foot", "notch"]
    assert repair.step("foot").place == Seat("bottom of leaf", along=1, sink=0.2)
    assert [load.step for load in repair.loads] == ["leaf", "foot"]
    assert [fit.step for fit in repair.fits] == ["leaf"]
    assert [trial.step for trial in repair.trials] == ["leaf"]
    assert repair.readings == {"leaf.bottom": readings["blade.bottom"]}
    assert repair.sketches["blade"].steps == ("leaf", "foot")
    assert repair.sketches["blade"].holes == ("notch",)
    assert Repair.from_json(repair.to_json()) == repair


def test_a_name_that_cannot_be_is_refused_and_changes_nothing(refused):
    repair = divider()
    before = repair.to_json()
    with refused("there is already a step 'foot'"):
        repair.rename("blade", "foot")
    with refused("step name is 'top of it'"):
        repair.rename("blade", "top of it")
    with refused("there is no step 'leg'"):
        repair.rename("leg", "blade")
    with refused("there is already a step 'foot'"):
        repair.duplicate("blade", "foot")
    assert repair.to_json() == before
    assert repair.rename("blade", "blade").to_json() == before


def test_a_second_one_of_a_step_stands_below_it_with_its_readings_and_fits():
    repair = divider().fit("blade", "thickness", 1.7).duplicate("blade").duplicate("foot", "toe")
    assert [step.name for step in repair.steps] == ["blade", "blade 2", "foot", "toe", "finger"]
    assert repair.step("blade 2") == replace(repair.step("blade"), name="blade 2")
    assert repair.step("toe").place == repair.step("foot").place
    assert [fit.step for fit in repair.fits] == ["blade", "blade 2"]
    assert repair.readings["blade 2.bottom"] == repair.readings["blade.bottom"]


@given(st.permutations(range(4)), st.lists(st.booleans(), min_size=4, max_size=4))
@settings(max_examples=10)
def test_a_record_of_the_old_form_comes_out_with_the_same_solid(order, cuts):
    """In the old form every cut took from everything that adds, wherever it stood."""
    boxes = {f"box {n}": At(3 * n, n, 1 + n / 4) for n in range(4)}
    repair = Repair("old").add("plate", name="base", width=30, height=20)
    for n in order:
        add = repair.cut if cuts[n] else repair.add
        add("box", boxes[f"box {n}"], f"box {n}", width=8, depth=6, height=4)
    repair.add("peg", Seat("bottom of box 0"), "pin")
    row = json.loads(repair.to_json()) | {"format": 1}
    made = [
        build(Repair("one").add("box", place, width=8, depth=6, height=4))
        for place in boxes.values()
    ]
    read = Repair.from_json(json.dumps(row))
    parts = [build(Repair("one").add("plate", width=30, height=20))]
    pin = assemble(read).parts["pin"]
    whole = kernel.union([*parts, pin, *(m for m, cut in zip(made, cuts, strict=True) if not cut)])
    tools = [m for m, cut in zip(made, cuts, strict=True) if cut]
    whole = kernel.difference(whole, tools) if tools else whole
    assert build(read).volume == pytest.approx(sum(solid.volume for solid in whole))
    assert read.step("pin").place == Seat("bottom of box 0")
    assert Repair.from_json(read.to_json()) == read


def test_a_copy_is_independent():
    repair = divider()
    other = repair.copy("another")
    other.change("foot", width=20)
    assert repair.step("foot").values["width"] == 28
    assert other.name == "another"
    assert other.step("blade") == repair.step("blade")


BAD_VALUES = [
    (-3, "-3 mm"),
    (0, "0 mm"),
    (math.nan, "nan"),
    (math.inf, "inf"),
    ("wide", "'wide'"),
    (10_000, "10000 mm"),
    (0.01, "0.01 mm"),
    ("1/64 in", "0.3969 mm"),
    (None, "None"),
]


@pytest.mark.parametrize(("value", "shown"), BAD_VALUES)
@pytest.mark.parametrize("edit", ["add", "cut", "change"])
def test_a_refused_edit_names_step_field_value_and_unit_and_changes_nothing(
    edit, value, shown, refused
):
    repair = divider()
    before = repair.to_json()
    with refused("foot" if edit == "change" else "slot", "width", shown, " mm", "; "):
        if edit == "change":
            repair.change("foot", width=value)
        else:
            getattr(repair, edit)("tab", seat="top of blade", name="slot", width=value)
    assert repair.to_json() == before


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (lambda r: r.add("tab", name="foot"), ("already a step 'foot'", "another name")),
        (lambda r: r.add("tab", name=""), ("step name is ''",)),
        (lambda r: r.add("tab", name="a.b"), ("step name is 'a.b'", "full stop")),
        (lambda r: r.add("tab", name="top of it"), ("step name is 'top of it'",)),
        (lambda r: r.add("tab", name=7), ("step name is 7",)),
        (lambda r: r.add("tabb"), ("'tabb'", "did you mean tab?", "box, wedge")),
        (lambda r: r.add("tab", hight=3), ("tab has no 'hight'", "thickness")),
        (lambda r: r.add("tab", seat="top of lid"), ("no step 'lid'", "blade, foot, finger")),
        (lambda r: r.add("tab", seat=(1, 2, 3)), ("place is (1, 2, 3)", "At(x, y, z)")),
        (lambda r: r.add("tab", seat=Seat(5)), ("seat is 5", "bottom of blade")),
        (lambda r: r.add("tab", seat=Seat("top of blade", by="lid")), ("by is 'lid'", "bottom")),
        (lambda r: r.add("tab", seat=At(math.inf)), ("x is inf mm",)),
        (lambda r: r.add("tab", seat=At(tilt="steep")), ("tilt is 'steep'°",)),
        (lambda r: r.change("lid", width=3), ("no step 'lid'",)),
        (lambda r: r.change("blade", place="top of blade"), ("blade cannot sit on itself",)),
        (lambda r: r.change("blade", place="top of foot"), ("foot already sits on blade",)),
        (lambda r: r.remove("blade"), ("foot sits on blade", "remove it first")),
        (lambda r: r.remove("lid"), ("no step 'lid'",)),
    ],
)
def test_edits_that_cannot_be(edit, words, refused):
    repair = divider()
    before = repair.to_json()
    with refused(*words):
        edit(repair)
    assert repair.to_json() == before


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Repair(""), ("name is empty",)),
        (lambda: Repair("r", material="wood"), ("material 'wood'", "PLA")),
        (lambda: Repair("r", printer="lathe"), ("printer 'lathe'", "generic 220")),
        (lambda: Repair("r", down=(0, 0, 0)), ("down is (0, 0, 0)", "(0, 0, -1)")),
        (lambda: Repair("r", down=(1, 2)), ("down is (1, 2)",)),
        (lambda: Load("clip", 0), ("load on clip", "force is 0 N")),
        (lambda: Load("clip", math.nan), ("force is nan N",)),
        (lambda: Load("clip", 5, (0, 0, 0)), ("load on clip: direction", "points nowhere")),
        (lambda: Load("clip", 5, "down"), ("load on clip: direction is 'down'",)),
        (lambda: Trial(1, "foot", "width", "fine", 3), ("outcome is 'fine'", "right")),
    ],
)
def test_data_that_cannot_be(make, words, refused):
    with refused(*words):
        make()


# -- the record --------------------------------------------------------------------------------


def test_a_record_reads_back_equal_and_builds_the_same():
    repair = divider()
    repair.down = (0.0, 0.0, -1.0)
    repair.loads = (Load("blade", 5, (0, 1, 0), repeats=False),)
    repair.trials = (Trial(1, "foot", "thickness", "too tight", 2.0, measured=2.1),)
    repair.statements = {"heat": "never above 30 °C"}
    again = Repair.from_json(repair.to_json())
    assert again == repair
    assert again.to_json() == repair.to_json()
    assert build(again).volume == build(repair).volume


@pytest.mark.parametrize("name", catalogue.SHIPPED)
@given(data=st.data())
def test_values_of_every_template_read_back_exactly(name, data):
    drawn = data.draw(values(catalogue.find(name)))
    repair = Repair("r").add(name, name="part", **drawn)
    assert Repair.from_json(repair.to_json()) == repair


def test_a_step_may_sit_on_a_later_one():
    """Steps are in the order of adding; a seat may have been moved to a later step."""
    repair = Repair("r").add("box", name="a").add("box", name="b")
    repair.change("a", place="top of b")
    assert build(Repair.from_json(repair.to_json())).volume == pytest.approx(2000)


def broken(**changes):
    row = json.loads(divider().to_json())
    for key, value in changes.items():
        if value is ...:
            del row[key]
        else:
            row[key] = value
    return json.dumps(row)


def with_step(**changes):
    row = json.loads(divider().to_json())
    row["steps"][1] |= changes
    return json.dumps(row)


RECORD = divider().to_json()

DAMAGED = {
    "empty": ("", ("damaged at line 1",)),
    "cut off": (RECORD[: len(RECORD) // 2], ("damaged at line",)),
    "not json": ("name: divider", ("damaged at line 1",)),
    "nothing": (None, ("not a repair",)),
    "a list": ("[]", ("not a repair",)),
    "a number": ("7", ("not a repair",)),
    "deeply nested": ("[" * 200_000, ("nested too deeply",)),
    "no name": (broken(name=...), ("lacks 'name'",)),
    "no steps": (broken(steps=...), ("lacks 'steps'",)),
    "steps no list": (broken(steps=7), ("not a repair",)),
    "steps of text": (broken(steps=["fin"]), ("not a repair",)),
    "no values": (broken(steps=[{"name": "a", "template": "fin"}]), ("lacks 'values'",)),
    "newer": (broken(format=99), ("format 99", "newer", "update workbench")),
    "format of text": (broken(format="one"), ("not a repair",)),
    "unknown material": (broken(material="wood"), ("material 'wood'",)),
    "unknown template": (with_step(template="finn"), ("'finn'", "register your own")),
    "unknown field": (with_step(values={"girth": 3}), ("has no 'girth'",)),
    "value of text": (with_step(values={"width": "wide"}), ("foot: width", "'wide'")),
    "value not a number": (with_step(values={"width": math.nan}), ("foot: width is nan", "mm")),
    "value out of range": (with_step(values={"width": -3}), ("foot: width is -3 mm",)),
    "name with a stop": (with_step(name="a.b"), ("step name is 'a.b'",)),
    "two of a name": (with_step(name="blade"), ("two steps of the same name",)),
    "seat nowhere": (
        with_step(seat={"on": "top of lid"}),
        ("foot sits on 'top of lid'", "cannot be"),
    ),
    "seat on itself": (with_step(seat={"on": "top of foot"}), ("foot sits on", "cannot be")),
    "seat of odd data": (with_step(seat={"at": 3}), ("not a repair",)),
    "readings no table": (broken(readings=[1]), ("not a repair",)),
    "a bad reading": (
        broken(readings={"blade.bottom": {"values": ["wide"]}}),
        ("reading 'wide' is not a length",),
    ),
    "down nowhere": (broken(down=[0, 0, 0]), ("down",)),
    "a load of nothing": (broken(loads=[{"step": "blade", "force": -1}]), ("load on blade", "N")),
}


@pytest.mark.parametrize("case", DAMAGED)
def test_a_damaged_record_says_what_is_wrong(case, refused):
    text, words = DAMAGED[case]
    with refused(*words):
        Repair.from_json(text)


@given(st.data())
def test_a_record_with_any_part_replaced_is_read_or_refused(data):
    row = json.loads(RECORD)
    key = data.draw(st.sampled_from(sorted(row)))
    junk = st.none() | st.booleans() | st.integers() | st.text() | st.lists(st.integers())
    row[key] = data.draw(junk | st.dictionaries(st.text(), junk))
    try:
        repair = Repair.from_json(json.dumps(row))
    except RepairError as error:
        assert str(error)
    else:
        assert isinstance(repair.to_json(), str)


def test_of_many_steps_a_few_are_named_where_one_is_unknown():
    repair = Repair("many")
    for number in range(60):
        repair.add("box", name=f"box-{number}")
    for ask in (
        lambda: repair.step("nothing"),
        lambda: repair.add("box", Seat("top of nothing")),
        lambda: repair.round("top of nothing", 1),
        lambda: repair.change("nothing", width=3),
        lambda: repair.add("box", width=Same("nothing.width")),
    ):
        with pytest.raises(RepairError, match="more") as caught:
            ask()
        assert len(str(caught.value)) < 400
