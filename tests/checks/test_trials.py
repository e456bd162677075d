"""Trials: noted against a revision that exists, and leading to the right size in few prints."""

from __future__ import annotations

import json

import numpy as np
import pytest
from simulated import Case, Workshop, further_prints, ladder, proposing

from workbench.checks.check import check
from workbench.checks.fit.fit_report import fit_rows, fits, observations, trial_rows
from workbench.checks.fit.printed_size import Printed, printed_as
from workbench.checks.fit.printer_profile import Observation, Profile, path_of, profile_of
from workbench.checks.fit.trials import believed, log_coupon, log_trial, next_size
from workbench.checks.fix import apply, resized
from workbench.checks.subject import Subject
from workbench.errors import RepairError
from workbench.output.files.saved_profiles import keep, keep_trials
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.service import OUTCOMES

LEVEL = Printed("outside", False)


@pytest.fixture(autouse=True)
def own_data(tmp_path, monkeypatch):
    """A data folder of the test's own."""
    monkeypatch.setenv("WORKBENCH_DATA", str(tmp_path / "data"))
    return tmp_path / "data"


@pytest.fixture
def divider() -> Repair:
    """The tray divider, whose foot enters a slot that reads 2.45 mm."""
    repair = Repair("tray divider", down=(0, 0, 1)).add("fin", name="blade")
    repair.add("tab", seat="bottom of blade", name="foot", width=30, length=4, thickness=2.3)
    return repair.fit("foot", "thickness", "2.45")


def test_a_trial_is_added_and_survives_the_record(divider):
    log_trial(divider, 1, "foot", "thickness", "too tight", "2.41 mm", revisions=[1, 2])
    again = Repair.from_json(divider.to_json())
    assert again.trials == divider.trials
    assert again.fits == divider.fits
    assert (again.trials[0].set_to, again.trials[0].measured) == (2.3, 2.41)


def test_the_size_comes_from_the_revision_that_was_printed(divider, tmp_path):
    place = tmp_path / "out" / "revision-1"
    place.mkdir(parents=True)
    (place / "record.json").write_text(json.dumps({"repair": json.loads(divider.to_json())}))
    divider.change("foot", thickness=2.1)
    log_trial(divider, 1, "foot", "thickness", "loose", revisions=place.parent)
    assert divider.trials[0].set_to == 2.3


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"revision": 7}, ["7", "1, 2"]),
        ({"revision": True}, ["True"]),
        ({"step": "tail"}, ["tail", "foot"]),
        ({"field": "weight"}, ["weight", "thickness"]),
        ({"outcome": "so so"}, ["so so", "would not enter"]),
        ({"measured": 23.1}, ["foot: thickness", "23.1", "measure again"]),
        ({"measured": float("nan")}, ["nan"]),
        ({"measured": "wide"}, ["wide"]),
        ({"revisions": ()}, ["export one first"]),
        ({"revisions": "/nowhere/at/all"}, ["export one first"]),
    ],
)
def test_a_trial_that_cannot_be_is_refused_and_nothing_is_noted(divider, change, words):
    asked = {"revision": 1, "step": "foot", "field": "thickness", "outcome": "right"}
    asked |= {"measured": None, "revisions": [1, 2]} | change
    with pytest.raises(RepairError) as refusal:
        log_trial(divider, **asked)
    assert all(word in str(refusal.value) for word in words)
    assert divider.trials == ()


def test_a_damaged_record_is_told_and_nothing_is_noted(divider, tmp_path):
    place = tmp_path / "revision-3"
    place.mkdir()
    (place / "record.json").write_text('{"repair": ')
    with pytest.raises(RepairError, match=r"record\.json cannot be read"):
        log_trial(divider, 3, "foot", "thickness", "right", revisions=tmp_path)
    assert divider.trials == ()


def test_too_tight_asks_for_less_and_loose_for_more(divider):
    first = next_size(divider, "foot", "thickness", Profile(), LEVEL)
    tight, loose = divider.copy(), divider.copy()
    for repair, outcome in ((tight, "too tight"), (loose, "loose")):
        repair.change("foot", thickness=first.size)
        log_trial(repair, 1, "foot", "thickness", outcome, revisions=[1])
    after_tight = next_size(tight, "foot", "thickness", Profile(), LEVEL)
    after_loose = next_size(loose, "foot", "thickness", Profile(), LEVEL)
    assert after_tight.size < first.size < after_loose.size
    assert "revision 1" in after_tight.reason.lower()
    assert "too tight" in after_tight.reason


