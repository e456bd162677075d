"""Which way up a part is printed: the best few at once, or all of them while a person watches."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Future, wait
from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING

from workbench.checks.layers.layer_analysis import Layers, layers_of
from workbench.checks.orientation.print_cost import Figures, figures
from workbench.checks.orientation.reasons import reasons
from workbench.checks.orientation.side_names import SIDES, side_of
from workbench.checks.orientation.way_up import FIT_WORK, Down, Judge, Orientation
from workbench.errors import RepairError
from workbench.solids.lay import unit

if TYPE_CHECKING:
    from concurrent.futures import ProcessPoolExecutor

    from workbench.checks.subject import Subject

#: How many orientations are tried; how many are shown where time is short, and how many of them
#: may be looked at layer by layer. Our choice.
MOST = 26
SHOWN, CLOSELY = 6, 4

#: Looked at closely, an orientation may need no more than this share of the support that it
#: needs by its triangles. Our choice.
DOUBT = 0.5

#: What costs no more than this share more is as good, where it lies square. Our choice.
ALIKE = 0.05

#: What it takes to turn a part to no side of the bench, in minutes, at least: a guess.
ASKEW = 0.5


def chosen_down(subject: Subject) -> tuple[float, float, float]:
    """The direction that lies on the bed: the user's own choice, else the best one found."""
    if subject.repair.down is not None:
        x, y, z = unit(subject.repair.down)
        return float(x), float(y), float(z)
    return ways_up(subject)[0].down


def ways_up(subject: Subject) -> tuple[Orientation, ...]:
    """The ways up, best first, worked out once for a subject."""
    if not subject.ways:
        subject.ways[:] = quickly(subject)
    return tuple(subject.ways)


def laid_layers(subject: Subject) -> Layers:
    """The layer analysis of the part as it is laid."""
    return layers_of(subject, chosen_down(subject))


def quickly(subject: Subject) -> tuple[Orientation, ...]:
    """The best few ways up, best first, in a fraction of a second.

    All are judged from their triangles; layer by layer the flattest, the user's own, and then
    whichever may be the best until it is known.
    """
    judge = Judge(subject)
    found = {item.down: item for item in _distinct(_roughly(judge, MOST))}
    flattest = min(found.values(), key=lambda item: (item.figures.height, item.minutes))
    hoped = {down: _hoped(item) for down, item in found.items()}
    looks = {flattest.down, *(item.down for item in found.values() if item.chosen)}
    looked = set[Down]()
    while looks:
        for down in looks:
            found[down] = judge.closely(down)
            hoped[down] = _worth(found[down])
        looked |= looks
        # One that cannot be cut into layers stays as it was judged.
        first = min(hoped, key=hoped.__getitem__)
        looks = {first} - looked if len(looked) < CLOSELY else set()
    _square(judge, found)
    shown = sorted(found.values(), key=_worth)
    return _ranked(subject, [*shown[:SHOWN], *(i for i in shown[SHOWN:] if not i.figures.rough)])


