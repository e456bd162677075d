"""The command ``workbench``: one thin function for each task, which hands on to the library.

Each function declares its arguments and returns what carries them out. Nothing heavy is imported
before it is needed, so that ``--help`` is quick.
"""

from __future__ import annotations

import argparse
import difflib
import os
import re
import shutil
import subprocess
import sys
import textwrap
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from contextvars import copy_context
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

from workbench import __version__, gate, units
from workbench.errors import RepairError
from workbench.words import _, number, sized, unit_sign, unit_word

if TYPE_CHECKING:
    from workbench.checks.report import Report
    from workbench.checks.subject import Subject
    from workbench.solids.recipe.repair import Repair

#: Exit codes: all well; something found stops a print; input that cannot be used.
FINE, STOPPED, BAD = 0, 1, 2

#: How round holes come out on a printer, as ``check --holes`` takes it.
HOLES = ("true", "small")

#: Where files go unless told otherwise, under the current folder.
REPAIRS, CLASSES = Path("repairs"), Path("classes")

#: Commands that use the geometry kernel in their own process.
BOUNDED = ("demo", "new", "check", "export", "coupon", "sheet")

Run = Callable[[argparse.Namespace], int]

#: What argparse itself says, which it looks up by the names ``_`` and ``ngettext``, in our words.
_CHOICE = "is %(value)r; give one of %(choices)s"
OF_ARGPARSE = {
    "usage: ": "usage: ",
    "positional arguments": "positional arguments",
    "options": "options",
    "show this help message and exit": "show this help message and exit",
    "the following arguments are required: %s": "give %s",
    "argument %(argument_name)s: %(message)s": "%(argument_name)s %(message)s",
    "invalid choice: %(value)r (choose from %(choices)s)": _CHOICE,
    "invalid choice: %(value)r, maybe you meant %(suggestion)r? (choose from %(choices)s)": _CHOICE,
    "invalid %(type)s value: %(value)r": "is %(value)r; give a whole number",
    "expected one argument": "has no value; give one after it",
    "expected at least one argument": "has no value; give one after it",
    "ignored explicit argument %r": "takes no value, and %r is given; leave that out",
}


class _Parser(argparse.ArgumentParser):
    """Says what is wrong in a sentence, names the nearest option, and points to its own help."""

    def __init__(self, *given: Any, **named: Any) -> None:
        super().__init__(*given, **named)
        # A size below 0 may have a decimal comma or be a fraction; argparse knows -6.5 only.
        self._negative_number_matcher = re.compile(r"-[.,]?\d")

    def parse_known_args(self, args=None, namespace=None):
        given, unknown = super().parse_known_args(args, namespace)
        if unknown:
            odd = next((word for word in unknown if word.startswith("-")), unknown[0])
            raise _unknown(odd.split("=")[0], self._option_string_actions, self.prog)
        return given, unknown

    def error(self, message: str) -> NoReturn:
        raise RepairError(
            _("{message}; {program} --help says more").format(message=message, program=self.prog)
        )


def _unknown(word: str, known: Iterable[str], program: str) -> RepairError:
    near = difflib.get_close_matches(word, list(known), 1, 0.75)
    if near:
        text = _("{word} is unknown; did you mean {near}? {program} --help says more")
        return RepairError(text.format(word=word, near=near[0], program=program))
    return RepairError(
        _("{word} is unknown; {program} --help says more").format(word=word, program=program)
    )


def main(words: Sequence[str] | None = None) -> int:
    """Run the command with these words and return its exit code.

    Without words, those of the shell are run where they can be stopped, and are held to limits.
    """
    if words is None:
        typed = sys.argv[1:]
        if typed[:1] and typed[0] in BOUNDED:
            from workbench import fork

            return fork.command(lambda: main(typed), _complain)
        words = typed
    words = list(words)
    try:
        if words and not words[0].startswith("-") and words[0] not in COMMANDS:
            raise _unknown(words[0], COMMANDS, "workbench")
        gate.plain_plots()
        parser, run = _parser(words)
        arguments = parser.parse_args(words)
        _refuse_empty(arguments)
        if run is not None:
            code = copy_context().run(run, arguments)
            _tell_shared_faults()
            return code
        parser.print_help()
    except BrokenPipeError:  # whoever read our output has gone, as with | head
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except (KeyboardInterrupt, Exception) as error:
        if os.environ.get("WORKBENCH_DEBUG"):
            raise
        _complain(_sentence(error))
        with suppress(RepairError):
            _tell_shared_faults()
        return BAD
    return FINE


