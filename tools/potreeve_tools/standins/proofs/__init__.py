"""Programs that run beside the firmware on what stands in for a board: proofs, and what is weighed, timed or drawn.

provekit: how a proof is run and told; cuts, damage (over cutrig), failing, interrupts, loops (over ../pinrig.py) and
sigint: proofs. What a wake costs, what memory holds, what a display shows: measure, weigh_start (over weighed), drawn.
"""
