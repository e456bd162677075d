"""Each rule's remedy that is an edit: carried out, its finding goes and no new stop comes."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from workbench.checks.check import check
from workbench.checks.fix import apply, in_words
from workbench.checks.report import RULE_NAMES
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import At, Seat
from workbench.solids.recipe.service import Load


def body(**given) -> Repair:
    return Repair("part", **given).add("box", name="body", width=20, depth=20, height=4)


def flat() -> Repair:
    return body(down=(0, 0, -1))


def loaded(repair: Repair, *load) -> Repair:
    repair.loads = (Load(*load),)
    return repair


def clip(**sizes) -> Repair:
    door = Repair("door", down=(0, -1, 0)).add("box", name="body", width=20, depth=8, height=4)
    return door.add("clip", Seat("top of body"), "clip", **sizes)


def post(**sizes) -> Repair:
    return body().add("box", Seat("top of body"), "post", **sizes)


#: For each rule with a fix a part that it is found in.
PARTS: dict[str, Callable[[], Repair]] = {
    "adds nothing": lambda: flat().add("box", At(0, 0, 1), "lump", width=4, depth=4, height=2),
    "cut takes nothing away": lambda: flat().cut(
        "cylinder", At(40), "hole", diameter=4, height=5
    ),
    "closed hollow": lambda: flat().cut(
        "cylinder", Seat("top of body", sink=3), "hole", diameter=4, height=2
    ),
    "thinnest wall": lambda: flat().add(
        "box", Seat("top of body", sink=0.2), "rib", width=12, depth=0.5, height=5
    ),
    "thin edge": lambda: flat().cut(
        "cylinder", Seat("top of body", along=7.2, sink=5), "hole", diameter=5, height=6
    ),
    "open edge": lambda: flat().cut(
        "cylinder", Seat("top of body", along=9, sink=5), "hole", diameter=5, height=6
    ),
    "narrow gap": lambda: flat().cut(
        "box", Seat("top of body", sink=3), "slit", width=12, depth=0.3, height=4
    ),
    "least gap": lambda: flat().against(
        Repair("wall").add("box", At(15), width=9.9, depth=20, height=4)
    ),
    "runs into": lambda: flat().against(
        Repair("wall").add("box", At(14.6), width=9.9, depth=20, height=4)
    ),
    "fits the bed": lambda: Repair("post", printer="generic 120", down=(0, 0, -1)).add(
        "box", width=20, depth=20, height=125
    ),
    "hangs in the air": lambda: Repair("tee", down=(0, 0, -1))
    .add("box", name="post", width=6, depth=20, height=20)
    .add("box", "top of post", "bar", width=40, depth=20, height=4),
    "stands firm": lambda: Repair("post", down=(1, 0, -1)).add(
        "box", width=6, depth=20, height=20
    ),
    "root bending": lambda: loaded(
        post(width=6, depth=6, height=20), "post", 20, (0, 1, 0)
    ),
    "peg shear": lambda: loaded(
        flat().add("peg", Seat("top of body"), "peg", diameter=2, length=2), "peg", 12, (0, 1, 0)
    ),
    "buckling": lambda: loaded(post(width=3, depth=1.7, height=50), "post", 1, (0, 0, -1)),
    "clip strain": lambda: clip(length=8),
    "clip force": lambda: clip(length=14, root_thickness=4, tip_thickness=3, hook_depth=1),
    "clip corner": lambda: clip(root_fillet=0),
    "fit": lambda: flat()
    .add("tab", Seat("top of body"), "foot", thickness=9)
    .fit("foot", "thickness", "2.6"),
    "heat": lambda: body(uses=("heat 70",)),
    "sun": lambda: body(uses=("outdoors",)),
    "outdoors": lambda: body(uses=("outdoors",)),
    "sharp edges": lambda: Repair("wedge").add("wedge", width=20, depth=10, height=5),
    "sharp points": lambda: Repair("wedge").add("wedge", width=20, depth=10, height=3),
    "way up": lambda: Repair("panel")
    .add("plate", name="panel", width=60, height=40, thickness=3)
    .add("box", At(0, -20, -0.5), "foot", width=20, depth=6, height=4),
}  # fmt: skip

#: Rules whose remedy is no edit of the repair: a deed, a word to say, or a choice among shapes.
NO_EDIT = {
    *("can be printed", "one piece", "readings agree", "rounding", "outer size", "is cut away"),
    *("small tower", "small parts", "load not checked", "duty"),
    *("use", "food", "mains", "pressure", "weight", "fire", "vehicle", "medical", "sport"),
    *("child", "pet", "way in", "statement"),
}


def test_every_rule_is_here():
    assert set(PARTS) | NO_EDIT == set(RULE_NAMES)
    assert not set(PARTS) & NO_EDIT


@pytest.mark.parametrize("rule", PARTS)
def test_a_fix_that_is_carried_out_makes_its_finding_go(rule):
    repair = PARTS[rule]()
    before = check(repair)
    found = before.fix_for(rule)
    assert in_words(found.fix, repair)
    after = check(apply(found.fix, repair.copy()))
    left = [
        finding
        for finding in after.findings
        if finding.rule == rule and finding.where == found.where and not finding.passed
    ]
    # Where the chance stays even at best, and where it has to be turned on the bed, a word stays.
    worse = ("stop", "warning") if rule != "fit" else ("stop",)
    assert not [finding for finding in left if finding.fix or finding.severity in worse]
    stops = {(f.rule, f.where) for f in before.findings if f.severity == "stop"}
    assert {(f.rule, f.where) for f in after.findings if f.severity == "stop"} <= stops
