"""The table of how well a trace knows itself, by the second camera:
``python tests/photo_table.py PHOTOS SEED [ROW ...]``, rows counted from 0.

"Off" is a photo with a wrong number of sides, or a side off by more than 0.5 mm and three times
what is stated; "unsaid" one that has no note either.

What a trace cannot know varies in every row as it does at a bench: calipers read thickness and bar,
a printer draws the sheet to a scale of its own, and the paper is not quite flat. How far edges are
broken is the most of what is stated, and is known last: a row whose edges are all sharp, or all well
broken, is one end of what is stated for both, so more sides than two in three are within it there, or
fewer. The row with edges as they come is the one to hold it against. Both directions of a print have
one scale.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass

import numpy as np
from photographer import Shot, photograph

from workbench.errors import RepairError
from workbench.measure.photos.trace import trace
from workbench.measure.photos.trace_budget import OFF_TABLE
from workbench.measure.photos.trace_result import BAR_SCALE, Traced
from workbench.measure.reading import LIMIT
from workbench.measure.sketches.solve import solve

#: Parts of our own, corners in mm, anticlockwise.
PARTS = {
    "tee": [(0, 0), (18, 0), (18, 42), (47, 42), (47, 58), (-29, 58), (-29, 42), (0, 42)],
    "wedge": [(0, 0), (64, 0), (52, 38), (7, 38)],
    "ell": [(0, 0), (72, 0), (72, 17), (24, 17), (24, 61), (0, 61)],
    "kite": [(0, 0), (41, 12), (55, 62), (6, 48)],
}


@dataclass
class Outcome:
    """One photo: side errors and stated uncertainties in mm, or what was said instead."""

    errors: np.ndarray
    stated: np.ndarray
    sides: bool
    notes: tuple[str, ...]
    refusal: str = ""
    area: float = 0.0


def laid(part: str, rng: np.random.Generator) -> np.ndarray:
    """The part on the sheet, turned as it may lie."""
    corners = np.array(PARTS[part], dtype=float)
    turn = rng.uniform(0, 2 * np.pi)
    spin = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    corners = (corners - corners.mean(axis=0)) @ spin.T
    middle = (corners.min(axis=0) + corners.max(axis=0)) / 2
    return corners - middle + (105, 155) + rng.uniform(-8, 8, 2)


def judged(outline: np.ndarray, picture: bytes, read: int = 0, **told) -> Outcome:
    """The trace held against the true outline, its ``read`` longest sides read with calipers."""
    try:
        found = trace(picture, **told)
    except RepairError as error:
        return Outcome(np.empty(0), np.empty(0), False, (), str(error))
    true = np.hypot(*(np.roll(outline, -1, axis=0) - outline).T)
    own = np.array([side.length for side in found.sides])
    doubt = np.array([side.uncertainty for side in found.sides])
    # What is said of the print's scale says nothing of a side.
    notes = tuple(note for note in found.notes if "sheet was printed at" not in note)
    x, y = outline.T
    whole = 0.5 * float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum())
    share = found.outline.area / whole - 1
    if len(own) != len(true):
        return Outcome(np.empty(0), np.empty(0), False, notes, area=share)
    best = int(np.argmin([np.abs(np.roll(own, k) - true).max() for k in range(len(true))]))
    if read:
        own, doubt = _pulled(found, np.roll(true, -best), read)
    return Outcome(np.roll(own, best) - true, np.roll(doubt, best), True, notes, area=share)


def _pulled(found: Traced, true: np.ndarray, read: int) -> tuple[np.ndarray, np.ndarray]:
    """(n,) lengths and uncertainties of a trace whose longest sides were read."""
    sketch = found.sketch()
    spots = np.array(list(sketch.corners.values()))
    order = [int(np.hypot(*(spots - spot).T).argmin()) for spot in found.corners]
    names = [list(sketch.corners)[k] for k in order]
    sides = [f"{names[k - 1]} {names[k]}" for k in range(len(names))]
    rng = np.random.default_rng(int(1000 * true.sum()))
    for k in np.argsort(-true)[:read]:
        sketch.read("side", sides[k], by_calipers(true[k], rng))
    solution = solve(sketch)
    sizes = [solution.size("side", side) for side in sides]
    return np.array([s.value for s in sizes]), np.array([s.uncertainty for s in sizes])


def broken(rng: np.random.Generator) -> float:
    """mm by which a part's edges are broken: a third are sharp. Common practice, no source."""
    return float(rng.uniform(0.3, 1)) if rng.random() > 1 / 3 else 0.0


def rolled(rng: np.random.Generator) -> float:
    """Share of its thickness by which cut sheet's edge is rolled over (VDI 2906, from memory)."""
    return float(rng.uniform(0, 0.2)) if rng.random() > 1 / 3 else 0.0


def by_calipers(size: float, rng: np.random.Generator) -> float:
    """A size as calipers that are off by up to their limit read it, by a steady hand, in mm."""
    return round(size + rng.uniform(-LIMIT["calipers"], LIMIT["calipers"]) + rng.normal(0, 0.02), 2)


