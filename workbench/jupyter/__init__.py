"""The Jupyter face of the tool: widgets only, no geometry."""
