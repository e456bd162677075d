"""Values for any template, drawn from the ranges that its own annotations give."""

from __future__ import annotations

from functools import singledispatch

from hypothesis import strategies as st

from workbench.solids.parameters import Choice, Corners, Count, Flag, Size, Template, Words


@singledispatch
def whole_range(kind: object) -> st.SearchStrategy:
    """Everything that a kind of parameter allows, its ends included."""
    raise NotImplementedError(type(kind).__name__)


@whole_range.register
def _(kind: Size) -> st.SearchStrategy:
    ends = st.sampled_from([kind.low, kind.high])
    small = st.floats(kind.low, min(kind.high, kind.low + 200 * kind.step))
    return ends | small | st.floats(kind.low, kind.high)


@whole_range.register
def _(kind: Count) -> st.SearchStrategy:
    return st.integers(kind.low, kind.high)


@whole_range.register
def _(kind: Choice) -> st.SearchStrategy:
    return st.sampled_from(kind.options)


@whole_range.register
def _(kind: Flag) -> st.SearchStrategy:
    return st.booleans()


@whole_range.register
def _(kind: Corners) -> st.SearchStrategy:
    from shapes import outlines

    return outlines().map(lambda outline: tuple(map(tuple, outline.points.tolist())))


@whole_range.register
def _(kind: Words) -> st.SearchStrategy:
    return st.sampled_from(["A", "8i", "Öl", "e&g", "W\N{EN DASH}1"])


def values(template: Template) -> st.SearchStrategy:
    """Values for every parameter: about half of them defaults, so that many go together."""
    return st.fixed_dictionaries(
        {p.name: st.just(p.default) | whole_range(p.kind) for p in template.parameters}
    )


def near_default(template: Template) -> st.SearchStrategy:
    """Values as a person would move them: each size within a third of its default."""
    fields = {}
    for p in template.parameters:
        if isinstance(p.kind, Size):
            reach = abs(p.default) / 3
            low, high = max(p.kind.low, p.default - reach), min(p.kind.high, p.default + reach)
            fields[p.name] = st.floats(low, high)
        else:
            fields[p.name] = st.just(p.default)
    return st.fixed_dictionaries(fields)
