"""Shapes: primitives, templates, repairs and how they become one solid."""

from workbench.solids import quick_import

quick_import.install()
