"""Shapes: primitives, templates, repairs and how they become one solid."""