def rank(
    subject: Subject,
    most: int = MOST,
    workers: int = 1,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> tuple[Orientation, ...]:
    """Judge ``most`` orientations layer by layer, best first; of those alike, one is told.

    Parameters
    ----------
    workers : processes to share the work; they are kept for the next time. A script of one's own
        that asks for more than one runs under ``if __name__ == "__main__":``
    progress : called with how many are done, and of how many
    cancelled : asked between orientations; once it says yes, those judged so far are returned
    """
    judge = Judge(subject)
    # The promising ones first, so that cancelling loses little.
    first = sorted(_roughly(judge, most), key=_worth)
    done: dict[Down, Orientation] = {}
    for down, found in _judged(judge, [item.down for item in first], workers, cancelled):
        done[down] = found
        if progress is not None:
            progress(len(done), len(first))
    _square(judge, done)
    # In the order of asking, so that the number of workers does not matter.
    asked = [item.down for item in first if item.down in done]
    return _ranked(subject, [done[down] for down in dict.fromkeys([*asked, *done])])


def _worth(found: Orientation) -> float:
    """Minutes; of two that cost alike, the one that lies square on a side of the bench."""
    return _weighed(found, found.minutes)


def _weighed(found: Orientation, minutes: float) -> float:
    return minutes if _is_square(found) else minutes + max(ASKEW, ALIKE * minutes)


def _is_square(found: Orientation) -> bool:
    return side_of(found.down)[1] < 1


def _square(judge: Judge, found: dict[Down, Orientation]) -> None:
    """Where the best rests on a round side, turn it to a side of the bench if that costs no more."""
    best = min(found.values(), key=_worth, default=None)
    if best is None or best.chosen or _is_square(best) or not _rolls(judge, best):
        return
    square = judge.closely(SIDES[side_of(best.down)[0]])
    if square.minutes < (1 + ALIKE) * best.minutes:
        del found[best.down]
        found[square.down] = square


def _roughly(judge: Judge, most: int) -> list[Orientation]:
    """Up to ``most`` ways up, judged from their triangles.

    A rod rolls: of ways to lie that differ by that alone, those square to the bench.
    """
    found = [judge.rough(down) for down in judge.candidates(most)]
    square = [item.figures.height for item in found if _is_square(item) and _rolls(judge, item)]

    def rolled(item: Orientation) -> bool:
        high = item.figures.height
        alike = any(abs(high - other) < ALIKE * other for other in square)
        return alike and not _is_square(item) and _rolls(judge, item)

    return [item for item in found if item.chosen or not rolled(item)]


def _rolls(judge: Judge, found: Orientation) -> bool:
    return judge.facets.round_below(unit(found.down))


def _hoped(found: Orientation) -> float:
    """What it may turn out to be worth: of the support that was judged roughly, not all need be."""
    figures = found.figures
    if not figures.rough or not figures.touched:
        return _worth(found)
    supporting = (figures.minutes - figures.bare + figures.cleaning) / (1 - figures.risk)
    spared = (1 - DOUBT) * (supporting + FIT_WORK * len(found.rough_fits))
    return _weighed(found, found.minutes - spared)


def _distinct(found: Iterable[Orientation]) -> list[Orientation]:
    """Best first, without those that only mirror a better one; the user's own stays."""
    kept: list[Orientation] = []
    for item in sorted(found, key=_worth):
        if item.chosen or not any(_mirrors(item, other) for other in kept):
            kept.append(item)
    return kept


def _mirrors(a: Orientation, b: Orientation) -> bool:
    def size(item: Orientation) -> tuple[float, ...]:
        of = item.figures
        return (item.minutes, of.height, of.contact, of.support, of.touched, of.minutes)

    alike = (abs(x - y) <= 0.1 + 0.03 * y for x, y in zip(size(a), size(b), strict=True))
    return a.flat == b.flat and all(alike)


def _plain_first(ways: list[Orientation]) -> list[Orientation]:
    """Before a best that needs support, one that needs none, where it costs alike, lies square and
    is as strong: minutes are no surer than that."""
    best = next(iter(ways), None)
    if best is None or not best.figures.touched:
        return ways
    for way in ways:
        alike = way.minutes < (1 + ALIKE) * best.minutes and way.strength >= best.strength
        if alike and not way.figures.touched and _is_square(way):
            return [way, *(other for other in ways if other is not way)]
    return ways


def _ranked(subject: Subject, found: Iterable[Orientation]) -> tuple[Orientation, ...]:
    ordered = enumerate(_plain_first(_distinct(found)), start=1)
    ranked = (replace(item, rank=place) for place, item in ordered)
    return tuple(replace(item, reasons=reasons(subject, item)) for item in ranked)


def _judged(
    judge: Judge,
    downs: Sequence[Down],
    workers: int,
    cancelled: Callable[[], bool] | None,
) -> Iterator[tuple[Down, Orientation]]:
    stop = cancelled or (lambda: False)
    left = list(downs)
    if workers > 1:
        try:
            for down, found in _shared(judge, downs, workers, stop):
                left.remove(down)
                yield down, found
        except BrokenExecutor:
            # A worker was ended from outside: what is left is judged here.
            _pool.cache_clear()
    for down in left:
        if stop():
            return
        yield down, judge.closely(down)


def _shared(
    judge: Judge,
    downs: Sequence[Down],
    workers: int,
    stop: Callable[[], bool],
) -> Iterator[tuple[Down, Orientation]]:
    pool = _pool(workers)
    waiting: dict[Future[Figures], Down] = {}
    queue = list(reversed(downs))
    while queue or waiting:
        if stop():
            for future in waiting:
                future.cancel()
            return
        # Few are handed out at a time, so that cancelling leaves little to wait for.
        while queue and len(waiting) < 2 * workers:
            down = queue.pop()
            work = (judge.vertices, judge.faces, down, judge.printer, judge.material)
            waiting[pool.submit(figures, *work)] = down
        for future in wait(waiting, timeout=0.2, return_when=FIRST_COMPLETED).done:
            down = waiting.pop(future)
            try:
                yield down, judge.of(future.result())
            except RepairError:
                yield down, judge.rough(down)


@lru_cache(maxsize=1)
def _pool(workers: int) -> ProcessPoolExecutor:
    """Processes that start fresh: a copy of a Jupyter kernel with its threads is not safe."""
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    return ProcessPoolExecutor(workers, mp_context=get_context("spawn"))
