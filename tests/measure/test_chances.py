"""scipy's functions of chance load without the rest of scipy.special, and are those of scipy."""

from __future__ import annotations

import subprocess
import sys
from textwrap import dedent


def run(code):
    subprocess.run([sys.executable, "-c", dedent(code)], check=True)


def test_they_load_alone_and_are_the_same_when_all_of_scipy_comes_later():
    run("""
        import sys
        from workbench.measure import chances
        assert "scipy.special" not in sys.modules
        import scipy.special, scipy.stats
        for name in ("ndtr", "ndtri", "chdtrc", "chdtri"):
            assert getattr(chances, name) is getattr(scipy.special, name), name
        assert scipy.stats.norm.cdf(1.5) == chances.ndtr(1.5)""")


def test_they_are_taken_from_scipy_special_where_it_is_there_or_keeps_them_elsewhere():
    run("""
        import scipy.special as special
        from workbench.measure import chances
        assert chances.chdtri is special.chdtri""")
    run("""
        from importlib.machinery import PathFinder
        found = PathFinder.find_spec
        PathFinder.find_spec = lambda name, path, *asked_by_python: (
            found(name, path, *asked_by_python) if asked_by_python else None)
        import workbench.measure.chances as chances
        assert 0.975 < chances.ndtr(1.96) < 0.97501""")
