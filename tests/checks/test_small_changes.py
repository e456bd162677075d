"""A chamfer under a ledge, or a flat below: offered where it saves support, and then it does."""

from __future__ import annotations

import pytest

from workbench.checks.check import judge
from workbench.checks.fix import apply, in_words
from workbench.checks.orientation.orient import ways_up
from workbench.checks.orientation.small_changes import FLATS, judged
from workbench.checks.report import Finding
from workbench.checks.subject import Subject
from workbench.solids.building import eased_edges
from workbench.solids.building.build import build
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import At, Seat


def capped(out: float) -> Repair:
    """A plate with a post, whose cap stands out on all sides."""
    repair = Repair("lever").add("plate", name="plate", width=60, height=40, thickness=4)
    repair.add("box", "top of plate", "post", width=8, depth=8, height=20)
    return repair.add("box", "top of post", "cap", width=8 + 2 * out, depth=8 + 2 * out, height=3)


def hangs(repair: Repair) -> list[Finding]:
    found = judge(Subject.of(repair)).shown
    return [finding for finding in found if finding.rule == "hangs in the air"]


@pytest.mark.parametrize("out", [2.0, 3.0, 4.0])
def test_a_chamfer_holds_up_a_short_ledge(out):
    repair = capped(out)
    (found,) = hangs(repair)
    ((where, size),) = found.fix["chamfer"].items()
    assert where == "between cap and post" and out - 0.2 <= size < out
    assert in_words(found.fix, repair).startswith("Chamfer the corner")
    assert hangs(apply(found.fix, repair.copy())) == []


def test_a_long_ledge_is_propped_instead():
    (found,) = hangs(capped(6.5))
    assert found.fix is None and "Support" in found.remedy


def test_what_has_to_fit_is_not_chamfered():
    (found,) = hangs(capped(3.0).fit("cap", "width", "20"))
    assert found.fix is None


def test_a_chamfer_that_is_tried_and_has_no_room_is_left_at_once(monkeypatch):
    monkeypatch.setattr(eased_edges, "_largest", lambda *_: pytest.fail("nobody reads which goes"))
    subject, down = Subject.of(capped(3.0)), (0, 0, -1)
    assert judged(subject, {"chamfer": {"between cap and post": 30.0}}, down) is None
    assert judged(subject, {"chamfer": {"between cap and post": 2.0}}, down)
    with pytest.raises(RuntimeError, match="nobody reads"):
        build(capped(3.0).chamfer("between cap and post", 30.0))


def rod(diameter: float, **place) -> Repair:
    return Repair("rod").add("cylinder", At(**place), "rod", diameter=diameter, height=60)


@pytest.mark.parametrize("place", [{}, {"lean": 90}, {"tilt": 90}, {"turn": 30}])
@pytest.mark.parametrize("diameter", [5.0, 8.0])
def test_a_rod_lies_on_a_flat_square_on_a_side_of_the_bench(place, diameter):
    repair = rod(diameter, **place)
    assert max(map(abs, ways_up(Subject.of(repair))[0].down)) > 0.999
    (found,) = hangs(repair)
    assert found.number > 0 and found.fix["steps"]["flat"]["template"] == "box"
    assert "flat" in in_words(found.fix, repair)
    after = apply(found.fix, repair.copy())
    assert hangs(after) == []
    taken = Subject.of(repair).assembly.solid.volume - Subject.of(after).assembly.solid.volume
    assert 0 < taken < 0.2 * Subject.of(repair).assembly.solid.volume


def test_a_bar_with_plane_sides_needs_no_flat():
    bar = Repair("bar").add("box", name="bar", width=6, depth=6, height=60)
    assert hangs(bar) == []


def test_the_flat_is_the_least_that_does(monkeypatch):
    (found,) = hangs(rod(5.0))
    depth = next(depth for depth in FLATS if f"{depth:g} mm" in found.remedy)
    monkeypatch.setattr(
        "workbench.checks.orientation.small_changes.FLATS", FLATS[: FLATS.index(depth)]
    )
    (without,) = hangs(rod(5.0))
    assert without.fix is None


def test_a_step_that_is_called_flat_stays():
    repair = rod(5.0)
    repair.rename("rod", "flat")
    (found,) = hangs(repair)
    assert found.fix is None


def test_a_seat_beside_a_post_is_chamfered_from_below():
    repair = Repair("lever").add("plate", name="plate", width=60, height=40, thickness=4)
    repair.add("box", "top of plate", "post", width=8, depth=8, height=20)
    repair.add("box", Seat("right of post", across=6), "nose", width=8, depth=8, height=4)
    (found,) = hangs(repair)
    assert hangs(apply(found.fix, repair.copy())) == []
