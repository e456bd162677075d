"""Letters: raised, cut, mirrored for a stamp; what the font lacks or no nozzle prints is refused."""

from __future__ import annotations

import subprocess
import sys
from textwrap import dedent

import numpy as np
import pytest

from workbench import Repair, RepairError, Row, Seat, build, letters
from workbench.output.notebook.template_notebook import open_template, read_template, save_template
from workbench.solids.shapes.lettering import pieces, thinnest
from workbench.solids.templates.letters import STROKE


def tag() -> Repair:
    return Repair("tag").add("box", name="plate", width=70, depth=24, height=3)


def put(**more):
    return {"name": "word", "text": "Öle & Co", "height": 8, "depth": 1} | more


def test_raised_and_cut_letters_add_and_take_what_they_hold() -> None:
    alone = letters("Öle & Co", 8, 1).volume
    raised = tag().add("letters", Seat("top of plate"), **put())
    assert build(raised).volume - 5040 == pytest.approx(alone, rel=1e-6)
    cut = tag().cut("letters", Seat("top of plate", sink=1), **put())
    assert 5040 - build(cut).volume == pytest.approx(alone, rel=1e-6)


def test_a_stamp_is_the_same_word_mirrored() -> None:
    plain, stamp = (letters("F", 10, 1, mirrored) for mirrored in (False, True))
    assert stamp.volume == pytest.approx(plain.volume, rel=1e-9)
    # The stem of an F is on its left, of its stamp on its right.
    assert plain.center().X < -0.3 and stamp.center().X == pytest.approx(-plain.center().X)


def test_a_word_is_held_by_an_edge_and_repeated_as_one() -> None:
    held = tag().add("letters", Seat("top of plate", edge="left", inset=2), **put(text="AB"))
    corners = [v.X for v in build(held).vertices() if v.Z > 3.5]
    assert min(corners) == pytest.approx(-33, abs=1e-6)
    twice = tag().add("letters", Seat("top of plate"), **put(text="AB"), repeat=Row(2, 30))
    assert build(twice).volume - 5040 == pytest.approx(2 * letters("AB", 8, 1).volume)


def test_an_accent_typed_apart_is_the_letter_with_it() -> None:
    assert letters("e\u0301", 8, 1).volume == letters("é", 8, 1).volume


def test_letters_that_stand_on_nothing_are_told_with_what_would_hold_them() -> None:
    with pytest.raises(RepairError, match=r"^word is 2 loose pieces; put it on a part"):
        build(Repair("x").add("letters", **put(text="AB")))


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"text": "日本"}, r"'日' \(U\+65E5\) cannot be drawn"),
        ({"text": " "}, "give a text of one line"),
        ({"text": "a\nb"}, "give a text of one line"),
        ({"text": 3}, "give a text of one line"),
        ({"text": "x" * 31}, "31 characters; give at most 30"),
        ({"height": 2.9}, "give 3 to 200 mm"),
    ],
)
def test_what_cannot_be_lettered_is_told(given, told) -> None:
    with pytest.raises(RepairError, match=told):
        letters(**given)


@pytest.mark.parametrize("text", ["E", "é", "Wg"])
def test_the_least_height_is_where_the_thinnest_stroke_still_prints(text) -> None:
    letter, share = thinnest(text)
    least = STROKE / share
    assert letters(text, least + 0.05, 1).volume > 0
    with pytest.raises(RepairError, match=f"strokes of '{letter}'"):
        letters(text, least - 0.05, 1)


def test_the_stroke_is_the_one_that_the_outline_shows() -> None:
    """An E's bars and an I's stem are boxes: their width is read off their corners."""
    (piece,) = pieces("I", 100)
    x = np.array(piece.outline)[:, 0]
    assert 100 * thinnest("I")[1] == pytest.approx(np.ptp(x), abs=0.2)
    (piece,) = pieces("E", 100)
    levels = np.unique(np.round(np.array(piece.outline)[:, 1], 6))
    assert 100 * thinnest("E")[1] == pytest.approx(np.diff(levels)[::2].min(), abs=0.2)


def test_a_text_comes_back_from_a_notebook_whatever_is_in_it(tmp_path) -> None:
    text = 'it\'s "{5}"\\'
    given = put(text=text, height=6)
    path = save_template(tag().add("letters", Seat("top of plate"), **given), tmp_path)
    assert read_template(path).step("word").values["text"] == text
    assert "word_text" in open_template(path).names


@pytest.mark.parametrize("elsewhere", [False, True])
def test_what_reads_the_font_comes_alone_and_is_matplotlib_s_own(elsewhere: bool, tmp_path):
    """Letters are as wide as on paper, and paper is printed afterwards."""
    code = f"""
        import sys
        from pathlib import Path
        from workbench.output.drawing import paper
        from workbench.solids.shapes import lettering
        if {elsewhere}:  # as in a release that keeps both in other places
            lettering.alone, lettering.folder_of = lambda *_names: None, lambda _name: Path("none")
        wide = [paper.text_width("Ø 8 ± 0.1", 9, bold) for bold in (False, True)]
        lettering.pieces("Bi", 10.0)
        assert ("matplotlib" in sys.modules) == {elsewhere}
        from matplotlib.font_manager import FontProperties, findfont
        from matplotlib.ft2font import FT2Font, LoadFlags
        assert lettering.reader().FT2Font is FT2Font
        for bold, ours in zip(("normal", "bold"), wide, strict=True):
            font = FT2Font(findfont(FontProperties(family=paper.FAMILY, weight=bold)))
            font.set_size(100, 72)
            glyphs = [font.load_char(ord(x), flags=LoadFlags.NO_HINTING) for x in "Ø 8 ± 0.1"]
            theirs = sum(x.linearHoriAdvance for x in glyphs) / 65536 / 100 * 9 * paper.POINT
            assert abs(ours - theirs) < 1e-9
        page = paper.Page()
        page.put([paper.Words("Ø 8", 20.0, 20.0, 9.0)])
        assert paper.written(page.figure, "pdf").startswith(b"%PDF")
    """
    subprocess.run([sys.executable, "-c", dedent(code)], check=True, cwd=tmp_path)
