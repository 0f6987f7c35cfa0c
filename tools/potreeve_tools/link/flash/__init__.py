"""Putting firmware on a board: image (what belongs there), look (what is there), plan (what to
change, in which order), install (changing it), gate (what must hold first), uf2 (MicroPython itself)."""