def test_a_hole_grows_where_a_tab_would_shrink():
    plate = Repair("screw plate").add("plate", name="plate").fit("plate", "screw", 4.0)
    hole = Printed("hole", True)
    first = next_size(plate, "plate", "hole", Profile(), hole)
    log_trial(plate, 1, "plate", "hole", "too tight", revisions=[1])
    assert plate.trials[0].set_to == 4.5
    plate.change("plate", screw="other", hole=first.size)
    log_trial(plate, 2, "plate", "hole", "too tight", revisions=[1, 2])
    assert next_size(plate, "plate", "hole", Profile(), hole).size > first.size


def test_a_hook_goes_over_its_ledge_with_room():
    door = Repair("battery door", down=(0, 1, 0)).add("clip", name="hook", length=12)
    door.fit("hook", "length", "11.8 mm")
    proposal = next_size(door, "hook", "length", Profile())
    assert proposal.size > 11.8
    assert proposal.clearance > 0
    log_trial(door, 1, "hook", "length", "would not enter", revisions=[1])
    assert next_size(door, "hook", "length", Profile()).size > 12


def test_a_peg_grips_its_hole_in_an_interference_fit():
    peg = Repair("shelf peg").add("peg", name="pin").fit("pin", "diameter", 5.0, "interference")
    printed = next_size(peg, "pin", "diameter", Profile(), LEVEL)
    assert printed.clearance < 0
    assert "grips by 0.05 mm to 0.23 mm" in printed.reason


def test_what_went_right_is_kept(divider):
    log_trial(divider, 1, "foot", "thickness", "right", revisions=[1])
    proposal = next_size(divider, "foot", "thickness", Profile(), LEVEL)
    assert proposal.size == 2.3
    assert "keep it" in proposal.reason


def test_chances_are_a_distribution(divider):
    proposal = next_size(divider, "foot", "thickness", Profile(), LEVEL)
    assert sum(proposal.chances.values()) == pytest.approx(1)
    assert proposal.chances["right"] == proposal.probability


def test_contradicting_trials_are_told(divider):
    log_trial(divider, 1, "foot", "thickness", "loose", revisions=[1])
    divider.change("foot", thickness=2.1)
    log_trial(divider, 2, "foot", "thickness", "too tight", revisions=[1, 2])
    reason = next_size(divider, "foot", "thickness", Profile(), LEVEL).reason
    assert "print one of them again" in reason


def test_a_size_stays_within_what_the_template_takes():
    thin = Repair("shim").add("tab", name="foot", thickness=0.5).fit("foot", "thickness", 0.45)
    proposal = next_size(thin, "foot", "thickness", Profile(), LEVEL)
    assert proposal.size == 0.4
    assert "can only be 0.4 to 60 mm" in proposal.reason


def test_a_size_without_a_fit_asks_for_one(divider):
    with pytest.raises(RepairError, match=r"blade: thickness has no fit yet; .* in mm"):
        next_size(divider, "blade", "thickness", Profile(), LEVEL)


def fit_found(repair):
    (found,) = fits(Subject.of(repair))
    return found


def test_the_check_warns_of_a_size_that_will_not_enter_and_offers_another(divider):
    divider.change("foot", thickness=2.5)
    found = fit_found(divider)
    assert found.severity == "warning" and found.number < found.limit
    assert "2.5 mm in 2.45 mm" in found.text
    size = next_size(divider, "foot", "thickness").size
    assert found.fix == resized("foot", thickness=size) and f"{size:g} mm" in found.remedy
    after = fit_found(apply(found.fix, divider.copy()))
    assert after.fix is None and after.number > found.number


def test_what_does_not_go_in_at_all_stops_a_print(divider):
    divider.change("foot", thickness=9.0)
    found = fit_found(divider)
    assert (found.severity, check(divider).ok) == ("stop", False)
    assert "9 mm does not go into 2.45 mm" in found.text and "%" not in found.text
    assert fit_found(apply(found.fix, divider.copy())).severity != "stop"


