"""Inches against what others agreed on."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from workbench.measure.reading import MM_PER_INCH, parse_length
from workbench.units import INCH

#: Fractions, decimals and mm as machinists' tables of decimal equivalents have them; from memory.
EQUIVALENTS = {
    "1/64": ("0.015625", "0.396875"),
    "1/32": ("0.03125", "0.79375"),
    "1/16": ("0.0625", "1.5875"),
    "1/8": ("0.125", "3.175"),
    "11/64": ("0.171875", "4.365625"),
    "3/8": ("0.375", "9.525"),
    "27/64": ("0.421875", "10.715625"),
    "63/64": ("0.984375", "25.003125"),
}


def test_the_international_inch():
    # 1 in = 25.4 mm exactly: international yard and pound agreement, 1959; ISO 31-1. From memory.
    assert Fraction(INCH.mm) == Fraction(25.4) == Fraction(MM_PER_INCH)
    assert INCH.of(25.4) == 1.0


@pytest.mark.parametrize("fraction", EQUIVALENTS)
def test_fractions_are_those_of_the_tables(fraction):
    decimal, mm = EQUIVALENTS[fraction]
    assert Fraction(fraction) == Fraction(Decimal(decimal))
    assert parse_length(fraction, "in") == pytest.approx(float(mm), abs=1e-12)
    assert parse_length(decimal, "in") == pytest.approx(float(mm), abs=1e-12)
    assert INCH.spelled(float(mm), 2) == fraction
