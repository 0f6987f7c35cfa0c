"""Plots of our own: panels as plain data, drawn as SVG by one small script, with legends and figures in words.

A page takes `style()`, `script()`, the HTML of `panel.section(...)` for each panel, and calls
`potreevePlots.draw({start, minutes, panels})`. See `panel.py` for what a panel is.
"""

from pathlib import Path

HERE = Path(__file__).resolve().parent


def style():
    """The style sheet of plots, with the colours of paper, ink and lines by day, by night and in print."""
    return (HERE / "plots.css").read_text(encoding="utf-8")


def script():
    """The script that draws panels; it asks nothing of the network and holds no data."""
    return (HERE / "plots.js").read_text(encoding="utf-8")
