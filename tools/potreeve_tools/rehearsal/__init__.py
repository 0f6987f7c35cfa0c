"""Rehearsal: the firmware as it is, against the simulated rig, before any flash."""
