"""Files to print and to keep: 3MF, STL, STEP, beds, records."""
