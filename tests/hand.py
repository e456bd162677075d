"""A hand at the bench: it makes a repair control by control, and counts what that takes.

Keystroke-level model: Card, Moran and Newell, "The Keystroke-Level Model for User Performance
Time with Interactive Systems", CACM 23(7), 1980; its times are from memory. K 0.28 s a key (an
average non-secretary typist), P 1.1 s to point (the press that follows is a K), H 0.4 s from mouse
to keyboard or back, M 1.35 s to make up one's mind: before each step, each choice, each number that
is typed and each edge that is named. Every sign of a name, a number or a sum is a key. What the
bench takes to answer is left out, and so is measuring the broken part.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from workbench.jupyter.bench import Bench
from workbench.jupyter.step_list import CUT, JOIN
from workbench.solids import catalogue
from workbench.solids.parameters import Choice, Flag, Words
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.repeats import REPEAT, Row
from workbench.solids.recipe.seat import PREFIX, At, Seat
from workbench.solids.recipe.step import Step
from workbench.words import number

K, P, H, M = 0.28, 1.1, 0.4, 1.35

NEAR = 1e-6


class Hand:
    """It works at a bench that builds nothing: what is counted is the hand, not the kernel."""

    def __init__(self, name: str) -> None:
        self.bench = Bench(Repair(name), inline=True)
        self.bench._builder.put = lambda repair: None  # type: ignore[method-assign]
        self.seconds = 0.0
        self.counts = dict.fromkeys("KPHM", 0)
        self._typing = False

    # -- operators ---------------------------------------------------------------------------

    def _do(self, **operators: int) -> None:
        for sign, times in operators.items():
            self.counts[sign] += times
            self.seconds += times * {"K": K, "P": P, "H": H, "M": M}[sign]

    def think(self) -> None:
        self._do(M=1)

    def press(self, times: int = 1) -> None:
        """Point at something and press; a choice from a list is two."""
        self._do(H=int(self._typing), P=times, K=times)
        self._typing = False

    def keys(self, text: str) -> None:
        """Type a text and Enter."""
        self._do(H=int(not self._typing), K=len(text) + 1)
        self._typing = True

    def enters(self, times: int) -> None:
        """Press Enter to go on to a later number."""
        self._do(H=int(not self._typing and times > 0), K=times)
        self._typing |= times > 0

    # -- a repair ----------------------------------------------------------------------------

    def make(self, wanted: Repair) -> Repair:
        """Make a repair step by step."""
        for step in map(_each_edge, wanted.steps):
            self._add(step)
            self._sizes(step)
            self._place(step)
            self._pattern(step)
        for step in map(_each_edge, wanted.steps):
            self._follow_later(step)
        for ease in wanted.eases:
            self._ease(ease)
        made = self.bench.repair
        self.bench.close()
        return made

    def _add(self, step: Step) -> None:
        add = self.bench.add
        self.think()
        self.press(2)  # the page, and the picture of the shape
        self.bench.step_pages.buttons.value = 2
        add.shapes.chosen = step.template
        on, face = (step.place.step, step.place.face) if isinstance(step.place, Seat) else ("", "")
        self._choose(add.on, on)
        if on:
            self._choose(add.face, face)
        self._set(add.joins, CUT if step.cuts else JOIN)
        if step.cuts and on:
            self._set(add.through, self._goes_through(step))
        self.press()
        add.name.value = step.name
        self.keys(step.name)
        add.button.click()
        assert not add.note.value, add.note.value
        self._at = 0  # the cursor is in the first number
        if self.bench.step_pages.buttons.value == 1:
            self._place(step)

    def _goes_through(self, step: Step) -> bool:
        """Whether that saves typing: the shape's height follows what it sits on."""
        assert isinstance(step.place, Seat)
        return any(same.sizes[0][0] == step.place.step for same in step.follows.values())

    def _choose(self, control: Any, value: Any) -> None:
        if control.value != value:
            self.think()
            self.press(2)
            control.value = value

    def _set(self, control: Any, value: Any) -> None:
        if control.value != value:
            self.think()
            self.press()
            control.value = value

    def _turn_to(self, page: int) -> None:
        """The page of the sizes, 0, or of the place, 1."""
        if self.bench.step_pages.buttons.value != page:
            self.press()
            self.bench.step_pages.buttons.value = page
            self._at = -1

    def _sizes(self, step: Step) -> None:
        self._turn_to(0)
        sliders = self.bench.fields(step.name)
        boxes = [name for name, field in sliders.items() if hasattr(field, "box")]
        for parameter in catalogue.find(step.template).parameters:
            name, field = parameter.name, sliders[parameter.name]
            if isinstance(parameter.kind, Choice):
                self._choose(field.list, step.values[name])
            elif isinstance(parameter.kind, Flag):
                self._set(field.mark, step.values[name])
            elif isinstance(parameter.kind, Words) and field.text.value != step.values[name]:
                self.think()
                self.press()
                self.keys(step.values[name])
                field.text.value = step.values[name]
        self._numbers(step, "", {name: sliders[name] for name in boxes})

    def _numbers(self, step: Step, prefix: str, boxes: dict[str, Any]) -> None:
        for index, name in enumerate(boxes):
            now = self.bench.repair.step(step.name)
            text = self._to_type(step, now, prefix + name)
            if not text or not self._is_known(step, prefix + name):
                continue
            self.think()
            skipped = index - self._at
            if self._at < 0 or not 0 <= skipped * K <= P + K + 2 * H:
                self.press()
            else:
                self.enters(skipped)
            self.keys(text)
            boxes[name].box.value = text
            assert not boxes[name].refusal, (step.name, name, boxes[name].refusal)
            self._at = index + 1

    def _is_known(self, step: Step, name: str) -> bool:
        """Whether the sizes that a number follows are there yet."""
        there = {one.name for one in self.bench.repair.steps}
        same = step.follows.get(name)
        return same is None or {follows for follows, _field in same.sizes} <= there

    def _follow_later(self, step: Step) -> None:
        """Come back to a step for sizes that follow what was added after it."""
        now = self.bench.repair.step(step.name)
        names = [n for n in step.follows if self._to_type(step, now, n)]
        if not names:
            return
        self.press()  # the step in the list
        self.bench.choose(step.name)
        for page, prefix in ((0, ""), (1, PREFIX)):
            own = [n for n in names if n.startswith(PREFIX) == bool(prefix)]
            if not own:
                continue
            self._turn_to(page)
            boxes = self.bench.place._shown if prefix else self.bench.fields(step.name)
            fields = {n.removeprefix(prefix): boxes[n.removeprefix(prefix)] for n in own}
            self._numbers(step, prefix, fields)

    def _to_type(self, wanted: Step, now: Step, name: str) -> str:
        """What to type for a number; nothing where it is as it should be."""
        same = wanted.follows.get(name)
        there = abs(now.number(name) - wanted.number(name)) < NEAR
        if same is not None:
            return "" if there and name in now.follows else same.text
        return "" if there and name not in now.follows else number(wanted.number(name), 4)

    def _place(self, step: Step) -> None:
        now = self.bench.repair.step(step.name)
        if now.place == step.place and not any(n.startswith(PREFIX) for n in step.follows):
            return
        numbers = [n for n in step.place.numbers() if self._differs(step, now, n)]
        by = isinstance(step.place, Seat) and isinstance(now.place, Seat) and (
            (step.place.by, step.place.edges, step.place.within)
            != (now.place.by, now.place.edges, now.place.within)
        )  # fmt: skip
        if not numbers and not by:
            return
        place = self.bench.place
        self._turn_to(1)
        if isinstance(step.place, Seat):
            self._choose(place.by, step.place.by)
            if set(step.place.edges) != set(self.bench.repair.step(step.name).place.edges):
                self.think()
                self.press()
                nine = place.nine
                edges = next(e for e in nine._places if set(e) == set(step.place.edges))
                nine.buttons[nine._places.index(edges)].click()
            self._set(place.within, step.place.within)
        self._numbers(step, PREFIX, {n: place.field(n) for n in place._shown})

    def _differs(self, step: Step, now: Step, name: str) -> bool:
        if name not in now.place.numbers():
            return True
        return bool(self._to_type(step, now, PREFIX + name))

    def _pattern(self, step: Step) -> None:
        if not step.repeat and not step.mirror:
            return
        pattern = self.bench.place.pattern
        self._turn_to(1)
        self._choose(pattern.mirror, step.mirror)
        if step.repeat:
            self._choose(pattern.stands, type(step.repeat).__name__.lower())
            if isinstance(step.repeat, Row):
                self._choose(pattern.way, step.repeat.direction)
            self._at = -1
            kind = type(step.repeat)
            names = list(step.repeat.numbers())
            self._numbers(step, REPEAT, {n: pattern.fields[kind, n] for n in names})

    def _ease(self, ease: Any) -> None:
        eases = self.bench.place.eases
        self._turn_to(1)
        self._set(eases.kind, "chamfer" if ease.chamfer else "round")
        self.think()
        self.press()
        eases.where.value = ease.where
        self.keys(ease.where)
        self.think()
        self.press()
        eases.size.value = number(ease.size, 4)
        self.keys(eases.size.value)
        self.press()
        eases.button.click()
        assert not eases.note.value, eases.note.value


