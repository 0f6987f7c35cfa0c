"""Every decision Potreeve makes: pure functions over integers.

Nothing here reads a clock, a pin or a file, and nothing here is a float, so
the same inputs give the same outputs on every interpreter.
"""
