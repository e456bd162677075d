"""The configuration for a class that the guide gives, as JupyterHub would load it."""

from __future__ import annotations

import re
from pathlib import Path

from traitlets.config import Config
from traitlets.config.loader import PyFileConfigLoader

GUIDE = Path(__file__).resolve().parents[1] / "DEVELOPERS.md"


def serving() -> str:
    """The guide's section on serving a class."""
    text = GUIDE.read_text(encoding="utf-8")
    return text.partition("## Serve a class\n")[2].partition("\n## ")[0]


def configuration(folder: Path) -> Config:
    """The configuration in that section, its shared folder put under ``folder``."""
    (written,) = re.findall(r"```python\n(.*?)```", serving(), flags=re.DOTALL)
    assert "/srv/mend-it" in written
    file = folder / "jupyterhub_config.py"
    file.write_text(written.replace("/srv/", f"{folder}/srv/"), encoding="utf-8")
    return PyFileConfigLoader(file.name, path=str(folder)).load_config()
