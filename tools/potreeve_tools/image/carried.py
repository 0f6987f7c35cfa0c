"""What a wheel carries besides the packages: the firmware with its main.py, and the board files.

Named in pyproject.toml (`tool.setuptools.cmdclass`); only a build imports it.
"""

import shutil
from pathlib import Path

from setuptools.command.build_py import build_py

ROOT = Path(__file__).resolve().parents[3]
CARRIED = {"firmware": ("*.py", "*.json"), "boards": ("*.toml",)}
"""Folder of the checkout: what of it goes along, at any depth. potreeve_tools.image.places finds it in the package."""


class Build(build_py):
    """Copies the folders of the checkout beside the package; an editable install uses them where they are."""

    def _carried(self):
        """Files of the checkout, sorted."""
        names = {
            path for folder, some in CARRIED.items() for pattern in some for path in (ROOT / folder).rglob(pattern)
        }
        return sorted(names)

    def _shipped(self, source):
        return Path(self.build_lib) / "potreeve_tools" / "shipped" / source.relative_to(ROOT)

    def run(self):
        super().run()
        if not self.editable_mode:
            for source in self._carried():
                target = self._shipped(source)
                target.parent.mkdir(parents=True, exist_ok=True)
                shutil.copyfile(source, target)

    def get_source_files(self):
        """What a source archive must hold for a wheel to be built from it."""
        own = [str(source.relative_to(ROOT)) for source in self._carried()]
        return sorted({*super().get_source_files(), *own})

    def get_outputs(self, include_bytecode=True):
        more = [] if self.editable_mode else [str(self._shipped(source)) for source in self._carried()]
        return super().get_outputs(include_bytecode) + more