@pytest.mark.parametrize("kind", ["clearance", "transition", "interference"])
def test_the_severity_of_a_fit_turns_at_its_own_limits(divider, kind):
    """Both sides of 5 % to go in and of even, at the size where each lies."""
    divider.fit("foot", "thickness", "2.45 mm", kind)
    how = printed_as(Subject.of(divider), "foot", "thickness")
    belief = believed(divider, divider.fits[0], Profile(), how)
    for size in np.arange(2.0, 3.6, 0.05).round(2):
        divider.change("foot", thickness=float(size))
        chance = dict(zip(OUTCOMES, belief.expect(float(size)), strict=True))
        found = fit_found(divider)
        if 1 - chance["would not enter"] < 0.05:
            assert found.severity == "stop"
        elif chance["right"] < 0.5:
            assert found.severity == "warning"
        else:
            assert found.severity in ("warning", "note")
            assert (found.severity == "warning") == (found.fix is not None)


def test_the_check_says_nothing_of_fit_where_none_was_asked_for():
    plain = Repair("plain").add("plate", name="plate")
    assert not [f for f in check(plain).findings if f.rule == "fit"]


def test_rows_tell_each_print(divider):
    log_trial(divider, 1, "foot", "thickness", "too tight", 2.36, revisions=[1])
    log_coupon(divider, "foot", "thickness", 2.2, "right")
    first, second = trial_rows(divider, "foot", "thickness")
    assert (first.printed, first.size, first.measured) == ("revision 1", "2.3 mm", "2.36 mm")
    assert (second.printed, second.measured, second.outcome) == ("coupon", "–", "right")
    assert len(first.HEADINGS) == 5


def test_rows_tell_each_fit_with_what_is_proposed(divider):
    (row,) = fit_rows(Subject.of(divider))
    assert (row.step, row.size, row.fit) == ("foot", "2.3 mm", "clearance fit to 2.45 mm")
    assert row.proposal == next_size(divider, "foot", "thickness")
    divider.change("foot", thickness=row.proposal.size)
    (better,) = fit_rows(Subject.of(divider))
    assert int(better.right.split()[0]) > int(row.right.split()[0])


# -- what the printer taught -------------------------------------------------------------------


def test_trials_kept_for_the_printer_help_the_next_repair_but_are_not_counted_twice(divider):
    for size in (2.3, 2.25, 2.2):
        divider.change("foot", thickness=size)
        log_trial(divider, 1, "foot", "thickness", "would not enter", revisions=[1])
    alone = next_size(divider, "foot", "thickness", Profile(), LEVEL)
    kept = keep_trials(divider)
    assert len(kept.observations) == 3
    assert next_size(divider, "foot", "thickness", kept, LEVEL).size == alone.size
    other = Repair("another").add("tab", name="foot").fit("foot", "thickness", 3.0)
    taught = next_size(other, "foot", "thickness", kept, LEVEL).size
    assert taught < next_size(other, "foot", "thickness", Profile(), LEVEL).size


def test_keeping_trials_twice_keeps_them_once(divider):
    log_trial(divider, 1, "foot", "thickness", "loose", revisions=[1])
    assert keep_trials(divider) == keep_trials(divider)
    assert profile_of("generic 220", "PLA").observations == observations(Subject.of(divider))


def test_a_damaged_profile_is_told_set_aside_and_never_lost(divider, own_data):
    path = path_of("generic 220", "PLA")
    path.parent.mkdir(parents=True)
    for damage in ("{ not json", '{"observations": 3}', "[]", '{"format": 99, "observations": []}'):
        path.write_text(damage)
        assert str(path) in profile_of("generic 220", "PLA").problem
        found = [f for f in check(divider).findings if f.rule == "fit"]
        assert any(str(path) in f.text for f in found)
        assert path.read_text() == damage
        kept = keep("generic 220", "PLA", [Observation("outside", 2.0, 2.1, origin="c/1")])
        assert not kept.problem
        aside = sorted(path.parent.glob("*damaged*"), key=lambda p: p.stat().st_mtime_ns)[-1]
        assert aside.read_text() == damage
    assert len(list(path.parent.glob("*damaged*"))) == 4


def test_one_bad_row_does_not_take_the_others_with_it(own_data):
    keep(
        "generic 220", "PLA", [Observation("outside", x, x + 0.1, origin=f"c/{x}") for x in (2, 3)]
    )
    path = path_of("generic 220", "PLA")
    stored = json.loads(path.read_text())
    stored["observations"][0]["measured"] = "fat"
    path.write_text(json.dumps(stored))
    found = profile_of("generic 220", "PLA")
    assert len(found.observations) == 1
    assert "observation 1" in found.problem


