"""What leaves the tool: files to print, drawings to keep, sheets to hand out."""
