"""The fit panel: what has to fit, how prints went, and the size that follows, all undoable."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from workbench.checks.fit.trials import next_size
from workbench.jupyter import bench as benches
from workbench.jupyter.bench import Bench
from workbench.jupyter.pages.fitting import COUPON, Fitting
from workbench.solids.recipe.repair import Repair

pytestmark = pytest.mark.usefixtures("in_a_folder_of_its_own")


@pytest.fixture
def repair() -> Repair:
    return (
        Repair("tray divider", down=(0, 1, 0))
        .add("plate", name="wall", width=30, height=20, thickness=2, holes=0)
        .add("tab", seat="top of wall", name="foot", width=12, length=4, thickness=2.4)
    )


@pytest.fixture
def panel(repair: Repair, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(benches, "PAUSE", 0.0)
    shown = Bench(repair)
    fitting = shown.panel(Fitting)
    assert fitting is not None
    shown.pages.buttons.value = dict(shown.pages.buttons.options)[fitting.title]
    settle(fitting)
    yield fitting
    shown.close()
    assert shown.settle()


def settle(panel: Fitting) -> None:
    assert panel.bench.settle() and panel.settle()


def say(panel: Fitting, reading: str = "2.45 2.5") -> None:
    panel.size.value = ("foot", "thickness")
    panel.mating.value = reading
    panel.say.click()
    settle(panel)


def test_a_fit_is_said_told_in_a_table_and_undone(panel: Fitting, repair: Repair):
    assert "No fit yet" in panel.table.value
    say(panel)
    assert repair.fits[0].mating.values == (2.45, 2.5)
    assert "clearance fit to 2.48 mm" in panel.table.value
    assert "likely to be right" in panel.reason.value
    panel.bench.undo()
    settle(panel)
    assert repair.fits == () and "No fit yet" in panel.table.value


@pytest.mark.parametrize(("typed", "said"), [("", "no values"), ("wide", "wide"), ("-2", "-2")])
def test_a_counterpart_that_is_no_length_is_refused_in_words(
    panel: Fitting, repair: Repair, typed: str, said: str
):
    say(panel, typed)
    assert repair.fits == () and said in panel.fit_note.value
    assert 'role="alert"' in panel.fit_note.value


def test_the_size_that_is_proposed_is_the_tools_own_and_is_set_with_one_button(
    panel: Fitting, repair: Repair
):
    say(panel)
    expected = next_size(repair, "foot", "thickness").size
    panel.apply.click()
    settle(panel)
    assert repair.step("foot").values["thickness"] == expected
    assert panel.apply.disabled and "It is set" in panel.apply.description
    panel.bench.undo()
    assert repair.step("foot").values["thickness"] == 2.4


def test_a_trial_of_a_coupons_piece_changes_the_proposal(panel: Fitting, repair: Repair):
    say(panel)
    before = panel.rows[0].proposal
    panel.printed.value = COUPON
    panel.piece.value, panel.outcome.value = "2.2", "too tight"
    panel.measured.value = "2.31 mm"
    panel.log.click()
    settle(panel)
    trial = repair.trials[0]
    assert (trial.set_to, trial.outcome, trial.measured) == (2.2, "too tight", 2.31)
    assert "2.31 mm" in panel.trials.value and "too tight" in panel.trials.value
    assert panel.rows[0].proposal.size < 2.2
    assert panel.rows[0].proposal.probability > before.probability
    panel.bench.undo()
    assert repair.trials == () and panel.trials.value == ""


def test_a_trial_is_of_a_revision_that_was_written(
    panel: Fitting, repair: Repair, in_a_folder_of_its_own: Path
):
    say(panel)
    folder = in_a_folder_of_its_own / "repairs" / "tray-divider" / "revision-3"
    folder.mkdir(parents=True)
    stored = repair.copy().change("foot", thickness=2.3)
    (folder / "record.json").write_text(json.dumps({"repair": json.loads(stored.to_json())}))
    panel.opened()
    assert 3 in [value for _text, value in panel.printed.options]
    panel.printed.value = 3
    panel.outcome.value = "loose"
    panel.log.click()
    assert (repair.trials[0].revision, repair.trials[0].set_to) == (3, 2.3)


def test_a_measured_size_that_cannot_be_is_refused_and_nothing_is_noted(
    panel: Fitting, repair: Repair
):
    say(panel)
    panel.printed.value = COUPON
    for piece, measured in (("", ""), ("2.2", "23"), ("2.2", "two")):
        panel.piece.value, panel.measured.value = piece, measured
        panel.log.click()
        assert repair.trials == () and 'role="alert"' in panel.trial_note.value


def test_trials_are_kept_for_the_printer(panel: Fitting, monkeypatch: pytest.MonkeyPatch):
    from workbench.output.files import saved_profiles

    kept: list[Repair] = []
    monkeypatch.setattr(saved_profiles, "keep_trials", kept.append)
    assert panel.keep.layout.display == "none"
    say(panel)
    panel.printed.value = COUPON
    panel.piece.value = "2.2"
    panel.log.click()
    assert panel.keep.layout.display == ""
    panel.keep.click()
    assert kept == [panel.bench.repair] and "Saved: the next repair" in panel.trial_note.value


def test_how_holes_come_out_is_asked_once_for_each_printer(
    panel: Fitting, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
):
    monkeypatch.setenv("WORKBENCH_DATA", str(tmp_path / "data"))
    say(panel)
    assert panel.holes.layout.display == "none"  # no hole has to fit

    def with_a_ring(repair: Repair) -> None:
        repair.add("spacer", "bottom of wall", "ring").fit("ring", "inside", "5.0")
        repair.down = (0.0, 0.0, 1.0)

    assert not panel.bench.edit(with_a_ring)
    settle(panel)
    assert panel.holes.layout.display == ""
    before = next(row for row in panel.rows if row.step == "ring").proposal.size
    yes, _no = panel.holes.children[1].children
    yes.click()
    settle(panel)
    assert panel.holes.layout.display == "none" and "Saved" in panel.fit_note.value
    after = next(row for row in panel.rows if row.step == "ring").proposal
    assert after.size < before - 0.1 and after.probability > 0.4


def test_a_coupon_is_written_or_refused_in_words(panel: Fitting, in_a_folder_of_its_own: Path):
    say(panel)
    panel.coupon.click()
    written = list((in_a_folder_of_its_own / "repairs").glob("*coupon*/revision-1/*.stl"))
    assert len(written) == 1 and "Snap the pieces apart" in panel.coupon_note.value
    panel.size.value = ("foot", "length")
    panel.coupon.click()
    assert 'role="alert"' in panel.coupon_note.value


def test_what_is_being_typed_stays_while_other_things_change(panel: Fitting):
    panel.size.value = ("foot", "thickness")
    panel.mating.value = "2.4"
    panel.bench.fields("wall")["width"].slider.value = 31
    settle(panel)
    assert panel.mating.value == "2.4"
    panel.size.value = ("foot", "width")
    assert panel.mating.value == ""
