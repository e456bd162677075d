"""What a print takes: filament, time and money, each with honest bounds.

The lines come from :mod:`workbench.checks.layers.toolpaths`. The bounds come from the ranges that the tables
of materials and printers give, and from how far such lines may be off those that are printed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from workbench import data
from workbench.checks.layers.layer_analysis import INFILL, WALLS, Layers
from workbench.checks.layers.toolpaths import Paths, duration, paths
from workbench.errors import RepairError
from workbench.words import _, number

#: What a kWh costs, in your own money: put in your own. Our choice.
KWH = 0.30

#: How far the filament that comes out, and the support that a printer lays, may be off: parts of
#: the whole. Our choice.
FLOW, SUPPORT_DOUBT = 0.05, 0.5

#: How far these path lengths may be off those that are printed. Our choice.
PATH_DOUBT = 0.1


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
            "One print takes about {minutes} minutes and {mass} g, or {metres} m, of filament; it costs {cost} with filament at {price} a kilogram."
        ).format(
            mass=self.mass.in_words(0 if self.mass.value > 10 else 1 if self.mass.value > 1 else 2),
            metres=number(self.filament.value, 1),
            minutes=self.minutes.in_words(),
            cost=number(self.cost.value),
            price=number(self.price),
        )


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
            _("infill is {infill}; give a share from 0 to 1, such as 0.2").format(infill=infill)
        )
    if walls < 1:
        raise RepairError(_("walls is {walls}; give 1 or more lines").format(walls=walls))
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


def _mass(part: float, support: float, material: data.Material) -> Span:
    low, high = material.span("density")
    return Span(
        (part + support) / 1000 * material.density,
        (part * (1 - FLOW) + support * (1 - SUPPORT_DOUBT)) / 1000 * low,
        (part * (1 + FLOW) + support * (1 + SUPPORT_DOUBT)) / 1000 * high,
    )


#: What of a printer's figures makes it quick, and what makes it wait.
_SPEEDS = ("wall_speed", "infill_speed", "first_layer_speed", "travel_speed", "acceleration")
_WAITS = ("layer_change", "least_layer_time", "start_up")


def pace(printer: data.Printer) -> dict[str, float]:
    """How quickly a printer usually prints, as :func:`duration` asks for it."""
    return {key: getattr(printer, key) for key in (*_SPEEDS, *_WAITS)}


def _minutes(lines: Paths, printer: data.Printer) -> Span:
    usual = pace(printer)
    spans = {key: printer.span(key) for key in usual}
    quick = {key: span[key not in _WAITS] for key, span in spans.items()}
    slow = {key: span[key in _WAITS] for key, span in spans.items()}
    return Span(
        duration(lines, usual),
        duration(lines, quick) * (1 - PATH_DOUBT),
        duration(lines, slow) * (1 + PATH_DOUBT),
    )


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
