"""Sketches: corners and readings become the outline that fits them best."""
