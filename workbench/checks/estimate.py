"""What a print takes: filament, time and money, each with honest bounds.

Every layer is walls, skins and infill. Path lengths follow from areas, since a line of width w
covers w square millimetres for each millimetre of its length; the printer's speeds, its
acceleration at the turns, and what a layer takes besides, make minutes of them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from workbench import data
from workbench.checks.layers import INFILL, SUPPORT, WALLS, Layers
from workbench.checks.report import Finding, Subject
from workbench.checks.slices import Slices
from workbench.errors import RepairError
from workbench.words import _, number

#: Thickness of the solid skin below and above, in mm. Common practice, no source.
SKIN = 0.8

#: What a kWh costs, in your own money: put in your own.
KWH = 0.30

#: How far the filament that comes out, and the support that a printer lays, may be off: parts of
#: the whole. Our choice.
FLOW, SUPPORT_DOUBT = 0.05, 0.5

#: How far these path lengths may be off those that are printed. Our choice.
PATH_DOUBT = 0.1

#: Sharp turns in a ring of wall, and seconds for starting a line anew. Our choice.
_TURNS, _RESTART = 4, 0.2


@dataclass(frozen=True)
class Span:
    """A figure with its bounds: at least ``low``, about ``value``, at most ``high``."""

    value: float
    low: float
    high: float

    def times(self, factor: float) -> Span:
        """The figure in another unit."""
        return Span(self.value * factor, self.low * factor, self.high * factor)

    def in_words(self, places: int = 0) -> str:
        """The figure and its bounds.

        >>> Span(12.3, 11.0, 14.2).in_words()
        '12 (11 to 14)'
        """
        return _("{value} ({low} to {high})").format(
            value=number(self.value, places),
            low=number(self.low, places),
            high=number(self.high, places),
        )


@dataclass(frozen=True)
class Estimate:
    """What one print takes.

    mass : g of filament, support included; ``support_mass`` of it is support
    filament : m
    minutes : from switching on to the last layer
    cost : filament and electricity, in your own money
    layers : how many
    price : of a kilogram of filament
    """

    mass: Span
    support_mass: float
    filament: Span
    minutes: Span
    cost: Span
    layers: int
    price: float

    def in_words(self) -> str:
        """One sentence on it all."""
        return _(
            "One print takes about {mass} g and {metres} m of filament, {minutes} minutes, and costs {cost} with filament at {price} a kilogram."
        ).format(
            mass=self.mass.in_words(0 if self.mass.value > 10 else 1 if self.mass.value > 1 else 2),
            metres=number(self.filament.value, 1),
            minutes=self.minutes.in_words(),
            cost=number(self.cost.value),
            price=number(self.price),
        )


@dataclass(frozen=True)
class Paths:
    """Path lengths of each layer, (n,) in mm, and what slows them down.

    walls, skin, infill, support : lengths
    rings : (n,) closed outlines of the layer
    run : (n,) mean length of a straight line inside, in mm
    """

    walls: np.ndarray
    skin: np.ndarray
    infill: np.ndarray
    support: np.ndarray
    rings: np.ndarray
    run: np.ndarray

    @property
    def part(self) -> float:
        """Length of all lines of the part itself, in mm."""
        return float((self.walls + self.skin + self.infill).sum())


def estimate(
    found: Layers,
    material: data.Material,
    printer: data.Printer,
    infill: float = INFILL,
    walls: int = WALLS,
) -> Estimate:
    """What a laid part takes to print.

    Parameters
    ----------
    found : its layers
    infill : part of the inside that is filled, 0 to 1
    walls : outlines laid side by side

    Raises
    ------
    RepairError
        When the infill is not between 0 and 1, or there are no walls.
    """
    if not 0 <= infill <= 1:
        raise RepairError(
            _("infill is {infill}; give a part from 0 to 1, such as 0.2").format(infill=infill)
        )
    if walls < 1:
        raise RepairError(_("walls is {walls}; give 1 or more outlines").format(walls=walls))
    lines = paths(found, infill, walls)
    bead = found.settings.line_width * found.settings.layer  # mm² that a line is thick
    part, support = lines.part * bead, float(lines.support.sum()) * bead  # mm³
    mass = _mass(part, support, material)
    thread = math.pi * printer.filament**2 / 4
    metres = Span(mass.value, mass.low, mass.high).times(1 / (material.density * thread))
    minutes = _minutes(lines, printer)
    return Estimate(
        mass=mass,
        support_mass=support / 1000 * material.density,
        filament=metres,
        minutes=minutes,
        cost=_cost(mass, minutes, material, printer),
        layers=len(found.slices),
        price=material.price,
    )


def paths(found: Layers, infill: float = INFILL, walls: int = WALLS) -> Paths:
    """The lines of each layer, from its areas."""
    slices, width = found.slices, found.settings.line_width
    inside, solid = _inside(slices, walls * width, max(1, round(SKIN / found.settings.layer)))
    skin = np.minimum(solid, inside)
    sparse = inside - skin
    rings = np.array([slices.section(i).num_contour() for i in range(len(slices))], dtype=float)
    # The mean chord of a plane figure is pi A/P (Crofton).
    run = math.pi * slices.areas / np.maximum(slices.perimeters, 1e-9)
    return Paths(
        walls=(slices.areas - inside) / width,
        skin=skin / width,
        infill=sparse * infill / width,
        support=found.overhangs.support_areas * SUPPORT / width,
        rings=rings * walls,
        run=np.maximum(run, width),
    )


def _inside(slices: Slices, wall: float, skins: int) -> tuple[np.ndarray, np.ndarray]:
    """(n,) area within the walls of each layer, and (n,) what of it is skin.

    A place is skin if a layer so many below or above it does not cover it.
    """
    from manifold3d import CrossSection, JoinType

    count = len(slices)
    nothing = CrossSection()
    runs = slices.runs
    inner: dict[int, tuple[CrossSection, float]] = {}
    kept: dict[tuple[int, int, int], float] = {}
    inside, solid = np.zeros(count), np.zeros(count)
    for i in range(count):
        run = int(runs[i])
        if run not in inner:
            section = slices.section(i).offset(-wall, JoinType.Miter, 2.0)
            inner[run] = section, section.area()
        section, inside[i] = inner[run]
        below, above = i - skins, i + skins
        key = (
            run,
            int(runs[below]) if below >= 0 else -1,
            int(runs[above]) if above < count else -1,
        )
        if key not in kept:
            under = slices.section(below) if below >= 0 else nothing
            over = slices.section(above) if above < count else nothing
            kept[key] = (section ^ under ^ over).area() if key[1:] != (run, run) else inside[i]
        solid[i] = max(0.0, inside[i] - kept[key])
    return inside, solid


def _mass(part: float, support: float, material: data.Material) -> Span:
    low, high = material.span("density")
    return Span(
        (part + support) / 1000 * material.density,
        (part * (1 - FLOW) + support * (1 - SUPPORT_DOUBT)) / 1000 * low,
        (part * (1 + FLOW) + support * (1 + SUPPORT_DOUBT)) / 1000 * high,
    )


def _minutes(lines: Paths, printer: data.Printer) -> Span:
    speeds = ("wall_speed", "infill_speed", "first_layer_speed", "travel_speed")
    waits = ("layer_change", "least_layer_time", "start_up")
    usual = {key: getattr(printer, key) for key in (*speeds, *waits, "acceleration")}
    spans = {key: printer.span(key) for key in usual}
    quick = {key: span[key not in waits] for key, span in spans.items()}
    slow = {key: span[key in waits] for key, span in spans.items()}
    return Span(
        _duration(lines, usual),
        _duration(lines, quick) * (1 - PATH_DOUBT),
        _duration(lines, slow) * (1 + PATH_DOUBT),
    )


def _duration(lines: Paths, pace: dict[str, float]) -> float:
    """Minutes for all lines at one printer's pace."""
    wall_speed = np.full(len(lines.walls), pace["wall_speed"])
    fill_speed = np.full(len(lines.walls), pace["infill_speed"])
    wall_speed[0] = fill_speed[0] = pace["first_layer_speed"]
    filling = lines.skin + lines.infill + lines.support
    # Stopping and starting at a turn costs v/a against going on.
    walls = lines.walls / wall_speed + _TURNS * lines.rings * wall_speed / pace["acceleration"]
    # A line too short to reach the speed goes with the speed that it reaches.
    reached = np.minimum(fill_speed, np.sqrt(pace["acceleration"] * lines.run))
    fill = filling / reached + filling / lines.run * reached / pace["acceleration"]
    restarts = lines.rings * (_RESTART + lines.run / pace["travel_speed"])
    each = np.maximum(walls + fill + restarts, pace["least_layer_time"]) + pace["layer_change"]
    return float(each.sum()) / 60 + pace["start_up"]


