"""The bench's one colour scheme, ink on paper, and its style sheet."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

COLOUR = {
    "ink": "#22313a",
    "soft": "#55626a",
    "paper": "#fbfaf6",
    "sheet": "#ffffff",
    "rule": "#c9c3b4",
    "grid": "#e4dfd2",
    "faint": "#ece7db",
    "edge": "#8d8a80",
    "idle": "#77736a",
    "chosen": "#dfe9e7",
    "fill": "#e6eeec",
    "accent": "#2f6f73",
    "warning": "#8a5a00",
    "stop": "#9b2c2c",
}


@lru_cache(maxsize=1)
def style_sheet() -> str:
    """The bench's style sheet, valid only inside the bench."""
    text = (Path(__file__).parent / "style.css").read_text(encoding="utf-8")
    names = "".join(f"--wb-{name}: {value}; " for name, value in COLOUR.items())
    return text.replace("/* colours */", names)