def test_a_shared_profile_counts_and_is_only_read(own_data, tmp_path, monkeypatch):
    shared = tmp_path / "shared"
    monkeypatch.setenv("WORKBENCH_DATA", str(shared))
    keep("generic 220", "PLA", [Observation("outside", 2.0, 2.2, origin="class/1")])
    before = path_of("generic 220", "PLA").read_text()
    monkeypatch.setenv("WORKBENCH_DATA", f"{own_data}:{shared}")
    kept = keep("generic 220", "PLA", [Observation("outside", 3.0, 3.2, origin="mine/1")])
    assert [seen.origin for seen in kept.known] == ["class/1", "mine/1"]
    assert [seen.origin for seen in kept.observations] == ["mine/1"]
    monkeypatch.setenv("WORKBENCH_DATA", str(shared))
    assert path_of("generic 220", "PLA").read_text() == before


def test_a_folder_that_cannot_be_written_is_told(tmp_path, monkeypatch):
    (tmp_path / "file").write_text("not a folder")
    monkeypatch.setenv("WORKBENCH_DATA", str(tmp_path / "file"))
    with pytest.raises(RepairError, match="cannot be written"):
        keep("generic 220", "PLA", [Observation("outside", 2.0, 2.2, origin="c/1")])


# -- simulated printers ------------------------------------------------------------------------


def test_the_right_size_is_found_in_two_further_prints_nine_times_in_ten():
    cases = [
        Case("clearance", 2.45, "outside"),
        Case("transition", 5.0, "outside"),
        Case("interference", 8.0, "outside"),
        Case("clearance", 4.0, "hole"),
    ]
    found: dict[str, list[int]] = {"proposals": [], "ladder": []}
    for way, method in (("proposals", proposing), ("ladder", ladder)):
        random = np.random.default_rng(20)
        for count in range(160):
            case = cases[count % len(cases)]
            middle = -0.2 if case.feature == "hole" else 0.05
            workshop = Workshop(middle + random.uniform(-0.35, 0.35), 0.04, random.normal(0, 0.02))
            found[way].append(further_prints(case, workshop, method, random))
    share = {way: float(np.mean(np.array(prints) <= 2)) for way, prints in found.items()}
    assert share["proposals"] >= 0.9
    assert share["ladder"] < share["proposals"]


# -- holes ---------------------------------------------------------------------------------------


def plate_with_a_hole() -> Repair:
    plate = Repair("plate", down=(0, 0, -1)).add("plate", name="plate", holes=1, screw="other")
    return plate.change("plate", hole=6.2).fit("plate", "hole", "6.0 mm")


def test_on_an_unknown_printer_a_hole_asks_for_the_comb_first():
    (found,) = fits(Subject.of(plate_with_a_hole()))
    assert found.fix is not None or "comb first" in found.remedy
    plate = plate_with_a_hole()
    if found.fix:
        apply(found.fix, plate)
        (found,) = fits(Subject.of(plate))
    assert "holes come out true" in found.remedy and "comb first" in found.remedy


@pytest.mark.parametrize(("true", "printed"), [(True, 6.0), (False, 5.79)])
def test_told_once_how_holes_come_out_the_next_size_follows(true, printed):
    """A printer whose holes come true: the clearance is met at once, not after a comb."""
    told = Profile().told_of_holes(true)
    assert told.knows_holes and not Profile().knows_holes
    bias, _spread = told.bias.of("hole", 6.0)
    assert bias == pytest.approx(printed - 6.0, abs=0.03)
    assert told.told_of_holes(true) == told  # asked twice, kept once
    size = next_size(plate_with_a_hole(), "plate", "hole", told).size
    on_bed, _spread = told.bias.of("hole", 6.0, at_bed=True)
    assert size + on_bed == pytest.approx(6.0 + 0.19, abs=0.04)  # the middle of the window


def test_where_no_size_would_do_the_reading_is_doubted_and_no_comb_advised():
    peg = Repair("peg").add("peg", name="peg", diameter=8.0, length=20)
    found = fit_found(peg.copy().fit("peg", "diameter", 80.0))  # 80 typed for 8.0
    assert found.remedy.startswith("It can only be 1 to 60 mm: read 80 mm again")
    assert found.fix is None and found.severity == "warning"
    assert "can only be" not in fit_found(peg.fit("peg", "diameter", 60.2)).remedy
