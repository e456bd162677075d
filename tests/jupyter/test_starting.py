"""The form that starts a repair of one's own, driven without a browser."""

from __future__ import annotations

from pathlib import Path

import pytest

from workbench.jupyter.lesson import Gallery, gallery
from workbench.jupyter.pages.links import Links, link
from workbench.output.notebook.template_notebook import read_template

pytestmark = pytest.mark.usefixtures("in_a_folder_of_its_own")


@pytest.fixture
def pegs(tmp_path: Path) -> Gallery:
    found = gallery("shelf peg", tmp_path)
    assert isinstance(found, Gallery)
    return found


def test_a_name_under_the_gallery_opens_the_form_with_the_template_s_sizes(pegs: Gallery):
    assert pegs.starting.widget.layout.display == "none"
    pegs.choice.value = next(iter(value for _title, value in pegs.choice.options))
    assert pegs.starting.widget.layout.display == ""
    assert pegs.starting.fields["peg_length"].box.value == "8"
    assert pegs.starting.fields["peg_diameter_mating"].box.description == "what peg diameter fits"


def test_what_was_read_is_in_the_notebook_that_is_started_and_linked(
    pegs: Gallery, in_a_folder_of_its_own: Path
):
    form = pegs.starting
    pegs.choice.value = next(iter(value for _title, value in pegs.choice.options))
    form.fields["peg_length"].box.value = "7.9 8.0 8.1"
    form.fields["peg_chamfer"].box.value = "much"
    form.name.value = "larder peg"
    form.button.click()
    started = in_a_folder_of_its_own / "larder-peg.ipynb"
    assert "Fix this first" in form.note.value and "much" in form.note.value
    assert not started.exists()
    form.fields["peg_chamfer"].box.value = "0.6"
    form.button.click()
    repair = read_template(started)
    assert repair.step("peg").values["length"] == pytest.approx(8.0)
    assert repair.readings["peg.length"].values == pytest.approx((7.9, 8.0, 8.1))
    assert repair.step("peg").values["chamfer"] == 0.6
    (shown,) = form.links.outputs
    assert 'href="larder-peg.ipynb#bench"' in shown["data"]["text/html"]


def test_a_part_like_nothing_on_the_shelf_begins_with_a_plain_shape(
    pegs: Gallery, in_a_folder_of_its_own: Path
):
    pegs.choice.value = next(iter(value for _title, value in pegs.choice.options))
    pegs.shape.value = "spacer"
    assert pegs.choice.value is None
    form = pegs.starting
    (outer,) = (name for name in form.fields if name.startswith("outside"))
    form.fields[outer].box.value = "17.9 18.1"
    form.name.value = "tap ring"
    form.button.click()
    repair = read_template(in_a_folder_of_its_own / "tap-ring.ipynb")
    assert repair.name == "tap ring"
    assert repair.steps[0].values[outer] == pytest.approx(18.0)
    pegs.choice.value = next(iter(value for _title, value in pegs.choice.options))
    assert pegs.shape.value == "" and "peg_length" in form.fields


def test_a_part_without_a_name_is_refused_in_words_and_nothing_is_linked(pegs: Gallery):
    form = pegs.starting
    pegs.choice.value = next(iter(value for _title, value in pegs.choice.options))
    form.name.value = "  "
    form.button.click()
    assert 'role="alert"' in form.note.value
    assert form.links.outputs == ()


def test_what_jupyterlab_can_show_is_opened_and_the_rest_is_downloaded(tmp_path: Path):
    assert link(tmp_path / "my part.ipynb", "Open") == '<a href="my%20part.ipynb">Open</a>'
    assert 'download="part.3mf"' in link(tmp_path / "part.3mf", "the mesh")
    assert "<b>" not in link(tmp_path / "part.pdf", "<b>")
    links = Links()
    links.show(["one"])
    links.show([])
    assert links.outputs == ()
