"""Numbers before there is a shape: readings, outlines, and how to split them."""
