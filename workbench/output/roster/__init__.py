"""A whole class from one table."""
