"""A repair as plain data: its steps, places, loads, fits and history."""
