"""Parts parted for the bed: the halves go together, with room, and nothing is lost but the room."""

from __future__ import annotations

import pytest

from workbench import At, Repair, RepairError, build, check
from workbench.checks.fix import apply, in_words
from workbench.solids.split import JOINTS


def trim(width: float = 300.0, depth: float = 24.0) -> Repair:
    made = Repair("trim").add("box", name="trim", width=width, depth=depth, height=8)
    return made.cut("cylinder", At(x=width / 3, y=depth / 3), name="hole", diameter=5, height=8)


@pytest.mark.parametrize("joint", JOINTS)
@pytest.mark.parametrize("size", [(300.0, 24.0), (24.0, 300.0)])
def test_the_halves_go_together_with_room(joint: str, size: tuple[float, float]) -> None:
    whole = build(trim(*size))
    first, second = trim(*size).split(joint=joint)
    one, two = build(first), build(second)
    lost = whole.volume - one.volume - two.volume
    assert 0 < lost < 1.0 * 24 * 8  # the gap, along the joint's faces
    assert one & two is None
    assert max(one.bounding_box().size) < 165 and max(two.bounding_box().size) < 165
    told = {
        f.rule: f for f in check(first).findings if f.rule in ("runs into", "least gap", "way in")
    }
    assert set(told) == {"least gap", "way in"} and all(f.passed for f in told.values())
    assert first.counterparts[0].repair().steps == second.steps
    assert Repair.from_json(first.to_json()) == first


@pytest.mark.parametrize("joint", JOINTS)
def test_a_half_is_split_again_and_a_joint_finds_room_near_an_end(joint: str) -> None:
    tall = Repair("post").add("box", width=60, depth=20, height=50)
    first, _second = tall.split(24, joint)
    one, two = map(build, first.split(-20, joint))
    assert one.bounding_box().max.X - two.bounding_box().min.X > 3 - 0.25
    assert one & two is None
    assert build(first).bounding_box().max.X <= 27 + 1e-6


@pytest.mark.parametrize("joint", ["dovetail", "pins"])
def test_a_joint_that_would_be_in_a_hole_is_refused(joint: str) -> None:
    open_ = Repair("frame").add("box", width=60, depth=40, height=5)
    open_.cut("cylinder", name="hole", diameter=38, height=5)
    with pytest.raises(RepairError, match=f"no {joint} can be made at 0 mm .*; split it elsewhere"):
        open_.split(0, joint)


def test_a_dovetail_holds_and_pins_carry_a_fit() -> None:
    first, second = trim().split(("x", 40), "dovetail")
    pulled = build(second).translate((3, 0, 0))
    assert (build(first) & pulled).volume > 1  # the tongue catches in its socket
    first, second = trim().split(("x", 40), "pins", gap=0.3)
    across = first.step("pin").values["diameter"]
    assert build(first).bounding_box().max.X == pytest.approx(40 + 2 * across)
    (one, two) = second.fits
    assert one.kind == "clearance" and one.step != two.step
    assert second.step(one.step).values[one.field] == pytest.approx(one.mating.value + 0.6)


@pytest.mark.parametrize(
    ("how", "told"),
    [
        ({"joint": "glue"}, "joint is 'glue'; give one of lap, dovetail, pins"),
        (
            {"at": 144.1},
            "split is 144.1 mm; give -144 to 144 mm .along the part, clear of its ends",
        ),
        ({"at": ("z", 4)}, "split is across 'z'; give x"),
    ],
)
def test_what_cannot_be_split_is_told(how: dict, told: str) -> None:
    with pytest.raises(RepairError, match=told):
        trim().split(**how)
    thin = Repair("strip").add("box", width=300, depth=24, height=2)
    with pytest.raises(RepairError, match="only 2 mm thick at 0 mm, too thin for a joint"):
        thin.split()


def test_too_long_for_the_bed_offers_the_split() -> None:
    finding = check(trim(390.0)).fix_for("fits the bed")
    assert finding.fix == {"split": {"joint": "dovetail"}}
    repair = apply(finding.fix, trim(390.0))
    assert in_words(finding.fix, repair) == "Split it in two, with a dovetail"
    assert "fits the bed" not in {f.rule for f in check(repair).findings if f.severity == "stop"}
    # A quarter turn on a bed of 220 does not help what is 400 in both directions.
    wide = Repair("board").add("box", width=400, depth=400, height=8)
    (stopped,) = [f for f in check(wide).findings if f.rule == "fits the bed"]
    assert stopped.fix is None