def rows(count: int, seed: int = 0):
    """Name of each row of the table, and its photos as outline, picture and what is told."""
    names = list(PARTS)

    def made(row: int, n: int, thick, told_edge=False, read=0, roll=None, **kinds):
        rng, printer = (np.random.default_rng(key) for key in ((row, seed), (row, seed, 1)))
        for k in range(n):
            outline = laid(names[k % len(names)], rng)
            depth = float(rng.uniform(*thick))
            own = {name: value(rng) if callable(value) else value for name, value in kinds.items()}
            if roll is not None:
                own["edge"] = roll(rng) * depth
            own["lift"] = rng.normal(0, OFF_TABLE)
            own = {"printed": float(printer.normal(1, BAR_SCALE)), **own}
            shot = Shot(towards=rng.uniform(0, 360), roll=rng.uniform(-15, 15), **own)
            yield (
                outline,
                photograph(outline, shot, depth, int(rng.integers(2**31))),
                {
                    "thickness": by_calipers(depth, rng),
                    "read": read,
                    "bar": by_calipers(100 * shot.printed, rng),
                    "edge": round(shot.edge, 1) if told_edge else None,
                },
            )

    phone = {
        "bend": lambda r: (r.uniform(-0.1, 0.1), r.uniform(-0.02, 0.02)),
        "centre": lambda r: tuple(r.normal(0, 6, 2)),
        "tilt": lambda r: r.uniform(0, 40),
        "stated": lambda r: bool(r.random() < 0.7),
        "focal": lambda r: r.uniform(0.55, 0.75),
        "quality": lambda r: int(r.integers(80, 96)),
    }
    yield (
        "thin sheet, no lens bend",
        made(1, count, (0.2, 0.6), roll=rolled, tilt=lambda r: r.uniform(0, 30)),
    )
    come = {"edge": broken, **phone}
    yield "phone, edges as they come", made(2, 2 * count, (1.5, 12), **come)
    yield "phone, edges all sharp", made(8, count, (1.5, 12), **phone)
    yield "the same, edges told", made(8, count, (1.5, 12), told_edge=True, **phone)
    all_broken = {"edge": lambda r: r.uniform(0.3, 1), **phone}
    yield "edges broken 0.3 to 1 mm", made(3, count, (2.5, 10), **all_broken)
    yield "the same, edges told", made(3, count, (2.5, 10), told_edge=True, **all_broken)
    yield "the same, one side read", made(3, count, (2.5, 10), read=1, **all_broken)
    yield "the same, two sides read", made(3, count, (2.5, 10), read=2, **all_broken)
    yield (
        "pale part",
        made(4, count, (1.5, 6), part=(0.55, 0.5, 0.42), wall=(0.4, 0.36, 0.3), **come),
    )
    grey, pale = (0.35, 0.3, 0.25), (0.6, 0.55, 0.5)
    yield "side of another colour, sharp", made(5, count, (2, 8), wall=grey, **phone)
    yield "the same, edges as they come", made(5, count, (2, 8), wall=grey, **come)
    yield "side much paler, sharp", made(7, count, (2, 8), wall=pale, **phone)
    yield "the same, edges as they come", made(7, count, (2, 8), wall=pale, **come)
    yield (
        "printed at 94 to 97 %",
        made(
            6,
            count // 2,
            (0.2, 0.6),
            roll=rolled,
            printed=lambda r: r.uniform(0.94, 0.97),
            tilt=10.0,
        ),
    )


def main(count: int, seed: int, *only: int) -> None:
    """Print the table, or those rows of it alone."""
    print(
        f"{'photos':28} {'n':>3} {'error: median, 95 %':>20} {'stated':>7} {'in 1u':>6} {'in 2u':>6}  refused, sides wrong, off, off unsaid"
    )
    for row, (name, photos) in enumerate(rows(count, seed)):
        if only and row not in only:
            continue
        found = [judged(outline, picture, **told) for outline, picture, told in photos]
        good = [one for one in found if one.sides]
        refused = sum(bool(one.refusal) for one in found)
        unlike = sum(not one.sides and not one.refusal for one in found)
        off = [
            one
            for one in found
            if not one.refusal
            and (not one.sides or (np.abs(one.errors) > np.maximum(0.5, 3 * one.stated)).any())
        ]
        unsaid = sum(not one.notes for one in off)
        if not good:
            print(f"{name:28} {len(found):3} nothing; refused {refused}, sides wrong {unlike}")
            continue
        errors = np.abs(np.concatenate([one.errors for one in good]))
        stated = np.concatenate([one.stated for one in good])
        print(
            f"{name:28} {len(found):3} {np.median(errors):10.3f} {np.percentile(errors, 95):9.3f} "
            f"{np.median(stated):7.3f} {100 * np.mean(errors < stated):5.0f}% {100 * np.mean(errors < 2 * stated):5.0f}%"
            f"  {refused}, {unlike}, {len(off)}, {unsaid}",
            flush=True,
        )
        for one in found:
            if one.refusal or not one.sides:
                print("      ", one.refusal or ("sides", one.area, one.notes))


if __name__ == "__main__":
    given = [int(word) for word in sys.argv[1:]]
    main(*given, *[12, 0][len(given) :])
