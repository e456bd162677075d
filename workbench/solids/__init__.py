"""Shapes: primitives, templates, repairs and how they become one solid."""

from workbench.solids.geometry import quick_import

quick_import.install()
