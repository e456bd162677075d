"""The panel about fits: what a size is to fit, how prints of it went, and the size to set next."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING, Any

import ipywidgets as w

from workbench.checks.report import Report
from workbench.checks.subject import Subject
from workbench.errors import RepairError
from workbench.jupyter.newest_only import Newest
from workbench.jupyter.pages.files_page import Files
from workbench.jupyter.panel import Panel, button_for, chooser, columns, entry, labelled, said, told
from workbench.jupyter.sizes.length_boxes import LengthBox
from workbench.jupyter.state import Made
from workbench.output.files.paths import slug
from workbench.solids import catalogue
from workbench.solids.parameters import Size
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.service import FITS, OUTCOMES, Fit
from workbench.words import _, unit_word, with_unit

if TYPE_CHECKING:
    from workbench.checks.fit.fit_report import FitRow

#: Stands for the pieces of a coupon among the revisions.
COUPON = 0

Where = tuple[str, str]


@dataclass(frozen=True)
class _Judged:
    """A part whose ways up are known already, so that its fits are told quickly."""

    made: Made
    report: Report


class Fitting(Panel):
    """Fits and trials; every change of the repair can be undone."""

    title = "Fit"
    purpose = "What the part fits, and which size to set"

    def lay_out(self) -> None:
        self._open = False
        self._newest: _Judged | None = None
        self._known: tuple[Any, ...] = ()
        self._filled: tuple[Where | None, Fit | None] = (None, None)
        self.rows: tuple[FitRow, ...] = ()
        self._teller: Newest[_Judged, tuple[FitRow, ...] | str] = Newest(_told_fits, self._show)
        self._make_fit()
        self._make_trial()
        self.widget = columns(
            labelled(
                _("What has to fit"),
                self.size,
                self.kind,
                self.mating,
                self.say,
                self.fit_note,
                self.table,
                self.holes,
                self.reason,
                self.apply,
                kind="wb-form",
            ),
            w.VBox(
                [
                    labelled(
                        _("How the print fitted"),
                        self.printed,
                        self.piece,
                        self.outcome,
                        self.measured,
                        self.remark,
                        self.log,
                        self.trial_note,
                        self.trials,
                        self.keep,
                        kind="wb-form",
                    ),
                    labelled(
                        _("Find the size with one short print"),
                        w.HTML(
                            told(
                                _(
                                    "A coupon is a comb of pieces in steps of the size chosen "
                                    "above, each marked with its size."
                                )
                            )
                        ),
                        self.coupon,
                        self.coupon_note,
                        kind="wb-form",
                    ),
                ]
            ),
        )
        self.edited()

    def _make_fit(self) -> None:
        self.size = chooser(_("Size"), _("The size of the part that has to fit"))
        self.kind = chooser(
            _("Kind of fit"),
            _("How the two go together, in the terms of ISO 286-1"),
            [
                (_("clearance: goes in freely"), FITS[0]),
                (_("transition: just goes in"), FITS[1]),
                (_("interference: is pressed in"), FITS[2]),
            ],
        )
        self.mating = LengthBox(
            _("Fits (slot or hole)"),
            lambda: _(
                "Reading of the slot, hole or shaft in {unit}; several, separated by spaces, are averaged"
            ).format(unit=unit_word()),
            lambda: _("as your calipers read it"),
        )
        self.say = button_for(
            _("Save fit"), _("Save in the repair what this size has to fit"), "wb-main"
        )
        self.fit_note, self.table, self.reason = w.HTML(), w.HTML(), w.HTML()
        self.apply = button_for(
            _("Use this size"), _("Set the step to the proposed size"), "wb-main"
        )
        question = _("Do round holes come out as large on this printer as they are drawn?")
        yes, no = (w.Button(description=text) for text in (_("Yes"), _("No, smaller")))
        yes.tooltip = _("This printer is set up for it; asked once for each printer")
        no.tooltip = _("Most printers print them smaller; asked once for each printer")
        yes.on_click(lambda _button: self._say_of_holes(True))
        no.on_click(lambda _button: self._say_of_holes(False))
        self.holes = w.VBox([w.HTML(told(question)), w.HBox([yes, no])])
        self.holes.layout.display = "none"
        self.size.observe(lambda _change: self._show_chosen(), "value")
        self.say.on_click(lambda _button: self._say())
        self.apply.on_click(lambda _button: self._apply())

    def _make_trial(self) -> None:
        self.printed = chooser(
            _("Printed"), _("The revision that was printed, or a coupon's piece")
        )
        self.piece = entry(
            _("Size marked on the piece"),
            _("The raised figures on the piece of the coupon, in mm"),
            _("size on the piece, in mm"),
        )
        self.outcome = w.Dropdown(
            description=_("Result"),
            options=[(_(outcome, "outcome"), outcome) for outcome in OUTCOMES],
            value="right",
            tooltip=_("How it went in place"),
        )
        self.measured = LengthBox(
            _("Measured"),
            lambda: _("The printed size, read with calipers, in {unit}; can be left empty").format(
                unit=unit_word()
            ),
            lambda: _("may stay empty"),
        )
        self.remark = entry(_("Note"), _("Note on the trial (optional)"))
        self.log = button_for(_("Log this trial"), _("Save the trial in the repair"), "wb-main")
        self.keep = button_for(
            _("Save for this printer"),
            _("Let the next repair with this printer and material learn from these trials"),
        )
        self.coupon = button_for(
            _("Write a coupon"), _("Write the files of a coupon for the size chosen"), "wb-main"
        )
        self.trial_note, self.trials, self.coupon_note = w.HTML(), w.HTML(), w.HTML()
        self.printed.observe(lambda _change: self._suit(), "value")
        self.log.on_click(lambda _button: self._log())
        self.keep.on_click(lambda _button: self._keep())
        self.coupon.on_click(lambda _button: self._write_coupon())

    # -- what the bench tells ----------------------------------------------------------------

    def edited(self) -> None:
        repair = self.bench.repair
        known = (tuple((step.name, step.template) for step in repair.steps), repair.fits)
        if known != self._known:
            self._known = known
            self._offer(repair)
        self._show_trials()

    def suited(self) -> None:
        self._known = ()

    def made(self, made: Made) -> None:
        # What is proposed for the part as it was is not to be set on the part as it is.
        self.apply.disabled = True
        for shown in (self.table, self.reason):
            shown.add_class("wb-waiting")

    def judged(self, made: Made, report: Report) -> None:
        self._newest = _Judged(made, report)
        if self._open:
            self._teller.put(self._newest)

    def opened(self) -> None:
        self._open = True
        self._offer_prints()
        if self._newest is not None:
            self._teller.put(self._newest)

    def left(self) -> None:
        self._open = False
        self._teller.drop()

    def closed(self) -> None:
        self._teller.drop()

    def settle(self, timeout: float = 60.0) -> bool:
        """Wait until the fits of the newest part are told."""
        return self._teller.settle(timeout)

    # -- offering ----------------------------------------------------------------------------

    @property
    def chosen_size(self) -> Where | None:
        """The step and the field that are chosen; None where there is no length."""
        return self.size.value

    def _offer(self, repair: Repair) -> None:
        before = self.size.value
        fitted = [(fit.step, fit.field) for fit in repair.fits]
        listed = sorted(_lengths(repair), key=lambda where: where not in fitted)
        with self.quietly():
            self.size.options = [
                (_label(repair, where, where in fitted), where) for where in listed
            ]
            self.size.value = before if before in listed else (listed[0] if listed else None)
        for control in (self.say, self.log, self.coupon):
            control.disabled = not listed
        self._show_chosen()

    def _offer_prints(self) -> None:
        from workbench.output.files.export import revisions

        try:
            numbers = [revision.number for revision in revisions(self._folder())]
        except (RepairError, OSError):
            numbers = []
        options = [(_("revision {number}").format(number=n), n) for n in reversed(numbers)]
        options.append((_("a coupon's piece"), COUPON))
        before = self.printed.value
        self.printed.options = options
        self.printed.value = before if before in numbers else options[0][1]
        self._suit()

    def _suit(self) -> None:
        self.piece.layout.display = "" if self.printed.value == COUPON else "none"

    def _folder(self) -> str:
        files = self.bench.panel(Files)
        slugged = slug(self.bench.repair.name)
        return files.folder.value.strip() if files is not None else f"repairs/{slugged}"

    # -- showing -----------------------------------------------------------------------------

    def _show(self, rows: tuple[FitRow, ...] | str, judged: _Judged) -> None:
        if judged is not self._newest:
            return
        for shown in (self.table, self.reason):
            shown.remove_class("wb-waiting")
        if isinstance(rows, str):
            self.rows = ()
            self.table.value = told(rows, "stop")
        else:
            self.rows = rows
            self.table.value = _fits_table(rows)
        asks = any(row.asks_of_holes for row in self.rows)
        self.holes.layout.display = "" if asks else "none"
        self._show_chosen()

    def _row(self) -> FitRow | None:
        return next((r for r in self.rows if (r.step, r.field) == self.chosen_size), None)

    def _show_chosen(self) -> None:
        if self._quiet:
            return
        row = self._row()
        self.reason.value = "" if row is None else told(row.proposal.reason)
        size = "" if row is None else with_unit(row.proposal.size)
        done = row is not None and row.size == size
        self.apply.layout.display = "none" if row is None else ""
        self.apply.disabled = bool(done)
        if row is not None:
            text = _("It is set to {size}") if done else _("Set {step} to {size}")
            self.apply.description = text.format(
                step=_label(self.bench.repair, self.chosen_size), size=size
            )
        fit = self._fit()
        if (self.chosen_size, fit) != self._filled:
            # What is being typed stays until another size or another fit is shown.
            self._filled = (self.chosen_size, fit)
            self.kind.value = FITS[0] if fit is None else fit.kind
            self.mating.show(() if fit is None else fit.mating.values)
        self._show_trials()

    def _fit(self) -> Fit | None:
        fits = self.bench.repair.fits
        return next((fit for fit in fits if (fit.step, fit.field) == self.chosen_size), None)

    def _show_trials(self) -> None:
        from workbench.checks.fit.fit_report import TrialRow, trial_rows

        try:
            where = self.chosen_size
            rows = trial_rows(self.bench.repair, *where) if where else ()
        except RepairError:
            rows = ()
        self.keep.layout.display = "" if self.bench.repair.trials else "none"
        headings = [_(heading) for heading in TrialRow.HEADINGS]
        cells = [(r.printed, r.size, r.measured, r.outcome, r.note) for r in rows]
        self.trials.value = _as_table(_("Trials of this size"), headings, cells) if cells else ""

    # -- what the user does ------------------------------------------------------------------

    def _say(self) -> None:
        step, field = self.chosen_size or ("", "")

        def change(repair: Repair) -> None:
            repair.fit(step, field, self.mating.reading(), self.kind.value)

        done = _("{size} has to fit this").format(size=_label(self.bench.repair, self.chosen_size))
        self.carry_out(self.fit_note, change, done)

    def _apply(self) -> None:
        from workbench.checks.fit.printed_size import with_size

        row = self._row()
        if row is None:
            return
        step, field, size = row.step, row.field, row.proposal.size
        self.carry_out(
            self.fit_note,
            lambda repair: repair.change(step, **with_size(repair.step(step), field, size)),
        )

    def _say_of_holes(self, true: bool) -> None:
        from workbench.output.files.saved_profiles import say_of_holes

        repair = self.bench.repair
        try:
            say_of_holes(repair.printer, repair.material, true)
        except Exception as error:
            self.fit_note.value = told(said(error), "stop")
            return
        self.fit_note.value = told(_("Saved for {printer}").format(printer=repair.printer), "done")
        self.bench.check_again()

    def _log(self) -> None:
        from workbench.checks.fit.trials import log_coupon, log_trial
        from workbench.measure.reading import parse_length

        step, field = self.chosen_size or ("", "")
        folder = self._folder()

        def change(repair: Repair) -> None:
            measured = self.measured.length() if self.measured.value.strip() else None
            outcome = self.outcome.value
            if self.printed.value == COUPON:
                size = parse_length(self.piece.value)
                log_coupon(repair, step, field, size, outcome, measured)
                return
            log_trial(
                repair,
                self.printed.value,
                step,
                field,
                outcome,
                measured,
                revisions=folder,
                note=self.remark.value.strip(),
            )

        if self.carry_out(
            self.trial_note, change, _("Trial saved; the proposed size follows from it")
        ):
            self.measured.value = self.remark.value = self.piece.value = ""

    def _keep(self) -> None:
        from workbench.output.files.saved_profiles import keep_trials

        try:
            keep_trials(self.bench.repair)
        except Exception as error:
            self.trial_note.value = told(said(error), "stop")
            return
        self.trial_note.value = told(
            _("Saved: the next repair with {printer} and {material} learns from them").format(
                printer=self.bench.repair.printer, material=self.bench.repair.material
            ),
            "done",
        )

    def _write_coupon(self) -> None:
        from workbench.checks.fit.coupon import coupon
        from workbench.checks.fit.coupon_plan import coupon_note, fitting_offsets
        from workbench.output.files.export import export
        from workbench.output.notebook.current_notebook import visited

        step, field = self.chosen_size or ("", "")
        repair = self.bench.repair
        self.coupon.disabled = True
        self.coupon_note.value = told(_("Writing and reading back every file …"))
        try:
            comb = coupon(repair, step, field, fitting_offsets(repair, step, field))
            paths = export(comb, visited(f"repairs/{slug(comb.name)}"))
            note = coupon_note(repair, step, field)
        except Exception as error:
            self.coupon_note.value = told(said(error), "stop")
        else:
            done = _("The coupon's files are in {folder}").format(folder=paths[0].parent.resolve())
            self.coupon_note.value = told(done, "done") + told(note)
        finally:
            self.coupon.disabled = False


def _lengths(repair: Repair) -> list[Where]:
    """Every length of the steps: what may have to fit something."""
    return [
        (step.name, parameter.name)
        for step in repair.steps
        for parameter in catalogue.find(step.template).parameters
        if isinstance(parameter.kind, Size) and parameter.kind.unit == "mm"
    ]


def _label(repair: Repair, where: Where | None, fitted: bool = False) -> str:
    if where is None:
        return ""
    step, field = where
    text = _("{step}: {field}").format(step=step, field=repair.step(step).said(field))
    return _("{size} (fits something)").format(size=text) if fitted else text


def _told_fits(judged: _Judged) -> Iterator[tuple[FitRow, ...] | str]:
    from workbench.checks.fit.fit_report import fit_rows

    try:
        subject = Subject(judged.made.repair, judged.made.assembly)
        vars(subject)["mesh"] = (judged.made.vertices, judged.made.faces)  # known already
        subject.ways.extend(judged.report.orientations)
        yield fit_rows(subject)
    except Exception as error:
        yield said(error)


def _fits_table(rows: Sequence[FitRow]) -> str:
    from workbench.checks.fit.fit_report import FitRow

    if not rows:
        return told(_("No fit yet. Choose a size, measure what it goes into, and save the fit."))
    headings = [*(_(heading) for heading in FitRow.HEADINGS), _("proposed")]
    cells = [
        (
            row.step,
            row.label,
            row.size,
            row.fit,
            row.right,
            _("{size}").format(size=with_unit(row.proposal.size)),
        )
        for row in rows
    ]
    return _as_table(_("What has to fit, and how likely it is to"), headings, cells)


def _as_table(name: str, headings: Iterable[str], rows: Iterable[Sequence[str]]) -> str:
    head = "".join(f'<th scope="col">{escape(text)}</th>' for text in headings)
    body = "".join(
        "<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in row) + "</tr>" for row in rows
    )
    caption = f'<caption class="wb-only-read">{escape(name)}</caption>'
    return f'<table class="wb-list">{caption}<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>'
