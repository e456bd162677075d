"""The pages of the bench, each for one question."""
