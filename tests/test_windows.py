"""Where the system has neither fork nor its limits and locks, as on Windows, all works without them."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

#: Takes away what only POSIX has, before anything of the tool is imported.
LESS = """
import sys
sys.modules["fcntl"] = sys.modules["resource"] = sys.modules["pwd"] = None
import os, signal
for name in ("fork", "O_NONBLOCK", "sched_getaffinity", "mkfifo", "sysconf"):
    delattr(os, name)
for name in ("SIGXCPU", "SIGSTOP"):
    delattr(signal, name)
"""

WORK = """
from workbench.cli import main
from workbench import Repair, build, check, export
from workbench.process import Helper, Limits
from pathlib import Path
from workbench.output.files.paths import held
repair = Repair("lid").add("box", width=20, depth=12, height=6).round("all of box", 1)
assert build(repair).volume > 1000 and check(repair).ok
assert export(repair, "made")
with held(Path("made")):
    pass
helper = Helper(limits=Limits(seconds=2, still=2))
assert helper.do(divmod, 7, 2) == (3, 1)
helper.end()
open("class.csv", "w").write("template,pupil,width\\nbox,Mia,20\\n")
for words in (["new", "box"], *([["class", "class.csv"]] if os.environ.get("WORKBENCH_FULL") else [])):
    sys.argv = ["workbench", *words]
    assert main() == 0, words
print("done")
"""


def test_all_works_without_what_only_posix_has(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", LESS + WORK],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stdout.rstrip().endswith("done"), done.stderr[-2000:]
