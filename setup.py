"""What a wheel carries besides the packages: the firmware with its main.py, and the board files. All else is in
pyproject.toml."""

import shutil
from pathlib import Path

from setuptools import setup
from setuptools.command.build_py import build_py

ROOT = Path(__file__).resolve().parent
CARRIED = {"firmware": ("*.py", "*.json"), "boards": ("*.toml",)}
"""Folder of the checkout: what of it goes along, at any depth. potreeve_tools.image.places finds it there."""


class Build(build_py):
    """Copies the folders of the checkout beside the package; an editable install uses them where they are."""

    def _pairs(self):
        """[(file of the checkout, its place in the wheel)]."""
        shipped = Path(self.build_lib) / "potreeve_tools" / "shipped"
        found = []
        for folder, patterns in CARRIED.items():
            names = {path for pattern in patterns for path in (ROOT / folder).rglob(pattern)}
            found += [(path, shipped / path.relative_to(ROOT)) for path in sorted(names)]
        return found

    def run(self):
        super().run()
        if not self.editable_mode:
            for source, target in self._pairs():
                target.parent.mkdir(parents=True, exist_ok=True)
                shutil.copyfile(source, target)

    def get_outputs(self, include_bytecode=True):
        more = [] if self.editable_mode else [str(target) for _, target in self._pairs()]
        return super().get_outputs(include_bytecode) + more


setup(cmdclass={"build_py": Build})