def _each_edge(step: Step) -> Step:
    """The step with a number for each edge that holds it, as the bench has them."""
    place = step.place
    if isinstance(place, Seat) and len(place.edges) > 1:
        return replace(step, place=replace(place, inset=place.insets))
    return step


def differences(made: Repair, wanted: Repair) -> list[str]:
    """What of a repair is not as it was wanted: shapes, sizes, places, patterns and edges."""
    found = []
    for one, other in zip(made.steps, map(_each_edge, wanted.steps), strict=True):
        same = (one.template, one.cuts, one.repeat is None, one.mirror) == (
            *(other.template, other.cuts, other.repeat is None, other.mirror),
        )
        if not same or type(one.place) is not type(other.place):
            found.append(f"{one.name}: {one} is not {other}")
            continue
        for name in other.numbers():
            got, asked = one.number(name), other.number(name)
            far = got != asked if isinstance(asked, (str, bool)) else abs(got - asked) > NEAR
            if far or (name in other.follows) != (name in one.follows):
                found.append(f"{one.name}.{name} is {got} ({one.follows.get(name)}), not {asked}")
    eased = [(ease.where, ease.size, ease.chamfer) for ease in made.eases]
    if eased != [(ease.where, ease.size, ease.chamfer) for ease in wanted.eases]:
        found.append(f"edges are {eased}")
    return found


def offsets(repair: Repair) -> int:
    """How many offsets from a middle had to be worked out by hand."""
    found = 0
    for step in repair.steps:
        worked_out = ("x", "y", "z") if isinstance(step.place, At) else ("along", "across")
        numbers = step.place.numbers()
        found += sum(
            bool(numbers.get(name)) and f"place.{name}" not in step.follows for name in worked_out
        )
    return found
