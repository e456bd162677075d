"""Outlines that were drawn, solved or traced become steps of a repair."""