def _complain(sentence: str) -> None:
    print(f"workbench: {gate.shown(sentence)}", file=sys.stderr)


def _tell_shared_faults() -> None:
    """Say which shared figures and templates a command did without, where it looked at them."""
    for name in ("workbench.data", "workbench.output.notebook.shared_folders"):
        if name in sys.modules:
            for text in sys.modules[name].faults():
                _complain(text)


def _sentence(error: BaseException) -> str:
    """What to tell a person about an error."""
    if isinstance(error, RepairError):
        return str(error)
    if isinstance(error, KeyboardInterrupt):
        return _("stopped; what was written so far stays")
    if isinstance(error, OSError) and error.strerror:
        reason = _(error.strerror)
        if not error.filename:
            return reason
        return _("{path}: {reason}").format(path=error.filename, reason=reason)
    return _(
        "an internal error ({reason}); nothing of yours was lost; set WORKBENCH_DEBUG=1 to see more"
    ).format(reason=f"{type(error).__name__}: {error}")


# -- the commands ---------------------------------------------------------------------------


def demo(parser: argparse.ArgumentParser, _words: Sequence[str]) -> Run:
    """Make the lost divider of a small-parts tray, and say what was found."""
    _folder_option(parser, _("where the files go (default: repairs/tray-divider)"))

    def run(given: argparse.Namespace) -> int:
        from workbench.output.notebook import shelf

        code = _export(shelf.repair_at(str(shelf.find(shelf.FIRST))), given.folder)
        print(
            _(
                "next: workbench new {name} --help    for yours, with your numbers\n"
                "      workbench open                     the bench and the lessons, in JupyterLab"
            ).format(name=shelf.FIRST)
        )
        return code

    return run


def open_(parser: argparse.ArgumentParser, _words: Sequence[str]) -> Run:
    """Open a notebook on the bench in JupyterLab; without one, your copies of the lessons."""
    parser.add_argument(
        "notebook",
        nargs="?",
        metavar=_("NOTEBOOK"),
        help=_("the notebook to open (default: notebooks/00-start.ipynb)"),
    )
    _folder_option(
        parser,
        _("your folder (default: here if it has notebooks/00-start.ipynb, else workbench-class)"),
    )
    parser.add_argument("--only-copy", action="store_true", help=_("only put the copies there"))
    parser.add_argument(
        "--pupil", action="store_true", help=_("leave out the teacher's page and the answers")
    )
    parser.add_argument(
        "--no-browser",
        action="store_true",
        help=_("print the address instead of opening a browser"),
    )
    parser.add_argument(
        "--port", type=int, metavar=_("N"), help=_("of the server (default: a free one)")
    )

    def run(given: argparse.Namespace) -> int:
        from workbench.output.notebook import opening, shelf
        from workbench.output.notebook.bundled import is_checkout
        from workbench.solids.parameters import Count

        if given.port is not None:
            Count(1, 65535).check("--port", given.port)
        folder = Path(given.folder) if given.folder else opening.home()
        if is_checkout(folder.resolve()):
            raise RepairError(
                _(
                    "{folder} is workbench's own source; give a folder of yours with --folder"
                ).format(folder=folder.resolve())
            )
        if given.notebook and not given.only_copy:
            opening.refuse_missing(Path(given.notebook))
        for copy in shelf.copy_to(folder, given.pupil):
            if copy.what != shelf.KEPT:
                print(f"{_(copy.what)}: {copy.path}")
        if given.only_copy:
            print(_("the notebooks are in {folder}").format(folder=folder.resolve()))
            return FINE
        notebook = opening.notebook_in(folder, given.notebook)
        runs = bool(given.notebook) and opening.may_run(notebook)
        if given.notebook and notebook.is_file() and not runs:
            print(
                _(
                    "{notebook} has code that the tool did not write: read it, then choose Run, "
                    "Run All Cells"
                ).format(notebook=notebook.name)
            )
        command = opening.lab_command(notebook, folder, given.port, given.no_browser, runs)
        return _become(command, opening.quiet_environment())

    return run


