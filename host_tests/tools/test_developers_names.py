"""DEVELOPERS.md speaks of functions and constants that are there."""

import importlib
import re
from pathlib import Path

ROOT = Path(__file__).parents[2]
PLACES = {
    "potreeve.logic": ROOT / "firmware/potreeve/logic",
    "potreeve_tools.mishaps": ROOT / "tools/potreeve_tools/mishaps",
}
NAMED = re.compile(r"`([a-z][a-z0-9_]*)\.([A-Za-z_][A-Za-z0-9_]*)(…?)`")


def modules(name):
    return [
        importlib.import_module(f"{package}.{name}")
        for package, path in PLACES.items()
        if (path / f"{name}.py").exists()
    ]


def test_what_it_names_is_there():
    named = set(NAMED.findall((ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")))
    checked = {(name, word, more) for name, word, more in named if word not in ("py", "md", "toml") and modules(name)}
    assert len(checked) > 80
    missing = [
        f"{name}.{word}"
        for name, word, more in checked
        if not any(
            any(one.startswith(word) for one in vars(module)) if more else hasattr(module, word)
            for module in modules(name)
        )
    ]
    assert missing == []
