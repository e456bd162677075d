"""The lessons' pictures: to scale, with their words, and told to those who do not see them."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import numpy as np
import pytest

from workbench import Repair, Sketch, solve
from workbench.jupyter.lesson import gallery
from workbench.jupyter.picture.lesson_pictures import page, part, photo, sketched
from workbench.output.notebook.shelf import search
from workbench.output.sheets.photo_sheet import photo_sheet


def rectangle(diagonal: float) -> Sketch:
    sketch = Sketch({"A": (0, 0), "B": (40, 0), "C": (40, 30), "D": (0, 30)})
    for where, value in (("A B", 40), ("B C", 30), ("C D", 40), ("D A", 30)):
        sketch.read("side", where, value)
    return (
        sketch.read("diagonal", "A C", diagonal)
        .read("diagonal", "B D", 50)
        .read("height", "C over A B", 30)
        .read("height", "D over A B", 30)
    )


def drawing(solution):
    (svg,) = re.findall(r"<svg.*?</svg>", sketched(solution)._repr_html_(), re.DOTALL)
    return ElementTree.fromstring(svg)


def test_a_sketch_is_drawn_to_scale_with_its_readings():
    tree = drawing(solve(rectangle(50)))
    (polygon,) = tree.iter("polygon")
    corners = np.array([point.split(",") for point in polygon.get("points").split()], dtype=float)
    wide, tall = np.ptp(corners, axis=0)
    assert wide / tall == pytest.approx(4 / 3, rel=0.01)
    assert sorted(text.text for text in tree.iter("text")) == sorted(
        ["A", "B", "C", "D", "40", "30", "40", "30", "50", "50"]
    )
    assert "the readings agree" in tree.get("aria-label")


def test_the_suspect_is_told_by_a_mark_and_in_words_not_by_colour_alone():
    tree = drawing(solve(rectangle(55)))
    assert tree.get("aria-label") == "The sketch to scale; suspect: diagonal A C"
    assert [text.text for text in tree.iter("text")].count("55?") == 1
    broken = [line for line in tree.iter("line") if line.get("stroke-dasharray") != "none"]
    assert len(broken) == 1


def test_readings_that_cannot_be_told_apart_are_never_said_to_agree():
    solution = solve(rectangle(51))  # its upright sides would be 0.02 mm longer, leaning
    assert solution.suspects == () and "diagonal A C" in solution.undecided
    tree = drawing(solution)
    said = tree.get("aria-label")
    assert said == "The sketch to scale; suspect: " + ", ".join(solution.undecided)
    marked = [text.text for text in tree.iter("text") if text.text.endswith("?")]
    assert sorted(marked) == ["40?", "40?", "50?", "51?"]


def test_every_picture_says_what_it_shows():
    shown = [
        part(Repair("hook").add("hook")),
        photo(np.full((40, 30, 3), 200, dtype=np.uint8), "a grey card"),
        page(photo_sheet("A4"), "the photo sheet"),
    ]
    for picture, words in zip(
        shown, ("hook, as it stands on the bench", "a grey card", "the photo sheet"), strict=True
    ):
        assert repr(picture) == words
        assert f'alt="{words}"' in picture._repr_html_()


def test_the_gallery_shows_what_matches_and_says_when_nothing_does(tmp_path):
    assert repr(gallery("peg", tmp_path)).startswith("shelf-peg: ")
    assert len(repr(gallery("", tmp_path)).splitlines()) == len(search("", tmp_path)) >= 5
    assert "zeppelin" in gallery("zeppelin", tmp_path)._repr_html_()
