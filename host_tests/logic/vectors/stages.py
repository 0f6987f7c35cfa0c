"""One stage after another, and nothing else."""

from potreeve.logic import stages


def refused(now, stage):
    try:
        stages.follow(now, stage)
    except stages.OutOfOrder as fault:
        return str(fault)
    return "followed"


VECTORS = tuple(("follow", (now, now + 1), now + 1) for now in range(6)) + (
    ("refused", (0, 0), "stage 0 after 0"),
    ("refused", (0, 2), "stage 2 after 0"),
    ("refused", (3, 2), "stage 2 after 3"),
    ("refused", (6, 1), "stage 1 after 6"),
    ("refused", (1, 2), "followed"),
)
