"""The steps of a repair become one solid."""