def new(parser: argparse.ArgumentParser, words: Sequence[str]) -> Run:
    """Start a repair from a template with your own sizes, as a notebook."""
    parser.usage = _("workbench new TEMPLATE [--name NAME] [--SIZE VALUE ...] [options]")
    parser.add_argument(
        "template",
        metavar=_("TEMPLATE"),
        help=_(
            "a name on the shelf, a notebook, a plain template such as fin, or a function of your "
            "own such as my_parts.py:bracket; write it first, and --help after it for its sizes"
        ),
    )
    parser.add_argument("--name", help=_("of the part; the notebook is named after it"))
    _folder_option(parser, _("where the notebook goes (default: here)"))
    parser.add_argument("--material", metavar=_("MATERIAL"), help=_("such as PLA or PETG"))
    parser.add_argument("--printer", metavar=_("PRINTER"), help=_("such as generic 220"))
    if not words or words[0].startswith("-"):
        return lambda given: FINE
    from workbench.output.notebook import beginning

    if ".py:" in words[0]:
        _say_that_it_runs(words[0].rpartition(":")[0])
    chosen = beginning.beginning(words[0], *_own_shelf())
    parser.prog = f"workbench new {words[0]}"
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    options = {_free(name.replace("_", "-")): size for name, size in chosen.sizes.items()}
    heading = _(
        "sizes, in {unit}: option, value now, what to measure and its range; give one value, or "
        "several readings of the same length, which are averaged"
    ).format(unit=unit_word())
    width = shutil.get_terminal_size().columns - 2
    lines = [textwrap.fill(heading, width), beginning.table(options, width)]
    parser.epilog = "\n".join(lines).replace("%", "%%")
    for option, (parameter, _value) in options.items():
        parser.add_argument(
            f"--{option}",
            dest=f"size {option}",
            nargs="+" if (several := beginning.takes_several(parameter)) else None,
            action="extend" if several else "store",
            help=argparse.SUPPRESS,
        )

    def run(given: argparse.Namespace) -> int:
        if given.name is not None:
            gate.name("--name", given.name)
        values = {
            name: beginning.entry(parameter, typed, name)
            for name, option in zip(chosen.sizes, options, strict=True)
            for parameter, _value in (chosen.sizes[name],)
            if (typed := getattr(given, f"size {option}")) is not None
        }
        _say_what_is_left_out(given.template)
        path = chosen.begin(given.folder or ".", given.name, given.material, given.printer, values)
        print(path)
        print(_("check it:        workbench check {path}").format(path=path))
        print(_("on the bench:    workbench open {path}").format(path=path))
        return FINE

    return run


def shelf_(parser: argparse.ArgumentParser, _words: Sequence[str]) -> Run:
    """Say what is on the shelf, or what on it matches some words."""
    parser.add_argument(
        "words",
        nargs="*",
        metavar=_("WORD"),
        help=_(
            "to search for (default: all); or a notebook, to see what it is and what code its "
            "author put into it"
        ),
    )
    _folder_option(parser, _("your template folder, searched first (default: templates)"))

    def run(given: argparse.Namespace) -> int:
        from workbench.output.notebook import shelf

        if len(given.words) == 1 and given.words[0].endswith(".ipynb"):
            from workbench.output.notebook.untrusted_template import described

            print(described(given.words[0]))
            return FINE
        words = " ".join(given.words)
        own = [Path(given.folder)] if given.folder else _own_shelf()
        if given.folder and not own[0].is_dir():
            raise RepairError(
                _("there is no folder {folder}; give one that exists").format(folder=own[0])
            )
        print(shelf.told(words, *own, width=shutil.get_terminal_size().columns))
        return FINE

    return run


