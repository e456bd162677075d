"""A number as a slider with a box beside it, and what every control of a parameter has."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import replace
from html import escape
from typing import Any

import ipywidgets as w

from workbench import units
from workbench.errors import RepairError
from workbench.jupyter.panel import Quiet
from workbench.measure.reading import Reading
from workbench.measure.repeated_readings import doubt, readings_in
from workbench.solids.parameters import Count, Parameter, Size
from workbench.solids.recipe.same import Same, names_a_size
from workbench.units import MM, Unit
from workbench.words import _, named_in, number, sized, unit_sign, with_unit

#: Told by a control: the field and its new value. Returns a sentence where it was refused.
Tell = Callable[[str, Any], str | None]

#: A slider spans about as many steps as it has pixels, so that each is within reach.
STEPS_IN_REACH = 150

#: Seconds between two values that box and slider show while a hand drags in the picture, whose own
#: number shows each: every message to the browser keeps it from drawing. Our choice.
ECHO = 0.15

#: Values nearer than this are one value, written in binary fractions in two ways.
_DUST = 1e-6


def span(value: float, size: Size) -> tuple[float, float]:
    """The part of a size's range that its slider shows: finely graded round the value.

    >>> span(46.0, Size(1, 300, 0.1))
    (31.0, 61.0)
    >>> span(1.6, Size(0.4, 60, 0.05)), span(45, Size(0, 90, 1, unit="°"))
    ((0.4, 15.4), (0.0, 90.0))
    """
    reach = 2 * STEPS_IN_REACH * size.step
    start = math.floor(value / size.step + 1e-9) * size.step - reach / 2
    low = max(size.low, min(start, size.high - reach))
    high = max(min(size.high, low + reach), value)
    return float(_tidy(low, size.step)), float(_tidy(high, size.step))


def held(value: float, low: float, high: float, step: float) -> float:
    """The mark next to a value, to the last figure as the browser's slider reckons it.

    Of any other it would say its own back, late: a value that a hand has left would come again.

    >>> held(19.2, 0.2, 30.2, 0.1), held(5.83, 0.2, 30.2, 0.1), held(31, 0.2, 30.2, 0.1)
    (19.199999999999996, 5.799999999999999, 30.2)
    """
    if value >= high:
        return high
    share = (value + abs(low) if low < 0 else value - low) * 100 / (high - low)
    pitch = step * 100 / (high - low)
    share = min(max(math.floor(share / pitch + 0.5) * pitch, 0.0), 100.0)
    return high if share == 100 else share * (high - low) / 100 + low


def in_steps(size: Size, unit: Unit) -> Size:
    """A size's range and step in a unit, both round in it.

    >>> found = in_steps(Size(0.4, 60, 0.1), units.INCH)
    >>> round(found.low, 6), round(found.high, 6), found.step
    (0.02, 2.36, 0.005)
    """
    if unit is MM:
        return size
    step = unit.step(size.step)
    low, high = math.ceil(unit.of(size.low) / step), math.floor(unit.of(size.high) / step)
    if low >= high:
        return replace(size, low=unit.of(size.low), high=unit.of(size.high), step=step)
    return replace(size, low=_tidy(low * step, step), high=_tidy(high * step, step), step=step)


def _tidy(value: float, step: float) -> float:
    """The value without the dust of binary fractions, as fine as the step asks."""
    return round(value, max(0, 2 - math.floor(math.log10(step))))


class Field(Quiet):
    """A control with its help and, where an input is refused, the sentence that says why.

    ``widget`` is what is shown. ``show(value)`` sets it without telling anyone. ``read`` is the
    reading behind the value, where it was read several times.
    """

    read: Reading | None = None
    value: Any = None
    refusal = ""
    follows = ""

    def __init__(self, parameter: Parameter, tell: Tell) -> None:
        self.parameter = parameter
        self._tell = tell
        self.note = w.HTML()
        self.note.add_class("wb-note")
        self.complain("")
        self.widget = w.VBox([*self.controls(), self.note])
        self.widget.add_class("wb-field")
        self.widget.add_class(f"wb-of-{parameter.name.replace(' ', '-')}")

    def controls(self) -> list[w.Widget]:
        """The widgets above the note."""
        raise NotImplementedError

    def show(self, value: Any, read: Reading | None = None) -> None:
        """Show a value that the repair has, and the reading behind it."""
        self.value, self.read = value, read
        with self.quietly():
            self.display(value)
        self.complain("")

    def follow(self, same: Same | None) -> None:
        """What it follows, told with its value the next time it is shown."""
        self.follows = same.text if same else ""

    def show_again(self) -> None:
        """Show the value that is shown in the unit that the user reads now."""
        self.show(self.value, self.read)

    def display(self, value: Any) -> None:
        """Set the controls to a value."""
        raise NotImplementedError

    def complain(self, text: str) -> None:
        """Say why the last input was refused; an empty text says what to measure again."""
        self.refusal = text
        if text:
            note = f'<span class="wb-refusal" role="alert">{escape(text)}</span>'
        else:
            note = f'<span class="wb-help">{escape(self.help())}</span>{_read(self.read)}'
            if self.follows:
                told = _("follows {sizes}; type a number to end that")
                note += f'<span class="wb-read">{escape(told.format(sizes=self.follows))}</span>'
        self.note.value = note  # at once: every value that differs is a message to the browser

    def help(self) -> str:
        """What to measure, in words."""
        measure = getattr(self.parameter.kind, "measure", "")
        return _(measure) if measure else ""

    def take(self, value: Any) -> None:
        """Pass an input on, unless it came from the repair itself.

        A complaint that stands there stays until it is known what comes of this one.
        """
        if not self._quiet:
            self.value = value.value if isinstance(value, Reading) else value
            self.read = value if isinstance(value, Reading) else None
            if not self.refusal:
                self.complain("")
            refused = self._tell(self.parameter.name, value)
            if refused:
                self.complain(refused)


class NumberField(Field):
    """A slider with a number box beside it."""

    box: w.Text
    slider: w.FloatSlider | w.IntSlider
    gesture = 0
    _shown = -math.inf  # when a hand's value was last shown
    _behind = False

    @property
    def unit(self) -> str:
        """What the number is in: "mm", whichever unit it is shown in, "°" or nothing."""
        return str(getattr(self.parameter.kind, "unit", ""))

    def controls(self) -> list[w.Widget]:
        self.box = w.Text(description=self.parameter.said, continuous_update=False)
        self.box.add_class("wb-box")
        self.slider = self.make_slider()
        self.slider.add_class("wb-slider")
        self.suit()
        self.box.observe(lambda change: self._typed(change["new"]), "value")
        self.slider.observe(lambda change: self._slid(change["new"]), "value")
        return [self.box, self.slider]

    def make_slider(self) -> w.FloatSlider | w.IntSlider:
        """The slider, without a number of its own."""
        raise NotImplementedError

    def suit(self) -> None:
        """Name the controls, with the unit that their numbers are in."""
        named = named_in(self.parameter.said, self.unit)
        self.box.tooltip = f"{named}: {self.help()}"
        self.slider.tooltip = named
        for unit in _UNIT_CLASSES.values():
            self.box.remove_class(unit)
        self.box.add_class(_UNIT_CLASSES.get(unit_name(self.unit), "wb-plain"))

    def help(self) -> str:
        kind: Any = self.parameter.kind
        low, high = self.spelled(kind.low, 2), self.spelled(kind.high, 2)
        limits = _("{low} to {high}").format(low=low, high=high).replace("-", "−")
        gap = "" if self.unit == "°" else " "
        limits += f"{gap}{unit_sign(self.unit)}".rstrip()
        measure = super().help()
        return f"{measure} · {limits}" if measure else limits

    def spelled(self, value: float, places: int) -> str:
        """A value as the box shows it."""
        return sized(value, places) if self.unit == "mm" else number(value, places)

    def display(self, value: Any) -> None:
        # A mean is shown as fine as calipers read; what was typed is shown as it was.
        self.box.value = self.spelled(float(value), 4 if self.read is None else 2)
        self.place(value)

    def place(self, value: float) -> None:
        """Put the slider where it shows a value."""
        self.slider.value = value

    def slid_to(self, value: float) -> float:
        """The value that the slider says, as it is passed on."""
        return value

    def is_echo(self, value: float) -> bool:
        """Whether the slider only says again where it was put."""
        return False

    def _slid(self, value: float) -> None:
        if self._quiet or self.is_echo(value):
            return
        value = self.slid_to(value)
        with self.quietly():
            self.box.value = self.spelled(value, 4)
            self.place(value)
        self.take(value)

    def drag(self, value: float) -> bool:
        """Take a value that a hand dragged in the picture, on the size's own steps; returns
        whether it is another one."""
        kind = self.parameter.kind
        assert isinstance(kind, (Count, Size))
        value = min(max(self.stepped(value), kind.low), kind.high)
        if value == self.value:
            return False
        now = time.monotonic()
        self._behind = now < self._shown + ECHO
        if not self._behind:
            self._shown = now
            with self.quietly():
                self.display(value)
        self.take(value)
        return True

    def catch_up(self) -> None:
        """Show the value at which the hand rests, where it was not shown yet."""
        if self._behind:
            self._behind = False
            with self.quietly():
                self.display(self.value)

    def stepped(self, value: float) -> float:
        """The value on the nearest step."""
        return round(value)

    def _typed(self, text: str) -> None:
        if self._quiet:
            return
        if names_a_size(text):
            self._take_sum(text)
            return
        try:
            given = self.meant(text)
            amount = self.checked(given)
        except RepairError as error:
            self.complain(str(error))
            return
        self.show(amount, given if isinstance(given, Reading) else None)
        # Typing is an edit of its own to undo, however soon it follows a drag.
        self.gesture += 1
        self.take(given if isinstance(given, Reading) else amount)
        self.gesture += 1

    def _take_sum(self, text: str) -> None:
        """Let it follow the sizes that were typed; the bench then shows what that comes to."""
        try:
            refused = self._tell(self.parameter.name, Same(text))
        except RepairError as error:
            refused = str(error)
        if refused:
            self.complain(refused)

    def meant(self, text: str) -> str | Reading:
        """What was typed: one value, or several readings of it."""
        return text

    def checked(self, given: str | Reading) -> float:
        """The value of what was typed, or a RepairError."""
        kind = self.parameter.kind
        assert isinstance(kind, (Count, Size))
        return kind.check(self.parameter.said, given)


class _Slider(w.FloatSlider):
    """A slider whose span reaches the browser before its value, which it would cut off otherwise."""

    def get_state(self, key: Any = None, drop_defaults: bool = False) -> dict[str, Any]:
        """What is sent to the browser, which takes it in one by one in this order."""
        state = super().get_state(key, drop_defaults)
        return dict(sorted(state.items(), key=lambda item: item[0] == "value"))


class SizeField(NumberField):
    """A size; its box takes 34.85 as well as 34,85 and 1 3/8 in, and several readings of it.

    A length is shown in the user's unit, and a number without one is taken to be in it; it is
    passed on in mm. The slider in the browser knows only its own marks, ``step`` apart. It is put
    on the mark next to the value, and what it says of that mark is no input: 34.85 stays 34.85.
    """

    _mark = math.nan
    _unit = MM

    def make_slider(self) -> w.FloatSlider:
        self.slider: w.FloatSlider = _Slider(readout=False)
        return self.slider

    def suit(self) -> None:
        self._unit = units.chosen() if self._kind.unit == "mm" else MM
        self._marks = in_steps(self._kind, self._unit)
        self._mark = math.nan  # the slider's marks are others now
        super().suit()

    def show(self, value: Any, read: Reading | None = None) -> None:
        if self._kind.unit == "mm" and self._unit is not units.chosen():
            self.suit()
        super().show(value, read)

    @property
    def _kind(self) -> Size:
        assert isinstance(self.parameter.kind, Size)
        return self.parameter.kind

    def meant(self, text: str) -> str | Reading:
        if self._kind.unit != "mm":
            return text
        try:
            several = readings_in(text, self._unit.name)
        except RepairError:
            return text  # which is refused in the words for one value
        return Reading(several, unit=self._unit.name) if len(several) > 1 else text

    def checked(self, given: str | Reading) -> float:
        return self._kind.check(self.parameter.said, given, self._unit)

    def slid_to(self, value: float) -> float:
        amount = _tidy(_tidy(value, self._marks.step) * self._unit.mm, self._kind.step * 1e-2)
        return min(max(amount, self._kind.low), self._kind.high)

    def stepped(self, value: float) -> float:
        step = self._marks.step
        return self.slid_to(round(self._unit.of(value) / step) * step)

    def is_echo(self, value: float) -> bool:
        return abs(value - self._mark) < 0.49 * self._marks.step

    def place(self, value: float) -> None:
        shown = self._unit.of(value)
        within = self.slider.min <= shown <= self.slider.max
        self._lay(shown, anew=not within or math.isnan(self._mark))

    def display(self, value: Any) -> None:
        super().display(float(value))
        self.settle()

    def settle(self) -> None:
        """Where the value is near an end of the slider, lay its span round it anew."""
        low, high, value = self.slider.min, self.slider.max, self.slider.value
        edge = 0.05 * (high - low)
        if not low + edge < value < high - edge and span(value, self._marks) != (low, high):
            self._lay(value, anew=True)

    def _lay(self, value: float, anew: bool) -> None:
        """Set span and value in one message, so that the browser never sees half of it."""
        slider, step = self.slider, self._marks.step
        with self.quietly(), slider.hold_sync():
            if anew:
                low, high = span(value, self._marks)
                slider.step = step
                if low >= slider.max:
                    slider.max, slider.min = high, low
                else:
                    slider.min, slider.max = low, high
            self._mark = held(value, slider.min, slider.max, step)
            # What the browser said is not said back to it, or a quick hand is held up.
            if abs(slider.value - self._mark) > _DUST:
                slider.value = self._mark


class CountField(NumberField):
    """A whole number."""

    def make_slider(self) -> w.IntSlider:
        kind = self.parameter.kind
        assert isinstance(kind, Count)
        return w.IntSlider(min=kind.low, max=kind.high, value=kind.low, readout=False)


#: Puts the sign of the unit behind a number's box.
_UNIT_CLASSES = {"mm": "wb-mm", "in": "wb-in", "°": "wb-degrees", "": "wb-plain"}


def unit_name(unit: str) -> str:
    """The unit that a number in ``unit`` is shown in: for mm the user's own."""
    return units.chosen().name if unit == "mm" else unit


def _read(reading: Reading | None) -> str:
    """The readings behind a value in words, as HTML, and which of them to take again."""
    if reading is None or len(reading.values) < 2:
        return ""
    mean = (
        _("mean of {values}: ± {uncertainty}")
        .format(
            values=" · ".join(sized(value) for value in reading.values),
            uncertainty=with_unit(reading.uncertainty, 3),
        )
        .replace("± ", "±\u00a0")
    )
    wrong = doubt(reading)
    again = f'<span class="wb-doubt" role="status">{escape(wrong)}</span>' if wrong else ""
    return f'<span class="wb-read">{escape(mean)}</span>{again}'
