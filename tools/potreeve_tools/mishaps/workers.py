"""Many tasks in several processes, which end at once when the user has had enough."""

import multiprocessing
import signal


def each(function, tasks, jobs):
    """Yield function(task) of all tasks, in their order. function: of a module, so that it can be sent to a process.

    On Ctrl-C, and on anything else that ends the loop early, the processes are
    ended and not waited for: what they were at is of no use to anyone.
    """
    if jobs <= 1:
        for task in tasks:
            yield function(task)
        return
    # Leaving the pool's block terminates its processes.
    with multiprocessing.Pool(jobs, _leave_it_to_the_parent) as pool:
        yield from pool.imap(function, tasks)


def _leave_it_to_the_parent():
    """A key press reaches every process of a terminal: the parent alone answers it, by ending the others."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
