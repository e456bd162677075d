"""The layers panel: the slice, what hangs, the cut in the picture, and that it waits its turn."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pytest

from workbench.checks.layers.cutaway import below
from workbench.errors import RepairError
from workbench.jupyter import bench as benches
from workbench.jupyter.bench import Bench
from workbench.jupyter.picture.layer_view import LayerView, cividis
from workbench.solids.meshes import mesh as meshes
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import At

#: A post of 10 by 10 by 20 mm with an arm of 8 by 4 by 4 mm, 8 mm above the bed.
POST, ARM = 10 * 10 * 20.0, 8 * 4 * 4.0


@pytest.fixture
def repair() -> Repair:
    return (
        Repair("bracket", down=(0, 0, -1))
        .add("box", name="post", width=10, depth=10, height=20)
        .add("box", name="arm", seat=At(x=9, z=8), width=8, depth=4, height=4)
    )


@pytest.fixture
def on_bench(repair: Repair, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(benches, "PAUSE", 0.0)
    shown = Bench(repair)
    assert shown.settle()
    yield shown
    shown.close()
    assert shown.settle()


def opened(shown: Bench) -> LayerView:
    panel = shown.panel(LayerView)
    assert panel is not None
    shown.pages.buttons.value = dict(shown.pages.buttons.options)[panel.title]
    assert panel.settle()
    return panel


def volume(preview: Any) -> float:
    return meshes.volume(*preview.part.mesh)


def test_nothing_is_sliced_until_the_panel_is_opened(on_bench: Bench):
    panel = next(p for p in on_bench.panels if isinstance(p, LayerView))
    assert panel.analysed is None
    opened(on_bench)
    assert panel.analysed is not None and panel.slider.max == 100


def test_each_layer_is_told_with_its_area_and_what_hangs(on_bench: Bench):
    panel = opened(on_bench)
    panel.slider.value = 1
    assert "100 mm²" in panel.words.value and "rests on the bed" in panel.words.value
    panel.slider.value = 41  # from 8 mm up: the arm's first layer
    assert "132 mm²" in panel.words.value and "32 mm² of it overhang" in panel.words.value
    assert "wb-hangs" in panel.figure.value
    panel.slider.value = 45
    assert "Nothing overhangs" in panel.words.value and "wb-hangs" not in panel.figure.value


def test_the_slice_is_drawn_to_scale(on_bench: Bench):
    panel = opened(on_bench)
    panel.slider.value = 1

    def drawn(kind: str) -> np.ndarray:
        found = re.search(rf'd="([^"]+)" class="{kind}"', panel.figure.value)
        return np.array([float(n) for n in re.findall(r"[\d.]+", found[1])])

    post = drawn("wb-slice").reshape(-1, 2)
    wide, tall = np.ptp(post, axis=0)
    left, _top, right = drawn("wb-room")[[0, 1, 2]]
    assert wide == pytest.approx(tall, abs=0.2)
    assert wide / (right - left) == pytest.approx(10 / 18, abs=0.01)


def test_a_place_that_hangs_can_be_gone_to(on_bench: Bench):
    panel = opened(on_bench)
    label, layer = panel.places.options[1]
    assert layer == 41 and "ledge" in label and "32 mm²" in label
    panel.places.value = layer
    assert panel.slider.value == 41


def test_an_island_is_ringed_and_pointed_out(on_bench: Bench):
    on_bench.edit(
        lambda r: r.add("box", name="hook", seat=At(x=12, z=5), width=2, depth=4, height=5)
    )
    assert on_bench.settle()
    panel = opened(on_bench)
    assert "starts in mid-air" in panel.places.options[1][0]
    panel.slider.value = 26  # from 5 mm up
    assert "One piece starts in mid-air" in panel.words.value
    assert "wb-island" in panel.figure.value and "ringed" in panel.figure.value
    panel.map.value = True
    assert panel.settle()
    (mark,) = on_bench.preview.scene["marks"]
    assert mark == pytest.approx([12, 0, 5], abs=1.01)


def test_the_cut_takes_away_what_lies_above_and_gives_it_back(on_bench: Bench):
    panel = opened(on_bench)
    panel.slider.value = 50
    panel.cut.value = True
    assert panel.settle()
    assert volume(on_bench.preview) == pytest.approx(POST / 2 + 8 * 4 * 2, rel=1e-4)
    panel.cut.value = False
    assert volume(on_bench.preview) == pytest.approx(POST + ARM, rel=1e-4)


def test_the_map_colours_each_face_by_its_lean_and_goes_when_the_panel_is_left(on_bench: Bench):
    panel = opened(on_bench)
    panel.map.value = True
    assert panel.settle()
    _header, (paint,) = on_bench.preview.scene["paint"]
    colours = {tuple(each) for each in np.frombuffer(paint, np.uint8).reshape(-1, 3).tolist()}
    ends = np.round(255 * cividis(np.array([0.0, 1.0]))).astype(int)
    assert colours == {
        tuple(each) for each in ends.tolist()
    }  # upright or up, and the arm's level underside
    assert "45°" in panel.legend.value
    on_bench.pages.buttons.value = 0
    assert on_bench.preview.scene["paint"] is None
    assert volume(on_bench.preview) == pytest.approx(POST + ARM, rel=1e-4)


def test_an_edit_is_followed_by_the_cut_of_the_new_part(on_bench: Bench):
    panel = opened(on_bench)
    panel.cut.value = True
    panel.slider.value = 25
    on_bench.fields("post")["width"].slider.value = 12
    assert on_bench.settle() and panel.settle()
    assert volume(on_bench.preview) == pytest.approx(12 * 10 * 5, rel=1e-4)


@pytest.mark.parametrize("down", [(0, 0, -1), (1, 0, 0), (0, 0.6, -0.8)])
def test_a_cut_part_and_the_rest_are_the_whole(down: tuple[float, float, float]):
    from workbench.solids.building.build import build

    whole = meshes.mesh(build(Repair("box").add("box", width=10, depth=6, height=4)))
    up = tuple(-value for value in down)
    height = float(np.ptp(whole[0] @ np.array(down)))
    low, high = below(*whole, down, 0.3 * height), below(*whole, up, 0.7 * height)
    assert meshes.volume(*low) + meshes.volume(*high) == pytest.approx(240)
    assert meshes.closes(low[1]) and meshes.closes(high[1])
    assert meshes.volume(*below(*whole, down, height)) == pytest.approx(240)
    with pytest.raises(RepairError, match="cut it higher"):
        below(*whole, down, 0.0)
