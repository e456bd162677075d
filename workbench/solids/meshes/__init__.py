"""Solids as triangles, and triangles from elsewhere."""
