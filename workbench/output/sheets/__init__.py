"""Sheets of paper to write on."""
