"""What is kept of results, asked for by two threads at once."""

from __future__ import annotations

from collections import OrderedDict

from workbench.solids.geometry.cache import Kept


class Overtaken(OrderedDict):
    """Results of which another thread drops one as soon as it was found."""

    def move_to_end(self, key, last=True):
        super().move_to_end(key, last)
        del self[key]


def test_what_another_thread_drops_while_it_is_asked_for_is_made_again():
    kept = Kept(1)
    kept._results = Overtaken(base="made")
    assert kept.get("base", lambda: "made again") == "made again"
    assert list(kept) == ["base"]
