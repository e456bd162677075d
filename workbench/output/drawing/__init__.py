"""The dimensioned drawing and the pictures."""
