"""Photos and scans: from pixels to an outline in mm, and how sure it is."""