def check(parser: argparse.ArgumentParser, _words: Sequence[str]) -> Run:
    """Say whether a repair will print, and what to look at."""
    _repair_arguments(parser)
    parser.add_argument(
        "--all",
        action="store_true",
        dest="everything",
        help=_("also show the checks that passed, and the sources"),
    )
    parser.add_argument(
        "--fix",
        metavar=_("RULE"),
        help=_(
            'carry out in the notebook the fix of the first finding of this rule, such as "fit"'
        ),
    )
    parser.add_argument(
        "--holes",
        choices=HOLES,
        help=_("how round holes come out on this printer; kept, and used by its first fit"),
    )

    def run(given: argparse.Namespace) -> int:
        from workbench.checks.check import judge
        from workbench.checks.subject import Subject

        repair = _repair(given)
        if given.holes:
            from workbench.output.files.saved_profiles import say_of_holes

            say_of_holes(repair.printer, repair.material, given.holes == HOLES[0])
        subject = Subject.of(repair)
        report = judge(subject)
        if given.fix:
            from workbench.checks import fix
            from workbench.checks.cautions.statements import rule_named
            from workbench.output.notebook.rewriting import rewrite

            edit = report.fix_for(rule_named(given.fix)).fix or {}
            fixed = fix.apply(edit, repair.copy())
            print(f"{rewrite(given.repair, fixed)}: {fix.in_words(edit, repair)}")
            subject = Subject.of(fixed)
            report = judge(subject)
        _tell(subject, report, given.everything, asks=True)
        if _asks_of_holes(subject):
            print(_("Holes on this printer: say --holes true, or --holes small."))
        return FINE if report.ok else STOPPED

    return run


def _asks_of_holes(subject: Subject) -> bool:
    from workbench.checks.fit.fit_report import has_to_know_of_holes

    with suppress(RepairError):
        return has_to_know_of_holes(subject)
    return False


def export(parser: argparse.ArgumentParser, _words: Sequence[str]) -> Run:
    """Write a repair's files as a new revision: STL, 3MF, STEP, drawing, sheet and record."""
    _repair_arguments(parser)
    _folder_option(parser, _("where the revisions go (default: repairs and the part's name)"))
    _paper_option(parser)

    def run(given: argparse.Namespace) -> int:
        return _export(_repair(given), given.folder, given.paper, asks=True)

    return run


def coupon(parser: argparse.ArgumentParser, _words: Sequence[str]) -> Run:
    """Write a comb of test pieces for one size, to find the one that fits in one short print."""
    _repair_arguments(parser)
    parser.add_argument(
        "size",
        nargs="?",
        metavar=_("SIZE"),
        help=_("the size to try, as step.field, such as foot.thickness (default: the first fit)"),
    )
    parser.add_argument(
        "--offsets",
        nargs="+",
        metavar=unit_sign().upper(),
        help=_(
            "from the size that it has now, such as -{by} 0 {by} (default: around what should fit)"
        ).format(by=sized(0.1)),
    )
    _folder_option(parser, _("where the revisions go (default: repairs and the coupon's name)"))
    _paper_option(parser)

    def run(given: argparse.Namespace) -> int:
        from workbench.checks.fit import coupon_plan
        from workbench.checks.fit.coupon import coupon as comb_of
        from workbench.measure.reading import parse_length

        repair = _repair(given)
        step, field = coupon_plan.named_size(repair, given.size)
        typed = [parse_length(each, units.chosen().name) for each in given.offsets or ()]
        offsets = typed or coupon_plan.fitting_offsets(repair, step, field)
        comb = comb_of(repair, step, field, offsets)
        code = _export(comb, given.folder, given.paper)
        if code == FINE:
            note = coupon_plan.coupon_note(repair, step, field)
            print(textwrap.fill(note, shutil.get_terminal_size().columns))
        return code

    return run


