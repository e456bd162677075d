"""Imports run one way through the house, and the heavy libraries load only when they are used."""

from __future__ import annotations

import ast
import importlib
import subprocess
import sys
from pathlib import Path

import pytest

import workbench

HOUSE = Path(workbench.__file__).parent

#: Each room may use itself and the rooms before it.
ROOMS = (
    "errors",
    "folders",
    "units",
    "words",
    "gate",
    "overtaken",
    "process",
    "fork",
    "data",
    "measure",
    "solids",
    "checks",
    "output",
    "jupyter",
    "cli",
    "locale",
)

#: Libraries that measure may load; the rooms after it load these and numpy at once, all others
#: inside functions.
LIGHT = {"numpy", "scipy", "shapely"}

#: Loaded inside functions only, or where types alone are wanted: each takes its time.
HEAVY = {"build123d", "OCP", "manifold3d", "matplotlib", "trimesh", "jupyterlab"}

MODULES = sorted(HOUSE.rglob("*.py"))


def name_of(path):
    parts = path.relative_to(HOUSE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def room_of(module):
    parts = module.split(".")
    return parts[1] if len(parts) > 1 else ""


def for_types_only(node):
    return isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test)


def at_once(body):
    """The statements that run when a module is imported, types-only blocks left out."""
    for node in body:
        if for_types_only(node) or isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)):
            continue
        yield node
        for field in ("body", "orelse", "finalbody"):
            yield from at_once(getattr(node, field, []))


def imported(nodes):
    for node in nodes:
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports are written in full"
            yield node.module
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_imports_run_one_way(path):
    """Everywhere in a module, its functions included."""
    room = room_of(name_of(path))
    if not room:
        return
    allowed = ROOMS[: ROOMS.index(room) + 1]
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for module in imported(ast.walk(tree)):
        if module.startswith("workbench."):
            name = module.split(".")[1]
            target = room_of(workbench._HOMES.get(name, module))
            assert target not in ROOMS or target in allowed, f"{module} comes after {room}"


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_heavy_libraries_load_only_when_they_are_used(path):
    room = room_of(name_of(path))
    tree = ast.parse(path.read_text(encoding="utf-8"))
    loaded = {module.split(".")[0] for module in imported(at_once(tree.body))}
    if room == "jupyter":
        assert not loaded & HEAVY
        return
    assert not loaded & HEAVY
    assert not loaded & {"ipywidgets", "IPython", "anywidget"}
    outside = loaded - set(sys.stdlib_module_names) - {"workbench"}
    if room in (
        "",
        "errors",
        "folders",
        "units",
        "words",
        "gate",
        "process",
        "fork",
        "cli",
        "locale",
    ):
        assert not outside
    elif room == "measure":
        assert outside <= LIGHT


def loaded_by(code):
    """Top-level names of the modules that a fresh interpreter has after running ``code``."""
    report = "import sys; print(*sorted({name.split('.')[0] for name in sys.modules}))"
    done = subprocess.run(
        [sys.executable, "-c", f"{code}\n{report}"], check=True, capture_output=True, text=True
    )
    return set(done.stdout.split())


def test_importing_workbench_loads_no_library_at_all():
    assert not loaded_by("import workbench") & (HEAVY | LIGHT | {"ipywidgets"})


def test_a_repair_needs_no_kernel_until_it_is_built():
    used = loaded_by(
        "from workbench import Repair, trapezoid, Reading\n"
        "repair = Repair('part').add('fin', bottom=Reading(46)).add('tab', seat='bottom of fin')\n"
        "Repair.from_json(repair.to_json())"
    )
    assert not used & HEAVY


def test_building_needs_no_widgets():
    used = loaded_by("from workbench import Repair, build\nbuild(Repair('part').add('box'))")
    assert "build123d" in used
    assert not used & {"ipywidgets", "anywidget", "jupyterlab"}


def test_a_bench_asks_for_its_notebook_without_the_server_s_code():
    used = loaded_by("from workbench.jupyter.keeping import keeping\nkeeping()")
    assert not used & (HEAVY | {"jupyter_server"})


def test_a_template_is_written_and_looked_at_without_a_second_of_imports(tmp_path):
    """The library of notebooks' schema compiles 39 grammars when it is imported."""
    used = loaded_by(
        "from workbench import Repair\n"
        "from workbench.output.notebook import opening\n"
        "from workbench.output.notebook.template_notebook import save_template\n"
        f"assert opening.may_run(save_template(Repair('part').add('box'), {str(tmp_path)!r}))"
    )
    assert "jsonschema" not in used


def test_the_kernel_is_loaded_before_a_build_is_tried_in_a_copy():
    """A copy would load it as well, and be taken for slow."""
    loaded_by(
        "import sys\n"
        "from workbench import Repair, build, fork\n"
        "from workbench.solids.geometry import bounded\n"
        "def in_copy(*given):\n"
        "    assert 'build123d' in sys.modules\n"
        "    return bytes(8)\n"
        "bounded.waits, fork.in_copy = lambda: True, in_copy\n"
        "build(Repair('part').add('box'))\n"
        "assert bounded._quick and not bounded._slow"
    )


@pytest.mark.parametrize("name", workbench.__all__)
def test_every_public_name_is_there(name):
    assert getattr(workbench, name) is not None


def test_public_names_are_listed_and_others_refused():
    assert set(workbench.__all__) <= set(dir(workbench))
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        workbench.nothing  # noqa: B018


def test_every_module_says_what_it_is():
    for path in MODULES:
        module = importlib.import_module(name_of(path))
        assert module.__doc__, f"{path} has no docstring"
