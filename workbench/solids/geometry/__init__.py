"""The geometry kernel, and what is read off its solids."""
