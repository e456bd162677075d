"""Will it hold: steps as beams, and what a hand does to them."""
