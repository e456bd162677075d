"""The drawn scales show their size by the rule of the vernier, and to those who do not see them."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.errors import RepairError
from workbench.jupyter.picture.vernier import LINES, vernier

LINE = re.compile(r'<line x1="([-\d.]+)" y1="([-\d.]+)" x2="[-\d.]+" y2="([-\d.]+)"([^>]*)>')


def marks(html: str) -> tuple[list[float], list[float]]:
    """Where the upper and the lower scale have their lines, in pixels."""
    found = [(float(x), float(low), float(high)) for x, low, high, _style in LINE.findall(html)]
    upper = [x for x, low, high in found if high < low]
    lower = [x for x, low, high in found if high > low]
    return upper, lower


@settings(max_examples=30, deadline=None)
@given(count=st.integers(0, 3000))
def test_the_lower_line_that_meets_one_above_tells_the_hundredths(count: int) -> None:
    size = count / 20
    upper, lower = marks(vernier(size, told=False)._repr_html_())
    assert len(lower) == LINES + 1
    pitch = upper[1] - upper[0]
    first = size // 10 * 10  # the upper scale begins at a ten
    assert (lower[0] - upper[0]) / pitch == pytest.approx(size - first, abs=0.002)
    apart = [min(abs(x - above) for above in upper) / pitch for x in lower]
    # Line k meets a line above where k steps of 1/20 mm are what is over whole mm.
    assert apart[count % LINES] == pytest.approx(0, abs=0.002)
    others = [far for k, far in enumerate(apart) if (k - count) % LINES]
    assert min(others) > 0.03


def test_the_size_is_told_only_when_asked() -> None:
    assert repr(vernier("34,65")).startswith("34.65 mm")
    hidden = vernier(34.65, told=False)
    assert "34.65" not in hidden._repr_html_() and 'stroke-width="3"' not in hidden._repr_html_()
    assert 'aria-label="What do these calipers show?"' in hidden._repr_html_()


@pytest.mark.parametrize("size", [-1, 151, "wide", float("nan")])
def test_a_size_that_calipers_cannot_show_is_refused(size: object) -> None:
    with pytest.raises(RepairError):
        vernier(size)
