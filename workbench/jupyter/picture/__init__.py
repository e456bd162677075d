"""The live picture of the part, drawn in the browser."""
