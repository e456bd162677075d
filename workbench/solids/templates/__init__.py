"""The shapes that home repairs ask for again and again, one small function each."""
