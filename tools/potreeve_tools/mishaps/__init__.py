"""Mishaps as data, and the judge who says whether Potreeve held.

scenario.py reads mishaps/scenarios/*.toml, trial.py runs one of them, laws.py
and fate.py judge what came of it, table.py shows it.
"""