def sheet(parser: argparse.ArgumentParser, _words: Sequence[str]) -> Run:
    """Write a sheet: for a print, measuring, a photo to be traced, triangles or a coupon."""
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.epilog = _(
        "print      to take to the printer: settings, which way up, what to measure, how it went\n"
        "measuring  to take to the broken part: a letter and room for readings of each size\n"
        "triangles  to work out an outline's area in pieces; its answers are on the last pages\n"
        "coupon     to try a comb of test pieces with: which is which, and how each fitted\n"
        "photo      to lay a part on for a photo that is traced; print it at 100 %"
    )
    _repair_arguments(
        parser, _("; or a plain template, such as fin (a photo sheet needs none)"), nargs="?"
    )
    parser.add_argument(
        "--kind",
        choices=("print", "measuring", "photo", "triangles", "coupon"),
        default="print",
        help=_("of sheet, see below (default: print)"),
    )
    parser.add_argument(
        "--of",
        metavar=_("STEP"),
        help=_(
            "the step whose outline is split into triangles, or the size that the coupon tries, "
            "such as foot.thickness (default: the first)"
        ),
    )
    _folder_option(parser, _("where the PDF goes (default: here)"))
    _paper_option(parser)

    def run(given: argparse.Namespace) -> int:
        from workbench.output.notebook import own_templates
        from workbench.output.sheets.handouts import PHOTO, write_sheet
        from workbench.solids import catalogue

        if given.of and given.kind not in ("triangles", "coupon"):
            raise RepairError(
                _("a {kind} sheet shows the whole part; leave out --of").format(kind=given.kind)
            )
        if given.kind == PHOTO:
            print(write_sheet(None, PHOTO, given.folder or ".", paper=given.paper))
            return FINE
        if given.repair is None:
            raise RepairError(
                _("a {kind} sheet is made from a repair: name one, such as tray-divider").format(
                    kind=given.kind
                )
            )
        if given.parts:
            _say_that_it_runs(given.parts)
            own_templates.load_parts(given.parts)
        what = given.repair if given.repair in catalogue.names() else _repair(given)
        print(write_sheet(what, given.kind, given.folder or ".", given.of, given.paper))
        return FINE

    return run


def camera(parser: argparse.ArgumentParser, _words: Sequence[str]) -> Run:
    """Calibrate a camera from photos of the photo sheet, so that its later photos measure better."""
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.epilog = _(
        "Print the photo sheet (workbench sheet --kind photo), lay it flat and take 5 to 10 photos\n"
        "of it with one camera at one zoom: two from straight above, the others leaning by about\n"
        "30 degrees, each from another side, the sheet filling the picture. Photos whose file\n"
        "names that camera are traced with it from then on."
    )
    parser.add_argument("photos", nargs="+", metavar=_("PHOTO"), help=_("a photo of the sheet"))

    def run(given: argparse.Namespace) -> int:
        from workbench import folders
        from workbench.measure.photos import lens
        from workbench.output.files.paths import write_over

        learnt = lens.lens_of(given.photos)
        kept = folders.folder() / lens.FOLDER / learnt.file
        write_over(kept, learnt.to_json().encode())
        print(learnt)
        if not learnt.camera:
            print(_("Its files do not name the camera: give trace(..., lens=...) this file."))
        print(kept)
        return FINE

    return run


