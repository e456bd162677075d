"""Two parts of the shelf that work together, each as a repair of its own, where it stands."""

from __future__ import annotations

from workbench import At, Repair
from workbench.output.notebook.bundled import folders
from workbench.output.notebook.template_notebook import read_template

LID = ("lid", "lid rails", "ridge")

#: So far the lid lies off the groove's floor and its end, in mm.
CLEAR = 0.15


def halves(**lid_sizes: float) -> tuple[Repair, Repair, At]:
    """Box and lid with the sizes of the shelf, and where the box is when the lid is shut."""
    whole = read_template(folders().templates / "sliding-box.ipynb")
    box, lid = Repair("box"), Repair("lid")
    for step in whole.steps:
        one = lid if step.name in LID else box
        place = At() if step.name == "lid" else step.place
        values = {**step.values, **(lid_sizes if step.name == "lid rails" else {})}
        (one.cut if step.cuts else one.add)(
            step.template, place, step.name, mirror=step.mirror, **values
        )
    n = {step.name: step.number for step in whole.steps}
    low = n["box"]("height") - n["rails"]("height")
    shut = n["box"]("width") / 2 - n["rails"]("depth") + n["lid"]("width") / 2
    return box, lid, At(x=-shut - CLEAR, z=-low - CLEAR)


#: What the second leaf is made of; of the barrel and of the pair of leaves each has its own.
SECOND = ("knuckle", "pivots")


def hinge(**sizes: float) -> Repair:
    """The hinge of the shelf, its sizes given by step and field, without its limits."""
    repair = read_template(folders().templates / "leaf-hinge.ipynb")
    repair.limits = ()
    for name, value in sizes.items():
        step, field = name.split("_")
        repair.change(step, **{field: value})
    return repair


def leaves() -> tuple[Repair, Repair]:
    """The leaf with the ends, and the leaf with the knuckle, each where it stands in the hinge."""
    whole = hinge()
    n = {step.name: step.number for step in whole.steps}
    across, long, gap = n["barrel"]("diameter"), n["barrel"]("length"), n["gap"]("depth")
    first, second = Repair("ends"), Repair("knuckle")
    for step in whole.steps:
        if step.name == "gap":  # what of the barrel is the other leaf's own is taken away
            tall, low = {"width": 2 * across, "height": 3 * across}, At(z=-across)
            first.cut("box", low, "room", depth=n["knuckle"]("depth") + 2 * gap, **tall)
            away = At(y=(long + n["knuckle"]("depth")) / 2, z=-across)
            second.cut("box", away, "room", mirror="front-back", depth=long, **tall)
            continue
        owners = {"barrel": (first, second), "leaves": (first, second)}
        for leaf in owners.get(step.name, (second if step.name in SECOND else first,)):
            place, mirror = step.place, step.mirror
            if step.name == "leaves":
                place, mirror = (place if leaf is second else place.mirrored()), ""
            add = leaf.cut if step.cuts else leaf.add
            add(step.template, place, step.name, mirror=mirror, **step.values)
    return first, second
