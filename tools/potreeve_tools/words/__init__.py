"""Sentences for the firmware's numbers."""