def _cost(
    mass: Span, minutes: Span, material: data.Material, printer: data.Printer, kwh: float = KWH
) -> Span:
    def cost(grams: float, price: float, duration: float, power: float) -> float:
        return grams / 1000 * price + duration / 60 * power / 1000 * kwh

    prices, powers = material.span("price"), printer.span("power")
    return Span(
        cost(mass.value, material.price, minutes.value, printer.power),
        cost(mass.low, prices[0], minutes.low, powers[0]),
        cost(mass.high, prices[1], minutes.high, powers[1]),
    )


# -- worth it? --------------------------------------------------------------------------------


@dataclass(frozen=True)
class Worth:
    """Printing against buying.

    spent : for all prints, in your own money; saved : the price less that
    an_hour : what is saved for each of your own hours; None where it takes none
    """

    price: float
    hours: float
    prints: int
    spent: Span

    @property
    def saved(self) -> float:
        """The replacement's price less what the prints cost."""
        return self.price - self.spent.value

    @property
    def an_hour(self) -> float | None:
        """What is saved for each hour of your own."""
        return self.saved / self.hours if self.hours else None

    def in_words(self) -> str:
        """The answer in a sentence or two."""
        given = {
            "prints": self.prints,
            "spent": number(self.spent.value),
            "price": number(self.price),
            "saved": number(abs(self.saved)),
            "hours": number(self.hours, 1),
            "an_hour": number(self.an_hour or 0),
        }
        if self.saved <= 0:
            text = _(
                "Not for the money: {prints} prints cost {spent}, and a replacement {price}. It may still save the wait, or a whole appliance."
            )
        elif self.an_hour is None:
            text = _("Yes: {prints} prints cost {spent} against {price}; {saved} are saved.")
        else:
            text = _(
                "{prints} prints cost {spent} against {price}: {saved} are saved for {hours} hours of yours, {an_hour} an hour. Worth it if the hours are a pleasure, or worth less than that."
            )
        return text.format(**given)