def class_(parser: argparse.ArgumentParser, _words: Sequence[str]) -> Run:
    """Make every part of a class from its roster, and pack them on as few beds as they need."""
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.epilog = _(
        "The roster is a CSV file; its first row names the columns: template and pupil, and if\n"
        "wanted material, printer, unit and instrument. Every other column is a size by its\n"
        "template's name, such as blade_bottom; a cell may hold several readings, separated\n"
        "by spaces or semicolons: 34.9 35.0, or 1 3/8 in. A decimal comma needs semicolons\n"
        "between the cells. What was made is kept: the same command goes on where it stopped."
    )
    parser.add_argument("roster", metavar=_("ROSTER"), help=_("the CSV file"))
    _folder_option(parser, _("where everything goes (default: classes and the roster's name)"))
    parser.add_argument(
        "--workers", type=int, metavar=_("N"), help=_("processes (default: one for each processor)")
    )
    parser.add_argument(
        "--scheduler",
        metavar=_("ADDRESS"),
        help=_("of a Dask cluster to use instead, such as tcp://10.0.0.5:8786"),
    )
    parser.add_argument(
        "--labels",
        action="store_true",
        help=_("raise the pupil's label on each part; initials or the row's number if it is small"),
    )
    _paper_option(parser)

    def run(given: argparse.Namespace) -> int:
        from workbench.output.files.paths import slug
        from workbench.output.roster import progress_lines
        from workbench.output.roster.whole_class import make_class

        session = make_class(
            given.roster,
            given.folder or CLASSES / slug(Path(given.roster).stem),
            given.workers,
            given.scheduler,
            given.labels,
            given.paper,
            _own_shelf(),
            progress_lines.progress(sys.stderr),
        )
        print(progress_lines.told(session))
        return FINE if session.ok else STOPPED

    return run


COMMANDS: dict[str, Callable[[argparse.ArgumentParser, Sequence[str]], Run]] = {
    "demo": demo,
    "open": open_,
    "shelf": shelf_,
    "new": new,
    "check": check,
    "export": export,
    "coupon": coupon,
    "sheet": sheet,
    "camera": camera,
    "class": class_,
}


# -- what they share ------------------------------------------------------------------------


def _parser(words: Sequence[str]) -> tuple[argparse.ArgumentParser, Run | None]:
    vars(argparse).update(
        _=_in_our_words, ngettext=lambda one, many, n: _in_our_words(one if n == 1 else many)
    )
    parser = _Parser(
        prog="workbench",
        allow_abbrev=False,
        description=_(
            "From caliper readings of a broken household part to a printed replacement that fits."
        ),
        epilog=_(
            "Lengths are in {unit} unless written otherwise, such as 1 3/8 in or 35 mm. Exit code "
            "0: all well; 1: something found stops a print; 2: input that cannot be used."
        ).format(unit=unit_word()),
    )
    parser.add_argument(
        "--version",
        action="version",
        version=f"workbench {__version__}",
        help=_("show program's version number and exit"),
    )
    commands = parser.add_subparsers(metavar=_("COMMAND"), title=_("commands"))
    run = None
    for name, declare in COMMANDS.items():
        summary = _((declare.__doc__ or "").strip())
        command = commands.add_parser(
            name,
            help=summary[:1].lower() + summary[1:].rstrip("."),
            description=summary,
            allow_abbrev=False,
        )
        if list(words[:1]) == [name]:
            run = declare(command, words[1:])
    return parser, run


def _in_our_words(text: str) -> str:
    """What is said in place of a text of argparse's."""
    return _(OF_ARGPARSE.get(text, text))


def _refuse_empty(given: argparse.Namespace) -> None:
    """RepairError where an option or a file's name is empty, or holds what no name does."""
    for option, value in vars(given).items():
        if isinstance(value, str):
            gate.name(option.replace("_", "-"), value, gate.PATH)


def _folder_option(parser: argparse.ArgumentParser, text: str) -> None:
    parser.add_argument("--folder", metavar=_("FOLDER"), help=text)


def _paper_option(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--paper", choices=("A4", "Letter"), default="A4", help=_("of the sheets (default: A4)")
    )


