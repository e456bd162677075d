"""May it be printed at all: uses and shapes that can hurt someone."""
