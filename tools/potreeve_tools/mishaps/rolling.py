"""Sums over a window that moves along with time."""


def most_within(given, window_s):
    """(the most of any window, when it was reached) of (t_s, amount) in order of time."""
    first, total = 0, 0.0
    worst, when_s = 0.0, 0.0
    for t_s, amount in given:
        total += amount
        while given[first][0] <= t_s - window_s:
            total -= given[first][1]
            first += 1
        if total > worst:
            worst, when_s = total, t_s
    return worst, when_s
