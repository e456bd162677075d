"""Boxes and sliders: numbers, seats and readings."""
