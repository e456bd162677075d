"""What a solution says for itself, in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbench.measure.derived import plus_minus
from workbench.measure.next_reading import to_tell_shapes_apart
from workbench.words import _, number, quantity

if TYPE_CHECKING:
    from workbench.measure.solution import Solution

#: Chance below which the readings as a whole do not agree.
AGREES = 0.01

#: Redundancy below which a gross error in a reading would hardly show.
WEAK = 0.1


def lines(solution: Solution) -> list[str]:
    """What there is to say about a solution, a sentence each, the most pressing first."""
    return [*_disagreement(solution), *_mirrors(solution), *_checks(solution)]


def _disagreement(solution: Solution) -> list[str]:
    doubt = solution.doubt
    if doubt.suspect is not None:
        return [_accusation(solution)]
    if doubt.undecided:
        said = _("one of these is wrong, but they cannot be told apart: {names}").format(
            names=", ".join(doubt.undecided)
        )
        if doubt.settle is not None:
            said += _("; read {next} to settle it").format(next=doubt.settle)
        return [said]
    if solution.p_value < AGREES:
        return [
            _(
                "the readings disagree more than they should, and no single one stands out; "
                "take the ones with the largest residuals again"
            )
        ]
    return []


def _accusation(solution: Solution) -> str:
    doubt = solution.doubt
    row = next((r for r in solution.sketch.rows if r.name == doubt.suspect), None)
    if row is None or not row.values or doubt.expected is None:
        said = _("{name} does not agree with the readings; check it").format(name=doubt.suspect)
    else:
        value, uncertainty = doubt.expected
        said = _("take {name} again: it was read as {read}, the others say {expected}").format(
            name=row.name,
            read=quantity(row.value, row.measures),
            expected=plus_minus(value, uncertainty, row.measures),
        )
    if doubt.hint:
        said += f" ({doubt.hint})"
    if doubt.more:
        said += _("; the rest does not agree either")
    return said


def _mirrors(solution: Solution) -> list[str]:
    said = []
    for other in solution.alternatives:
        told = to_tell_shapes_apart(
            solution.adjusted.equations, solution.adjusted.x, other.adjusted.x
        )
        if told is not None:
            said.append(
                _(
                    "another shape fits as well: read {next}; it is {here} mm as drawn "
                    "and {there} mm in the other"
                ).format(next=told[0], here=number(told[1]), there=number(told[2]))
            )
    return said


def _checks(solution: Solution) -> list[str]:
    if solution.spare < 1:
        return [_("nothing checks these readings; take one or two more")]
    if solution.unchecked:
        return [
            _("an error would not show in: {names}").format(names=", ".join(solution.unchecked))
        ]
    return []
