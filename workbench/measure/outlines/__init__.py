"""Outlines of straight sides and arcs, and the pieces they are split into."""
