"""The table of how well a trace knows itself, by the second camera: ``python tests/photo_table.py``.

"Off" is a photo with a wrong number of sides, or a side off by more than 0.5 mm and three times
what is stated; "unsaid" one that has no note either.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass

import numpy as np
from photographer import Shot, photograph

from workbench.errors import RepairError
from workbench.measure.photos.trace import trace
from workbench.measure.photos.trace_result import Traced
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
    x, y = outline.T
    whole = 0.5 * float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum())
    share = found.outline.area / whole - 1
    if len(own) != len(true):
        return Outcome(np.empty(0), np.empty(0), False, found.notes, area=share)
    best = int(np.argmin([np.abs(np.roll(own, k) - true).max() for k in range(len(true))]))
    if read:
        own, doubt = _pulled(found, np.roll(true, -best), read)
    return Outcome(np.roll(own, best) - true, np.roll(doubt, best), True, found.notes, area=share)


def _pulled(found: Traced, true: np.ndarray, read: int) -> tuple[np.ndarray, np.ndarray]:
    """(n,) lengths and uncertainties of a trace whose longest sides were read."""
    sketch = found.sketch()
    spots = np.array(list(sketch.corners.values()))
    order = [int(np.hypot(*(spots - spot).T).argmin()) for spot in found.corners]
    names = [list(sketch.corners)[k] for k in order]
    sides = [f"{names[k - 1]} {names[k]}" for k in range(len(names))]
    for k in np.argsort(-true)[:read]:
        sketch.read("side", sides[k], f"{true[k]:.2f}")
    solution = solve(sketch)
    sizes = [solution.size("side", side) for side in sides]
    return np.array([s.value for s in sizes]), np.array([s.uncertainty for s in sizes])


def rows(count: int):
    """Name of each row of the table, and its photos as outline, picture and what is told."""
    names = list(PARTS)

    def made(seed: int, n: int, thick, told_edge=False, read=0, **kinds):
        rng = np.random.default_rng(seed)
        for k in range(n):
            outline = laid(names[k % len(names)], rng)
            depth = float(rng.uniform(*thick))
            own = {name: value(rng) if callable(value) else value for name, value in kinds.items()}
            shot = Shot(towards=rng.uniform(0, 360), roll=rng.uniform(-15, 15), **own)
            yield (
                outline,
                photograph(outline, shot, depth, seed + k),
                {
                    "thickness": round(depth, 2),
                    "read": read,
                    "bar": round(100 * shot.printed, 2),
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
    yield "thin, no lens bend", made(1, count, (0.2, 0.6), tilt=lambda r: r.uniform(0, 30))
    yield "phone lens, 1.5 to 12 mm", made(2, 2 * count, (1.5, 12), **phone)
    broken = {"edge": lambda r: r.uniform(0.3, 1), **phone}
    yield "edges broken 0.3 to 1 mm", made(3, count, (2.5, 10), **broken)
    yield "the same, edges told", made(3, count, (2.5, 10), told_edge=True, **broken)
    yield "the same, one side read", made(3, count, (2.5, 10), read=1, **broken)
    yield "the same, two sides read", made(3, count, (2.5, 10), read=2, **broken)
    yield (
        "pale part",
        made(4, count, (1.5, 6), part=(0.55, 0.5, 0.42), wall=(0.4, 0.36, 0.3), **phone),
    )
    yield "side of another colour", made(5, count, (2, 8), wall=(0.35, 0.3, 0.25), **phone)
    pale = (0.6, 0.55, 0.5)
    yield "side much paler than the top", made(7, count, (2, 8), wall=pale, **phone)
    yield (
        "printed at 94 to 97 %",
        made(6, count // 2, (0.2, 0.6), printed=lambda r: r.uniform(0.94, 0.97), tilt=10.0),
    )


def main(count: int) -> None:
    """Print the table."""
    print(
        f"{'photos':28} {'n':>3} {'error: median, 95 %':>20} {'stated':>7} {'in 1u':>6} {'in 2u':>6}  refused, sides wrong, off, off unsaid"
    )
    for name, photos in rows(count):
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
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 12)
