"""Potreeve: tends potted plants and answers for the dikes."""

VERSION = "0.1.0"
