"""Notebooks: templates, the shelf, lessons, and what a repair starts from."""
