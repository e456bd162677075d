"""Fits by their ISO 286 words, and what a printer's measured sizes teach."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.checks.fit.bias import CAUSES, ENTERING, FEATURES, Bias, prior, row
from workbench.checks.fit.fits import (
    PRINTED,
    STEP,
    Belief,
    Mating,
    Tried,
    propose,
    told_window,
    window,
)
from workbench.checks.fit.iso286 import tolerance
from workbench.checks.fit.printed_size import Printed, printed_as, size_of, with_size
from workbench.checks.fit.printer_profile import Observation, Profile
from workbench.checks.subject import Subject
from workbench.errors import RepairError
from workbench.measure.reading import Reading
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import At
from workbench.solids.recipe.service import FITS, OUTCOMES, Fit

SIZES = st.floats(0.5, 400)


def size_for(kind, mating, feature, profile, at_bed=False):
    """What is proposed for a fit before anything was tried."""
    belief = Belief(kind, Mating.of(mating), feature, profile.bias, at_bed)
    because = [told_window(kind, belief), profile.told(feature, belief.mating, at_bed)]
    return propose(belief, *belief.best(STEP, np.inf), because)


@given(SIZES)
@settings(max_examples=40, deadline=None)
def test_clearance_leaves_room_interference_grips_transition_may_do_either(size):
    assert window("clearance", size).low > 0
    assert window("interference", size).high < 0
    middle = window("transition", size)
    assert middle.low < 0 < middle.high


@given(SIZES, SIZES)
@settings(max_examples=40, deadline=None)
def test_windows_widen_with_the_size(one, other):
    small, large = sorted((one, other))
    for kind in FITS:
        a, b = window(kind, small), window(kind, large)
        assert a.high - a.low <= b.high - b.low + 1e-9


@pytest.mark.parametrize("feature", FEATURES)
@pytest.mark.parametrize("kind", FITS)
def test_the_proposed_size_leaves_the_wanted_clearance_on_average(kind, feature):
    proposal = size_for(kind, Reading("8.02"), feature, Profile())
    wanted = window(kind, 8.02)
    assert proposal.clearance == pytest.approx((wanted.low + wanted.high) / 2, abs=2 * STEP)
    bias, _spread = Profile().bias.of(feature, 8.02)
    printed = proposal.size + bias
    found = 8.02 - printed if feature in ENTERING else printed - 8.02
    assert found == pytest.approx(proposal.clearance, abs=1e-6)


def test_the_reason_names_reading_window_bias_and_probability():
    reason = size_for("clearance", "2.45 mm", "outside", Profile()).reason
    for word in ("2.45 mm", "0.1 mm to 0.28 mm", "nothing has been measured", "%"):
        assert word in reason


def test_a_measured_printer_makes_the_proposal_surer():
    taught = Profile().with_observations(
        Observation("outside", size, size + 0.15, origin=f"coupon/{size}")
        for size in (2.2, 2.3, 2.4, 2.5)
    )
    before = size_for("clearance", 2.45, "outside", Profile())
    after = size_for("clearance", 2.45, "outside", taught)
    assert after.probability > before.probability
    assert after.size < before.size
    assert "4 prints measured" in after.reason


def test_a_first_layer_on_the_bed_makes_outsides_smaller_and_holes_larger():
    for feature, way in (("outside", -1), ("slot", 1), ("hole", 1)):
        clear = size_for("clearance", 6.0, feature, Profile())
        resting = size_for("clearance", 6.0, feature, Profile(), at_bed=True)
        assert np.sign(resting.size - clear.size) == way


@pytest.mark.parametrize(
    ("kind", "mating", "feature", "words"),
    [
        ("snug", 2.0, "outside", ["snug", "interference"]),
        ("clearance", 2.0, "edge", ["edge", "outside"]),
        ("clearance", -2.0, "outside", ["-2", "more than 0"]),
        ("clearance", "wide", "outside", ["wide"]),
        ("clearance", float("nan"), "outside", ["nan"]),
        ("clearance", 900.0, "outside", ["900", "500 mm"]),
    ],
)
def test_bad_input_is_told_in_a_sentence(kind, mating, feature, words):
    with pytest.raises(RepairError) as refusal:
        size_for(kind, mating, feature, Profile())
    assert all(word in str(refusal.value) for word in words)


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"kind": "snug"}, ["foot", "snug"]),
        ({"mating": 0.0}, ["foot", "0"]),
        ({"mating": "x"}, ["x"]),
        ({"field": "colour"}, ["colour"]),
        ({"step": "head"}, ["head"]),
    ],
)
def test_a_fit_that_cannot_be_is_refused_and_changes_nothing(values, words):
    repair = Repair("divider").add("tab", name="foot")
    asked = {"step": "foot", "field": "thickness", "mating": 2.45, "kind": "clearance"} | values
    with pytest.raises(RepairError) as refusal:
        repair.fit(**asked)
    assert all(word in str(refusal.value) for word in words)
    assert repair.fits == ()


def test_a_fit_said_again_replaces_the_first_and_goes_with_its_step():
    repair = Repair("divider").add("tab", name="foot")
    repair.fit("foot", "thickness", 2.4).fit("foot", "thickness", 2.5, "transition")
    assert repair.fits == (Fit("foot", "thickness", Reading(2.5), "transition"),)
    assert repair.add("box", name="other").remove("foot").fits == ()


# -- the model of bias -------------------------------------------------------------------------


@given(st.floats(-0.3, 0.3), st.floats(0.01, 0.1))
@settings(max_examples=25, deadline=None)
def test_knowing_one_bias_keeps_its_mean_and_variance_and_moves_the_related(mean, spread):
    acting = row("outside", 5.0)
    believed = prior("PLA")
    after = believed.moved(acting, mean, spread**2)
    found, uncertainty = after.of("outside", 5.0)
    assert found == pytest.approx(mean)
    assert uncertainty == pytest.approx(spread)
    moved_slot = after.of("slot", 5.0)[0] - believed.of("slot", 5.0)[0]
    moved = mean - believed.of("outside", 5.0)[0]
    assert abs(moved) < 1e-3 or np.sign(moved_slot) == -np.sign(moved)


@given(st.lists(st.sampled_from(FEATURES), min_size=1, max_size=8), st.integers(0, 99))
@settings(max_examples=25, deadline=None)
def test_measuring_never_makes_less_sure(features, seed):
    random = np.random.default_rng(seed)
    rows = np.array([row(feature, random.uniform(1, 80), bool(seed % 2)) for feature in features])
    before = prior("PETG")
    after = before.updated(rows, random.normal(0, 0.1, len(rows)), np.full(len(rows), 0.002))
    less = np.linalg.eigvalsh(before.covariance - after.covariance)
    assert less.min() > -1e-12
    assert np.linalg.eigvalsh(after.covariance).min() > 0


def test_a_hidden_printer_is_recovered_from_its_coupons():
    hidden = np.array([0.12, -0.22, -0.02, 0.06, 0.2, 0.004])
    random = np.random.default_rng(1)
    seen = []
    for feature in ("outside", "hole", "slot", "height"):
        for count, size in enumerate((2.0, 5.0, 20.0, 60.0, 120.0) * 3):
            at_bed = bool(count % 2)
            printed = size + row(feature, size, at_bed) @ hidden + random.normal(0, 0.03)
            found = printed + random.normal(0, PRINTED)
            seen.append(Observation(feature, size, found, at_bed, origin=f"{feature}/{count}"))
    bias = Profile(observations=tuple(seen)).bias
    spreads = np.sqrt(np.diag(bias.covariance))
    assert (np.abs(bias.mean - hidden) < 3 * spreads).all()
    assert (spreads < np.sqrt(np.diag(prior("PLA").covariance)) / 2).all()
    assert bias.noise == pytest.approx(0.03, abs=0.01)


def test_the_order_of_measurements_does_not_matter():
    seen = [
        Observation(feature, 5.0, 5.0 + away, origin=f"{feature}/{away}")
        for feature, away in (("outside", 0.1), ("hole", -0.3), ("slot", -0.1), ("hole", -0.2))
    ]
    there, back = Profile(observations=tuple(seen)), Profile(observations=tuple(seen[::-1]))
    assert there.bias.mean == pytest.approx(back.bias.mean)
    assert there.bias.covariance == pytest.approx(back.bias.covariance)


def test_an_unknown_material_starts_with_the_widest_guess_of_shrinkage():
    index = CAUSES.index("shrinkage")
    spread = {name: prior(name).covariance[index, index] for name in ("PLA", "ABS", "my filament")}
    assert max(spread, key=spread.get) == "my filament"


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"measured": 24.0}, ["24", "measure again"]),
        ({"measured": None}, ["nothing was measured"]),
        ({"size": 0.0}, ["size", "0"]),
        ({"feature": "rim"}, ["rim"]),
        ({"outcome": "right"}, ["right", "None"]),
        ({"measured": float("inf")}, ["inf"]),
    ],
)
def test_an_observation_that_cannot_be_is_refused(values, words):
    with pytest.raises(RepairError) as refusal:
        Observation(**({"feature": "outside", "size": 2.4, "measured": 2.5} | values))
    assert all(word in str(refusal.value) for word in words)


# -- the belief about one fit ------------------------------------------------------------------


def _belief(kind: str = "clearance", feature: str = "outside") -> Belief:
    return Belief(kind, Mating(5.0, 0.003), feature, prior("PLA"))


def test_outcomes_run_from_tight_to_loose_with_the_clearance():
    known = prior("PLA")
    steady = Bias(known.mean, known.covariance * 0.01, 0.01, 0.1)
    belief = Belief("clearance", Mating(5.0, 0.003), "outside", steady)
    likeliest = [OUTCOMES[int(belief.expect(size).argmax())] for size in np.arange(5.6, 4.2, -0.05)]
    ranks = [OUTCOMES.index(word) for word in likeliest]
    assert ranks == sorted(ranks)
    assert set(likeliest) == set(OUTCOMES)


@pytest.mark.parametrize("outcome", OUTCOMES)
def test_an_outcome_makes_itself_likelier_to_come_again(outcome):
    belief = _belief()
    before = belief.expect(4.8)[OUTCOMES.index(outcome)]
    belief.learn(Tried(4.8, outcome))
    assert belief.expect(4.8)[OUTCOMES.index(outcome)] > before


def test_a_measured_print_tells_the_printer_from_the_reading():
    belief = _belief()
    belief.learn(Tried(4.88, "too tight", measured=4.88))
    # The print came out as asked, so it is the slot that is tighter than it read.
    assert belief.printer_bias()[0] < prior("PLA").of("outside", 5.0)[0]
    assert float((belief.weights * belief.error).sum()) < -0.01


def test_one_wrong_outcome_does_not_undo_the_others():
    belief = _belief()
    for _count in range(4):
        belief.learn(Tried(4.8, "right"))
    belief.learn(Tried(4.8, "fell out"))
    assert belief.best(STEP, 99.0)[0] == pytest.approx(4.8, abs=0.06)


def test_stated_probabilities_come_true():
    random = np.random.default_rng(5)
    stated, came_true = [], []
    for _count in range(400):
        bias = prior("PLA")
        mean, spread = bias.of("outside", 5.0)
        hidden = random.normal(mean, spread)
        noise = bias.noise * np.exp(random.normal(0, bias.noise_spread))
        belief = Belief("clearance", Mating(5.0 + random.normal(0, 0.03)), "outside", bias)
        edges = belief.window.edges[1:-1]
        for _print in range(2):
            size, each = belief.best(STEP, 99.0)
            hand = edges + random.normal(0, 0.03)
            clearance = 5.0 - (size + hidden + random.normal(0, noise))
            outcome = OUTCOMES[int(np.searchsorted(np.sort(hand), clearance))]
            stated.append(each[OUTCOMES.index("right")])
            came_true.append(outcome == "right")
            belief.learn(Tried(size, outcome))
    assert np.mean(came_true) == pytest.approx(np.mean(stated), abs=0.05)


# -- how a size lies on the bed ----------------------------------------------------------------


def _standing() -> Repair:
    repair = Repair("divider", down=(0, 0, -1)).add("fin", name="blade", thickness=1.6)
    return repair.add("tab", seat="bottom of blade", name="foot", width=30, chamfer=0)


@pytest.mark.parametrize(
    ("down", "chamfer", "expected"),
    [
        ((0, 0, -1), 0.0, Printed("outside", True)),
        ((0, 0, -1), 0.4, Printed("outside", False)),
        ((0, 0, 1), 0.0, Printed("outside", False)),
        ((0, 1, 0), 0.0, Printed("height", False)),
    ],
)
def test_a_foots_thickness_lies_as_the_part_is_laid(down, chamfer, expected):
    repair = _standing().change("foot", chamfer=chamfer)
    repair.down = down
    assert printed_as(Subject.of(repair), "foot", "thickness") == expected


def test_what_is_cut_turns_outsides_into_slots_and_holes():
    block = Repair("block", down=(0, 0, -1)).add("box", name="body", width=40, depth=40, height=8)
    block.cut("box", At(-8, 0, -1), "slot", width=3, depth=12, height=12)
    block.cut("cylinder", At(8, 0, -1), "bore", diameter=5, height=12)
    block.cut("cylinder", At(8, 12, 4), "blind", diameter=5, height=12)
    subject = Subject.of(block)
    assert printed_as(subject, "slot", "width") == Printed("slot", True)
    assert printed_as(subject, "slot", "height") == Printed("gap", False)
    assert printed_as(subject, "bore", "diameter") == Printed("hole", True)
    assert printed_as(subject, "blind", "diameter") == Printed("hole", False)


def test_a_plates_screw_stands_for_its_hole():
    plate = Repair("plate").add("plate", name="plate")
    assert size_of(plate.step("plate"), "screw") == 4.5
    plate.change("plate", **with_size(plate.step("plate"), "screw", 4.2))
    assert size_of(plate.step("plate"), "hole") == 4.2


@pytest.mark.parametrize(("size", "grade"), [(0.0, 7), (-1.0, 7), (float("nan"), 7), (5.0, 3)])
def test_tolerances_out_of_the_table_are_refused(size, grade):
    with pytest.raises(RepairError):
        tolerance(size, grade)


def test_a_fit_s_clearance_changes_evenly_where_a_flat_lies_just_above_the_bed():
    from workbench.checks.fit.trials import believed
    from workbench.output.notebook.shelf import repair_at

    left = []
    for size in (4.66, 4.67, 4.68, 4.69, 4.70):
        repair = repair_at("shelf-peg").change("peg", diameter=size)
        fit = next(fit for fit in repair.fits if fit.step == "peg")
        how = printed_as(Subject.of(repair), fit.step, fit.field)
        left.append(float(believed(repair, fit, Profile(), how).clearance(size)[0]))
    assert np.all(np.abs(np.diff(left) + 0.01) < 0.001), left