def worth_it(price: float, hours_own: float, found: Estimate, prints: int = 3) -> Worth:
    """Weigh printing against a replacement.

    Parameters
    ----------
    price : of the replacement, delivered, in your own money
    hours_own : your own hours for measuring, trying and finishing
    found : the estimate for one print
    prints : how many it takes until one fits

    Raises
    ------
    RepairError
        When the price or the hours are below 0 or not finite, or prints below 1.
    """
    for name, value in ((_("price"), price), (_("hours"), hours_own)):
        if not (isinstance(value, (int, float)) and math.isfinite(value) and value >= 0):
            raise RepairError(
                _("{name} is {value!r}; give a number of 0 or more").format(name=name, value=value)
            )
    if prints < 1:
        raise RepairError(_("prints is {prints}; give 1 or more").format(prints=prints))
    return Worth(float(price), float(hours_own), int(prints), found.cost.times(prints))


def estimates(subject: Subject) -> Iterator[Finding]:
    """The rule: a note with what one print takes, laid as it is chosen to be laid."""
    printer = subject.printer
    one = estimate(subject.layers, subject.material, printer)
    yield Finding(
        "note",
        "estimate",
        subject.repair.name,
        one.in_words(),
        one.mass.value,
        None,
        "g",
        source=_(
            "{walls} walls, {infill} % infill; {density}; speeds of {printer}: {speeds}"
        ).format(
            walls=WALLS,
            infill=number(100 * INFILL, 0),
            density=subject.material.cite("density"),
            printer=printer.name,
            speeds=printer.source("wall_speed"),
        ),
    )
