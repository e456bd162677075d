"""What is kept of results, asked for by two threads at once."""

from __future__ import annotations

from workbench.solids.cache import Kept


class Overtaken:
    """A key for which, while it is looked up a second time, another thread asks for another."""

    def __init__(self, kept: Kept) -> None:
        self._kept, self.looks = kept, 2

    def __hash__(self) -> int:
        self.looks += 1
        if self.looks == 2:
            self._kept.get("another", lambda: "made meanwhile")
        return 7


def test_what_another_thread_drops_while_it_is_asked_for_is_made_again():
    kept = Kept(1)
    key = Overtaken(kept)
    kept.get(key, lambda: "made")
    key.looks = 0
    assert kept.get(key, lambda: "made again") == "made again"
    assert key in kept
    assert "another" not in kept
