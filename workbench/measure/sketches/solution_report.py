"""What a solution says for itself, in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbench.measure.derived import plus_minus
from workbench.measure.sketches.next_reading import to_tell_shapes_apart
from workbench.words import _, number, quantity, with_unit

if TYPE_CHECKING:
    from workbench.measure.sketches.solution import Solution

#: Chance below which the readings as a whole do not agree.
AGREES = 0.01

#: Chance below which they scatter more than stated, and every uncertainty is widened by that.
SCATTERED = 0.05

#: Redundancy below which a gross error in a reading would hardly show.
WEAK = 0.1


def lines(solution: Solution) -> list[str]:
    """What there is to say about a solution, a sentence each, the most pressing first."""
    return [*_disagreement(solution), *_scatter(solution), *_shapes(solution), *_checks(solution)]


def _disagreement(solution: Solution) -> list[str]:
    doubt = solution.doubt
    said = [_accusation(solution, name) for name in doubt.suspects]
    if doubt.undecided:
        template = (
            _("one of these is wrong, but it is not clear which: {names}")
            if doubt.wrong == 1
            else _("two of these are wrong, but it is not clear which: {names}")
        )
        said.append(template.format(names=", ".join(map(doubt.told, doubt.undecided))))
        if doubt.settle is not None:
            said[-1] += _("; read {next} to settle it").format(next=doubt.settle)
    if said and doubt.more:
        said[-1] += _("; the rest does not agree either")
    if said or solution.p_value >= AGREES:
        return said
    return [
        _(
            "the readings disagree more than they should, and no single one stands out; take "
            "those that are furthest off again"
        )
    ]


def _accusation(solution: Solution, name: str) -> str:
    doubt = solution.doubt
    row = next((r for r in solution.sketch.rows if r.name == name), None)
    if row is None or not row.values:
        return _("{name} does not agree with the readings; check it").format(name=name)
    said = _("take {name} again: it was read as {read}, the others say {expected}").format(
        name=name,
        read=quantity(row.value, row.measures),
        expected=plus_minus(*doubt.expected[name], row.measures),
    )
    return f"{said} ({doubt.hints[name]})" if doubt.hints[name] else said


def _scatter(solution: Solution) -> list[str]:
    """Of readings that scatter more than stated, and what was made of it."""
    said = []
    hand, supposed = solution.adjusted.equations.hand, solution.sketch.setting
    if hand > supposed:
        said.append(
            _(
                "repeats differ by {hand}, those of a steady hand by {supposed}; every "
                "uncertainty allows for that"
            ).format(hand=with_unit(hand, 3), supposed=with_unit(supposed, 3))
        )
    if solution.widening > 1:
        said.append(
            _(
                "the readings scatter {times} times as much as stated; every uncertainty is widened "
                "by that"
            ).format(times=number(solution.widening, 1))
        )
    return said


def _shapes(solution: Solution) -> list[str]:
    said = []
    for other in solution.alternatives:
        told = to_tell_shapes_apart(
            solution.adjusted.equations, solution.adjusted.x, other.adjusted.x
        )
        if told is not None:
            said.append(
                _(
                    "another shape fits as well: read {next}; it is {here} as drawn "
                    "and {there} in the other"
                ).format(next=told[0], here=with_unit(told[1]), there=with_unit(told[2]))
            )
    return said


def _checks(solution: Solution) -> list[str]:
    if solution.spare < 1:
        return [_("nothing cross-checks these readings; take one or two more")]
    if solution.unchecked:
        return [
            _("an error would not show in: {names}").format(names=", ".join(solution.unchecked))
        ]
    return []