def _repair_arguments(
    parser: argparse.ArgumentParser, more: str = "", nargs: str | None = None
) -> None:
    parser.add_argument(
        "repair",
        nargs=nargs,
        metavar=_("REPAIR"),
        help=_("a notebook, a revision's folder or record.json, or a name on the shelf") + more,
    )
    parser.add_argument(
        "--parts", metavar=_("FILE"), help=_("a file of your own template functions, run first")
    )
    parser.add_argument(
        "--as-saved",
        action="store_true",
        help=_("the notebook as it was last saved, without later work that its bench kept"),
    )
    parser.add_argument(
        "--use",
        action="append",
        default=[],
        metavar=_("WORD"),
        help=_("how it is used, such as child, food or heat, for the cautions; can be repeated"),
    )
    parser.add_argument(
        "--state",
        action="append",
        default=[],
        metavar=_("RULE=WHY"),
        help=_("why a stop does not apply; it goes into the record; can be repeated"),
    )


def _repair(given: argparse.Namespace) -> Repair:
    from workbench.output.notebook import own_templates, shelf

    if given.parts:
        _say_that_it_runs(given.parts)
        own_templates.load_parts(given.parts)
    repair = shelf.repair_at(given.repair, *_own_shelf())
    _say_what_is_left_out(given.repair)
    _keep_to_folder_of(given.repair)
    if given.repair.endswith(".ipynb") and not given.as_saved:
        from workbench.output.notebook import recovery

        repair, told = recovery.newest(Path(given.repair), repair)
        for line in told:
            print(f"workbench: {line}", file=sys.stderr)
    return shelf.stated(repair, given.use, given.state)


def _keep_to_folder_of(where: str) -> None:
    """Read a counterpart's file beside the notebook only, or for a revision in this folder."""
    from workbench.output.notebook import shelf
    from workbench.solids.counterpart import FOLDER

    of_revision = Path(where).is_dir() or where.endswith(".json")
    folder = Path() if of_revision else shelf.find(where, *_own_shelf()).parent
    FOLDER.set(folder.absolute())


def _say_that_it_runs(parts: str) -> None:
    """What a file of parts may do, before it is loaded."""
    if Path(parts).is_file():
        _complain(
            _("{path} is a program: it runs now, and can do whatever you can").format(path=parts)
        )


def _say_what_is_left_out(repair: str) -> None:
    """That a notebook's code was changed, and was not run."""
    from workbench.output.notebook.template_notebook import without_its_code

    if repair.endswith(".ipynb") and (left_out := without_its_code(repair)):
        _complain(left_out)


def _own_shelf() -> list[Path]:
    return [Path("templates")]


def _free(option: str) -> str:
    """An option for a size that no option of the command's own has."""
    return f"size-{option}" if option in ("name", "folder", "material", "printer") else option


def _export(repair: Repair, folder: str | None, paper: str = "A4", asks: bool = False) -> int:
    from workbench.checks.check import judge
    from workbench.checks.subject import Subject
    from workbench.output.files import export as files
    from workbench.output.files.paths import slug

    subject = Subject.of(repair)
    report = judge(subject)
    if not report.ok:
        _tell(subject, report, asks=asks)
        print(_("no files were written: fix the stops, or state why they do not apply"))
        return STOPPED
    paths = files.export(subject, folder or REPAIRS / slug(repair.name), report, paper)
    _tell(subject, report, asks=asks)
    print(_("files in {folder}:").format(folder=paths[0].parent))
    for path in paths:
        print(f"  {path.name}  {number(path.stat().st_size / 1000, 1)} kB")
    return FINE


def _become(command: list[str], environment: dict[str, str]) -> int:
    """Hand this process over, so that Ctrl-C and signals reach JupyterLab alone."""
    sys.stdout.flush()
    if os.name == "posix":
        os.execve(command[0], command, environment)
    return subprocess.call(command, env=environment)


def _tell(subject: Subject, report: Report, everything: bool = False, asks: bool = False) -> None:
    """Print what was found, and perhaps how the command is told the part's use."""
    from workbench.output.notebook.summary import summary

    print(summary(subject, report, shutil.get_terminal_size().columns, everything))
    if asks and any(question.rule == "use" for question in report.questions):
        print(_("How it is used: say --use child, for example, or --use none."))


if __name__ == "__main__":
    sys.exit(main())
