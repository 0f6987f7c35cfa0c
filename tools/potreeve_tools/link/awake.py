"""Keeps a board in service mode while a person is asked something, however long they take.

Service without anybody who talks ends by itself after some minutes; soaking and draining a pot takes over an hour.
"""

import contextlib
import threading

import click

from potreeve_tools.link import faults

EVERY_S = 30.0
# Whoever presses Ctrl-C waits no longer than this for what is being said to the board.
JOIN_S = 1.5


def tell(text):
    """Say on stderr what can't wait for an answer."""
    click.echo(text, err=True)


@contextlib.contextmanager
def kept(link):
    """While in it, the board is talked to every EVERY_S. Raises at the end what the link said if the board went away.

    link: a connected link.port.Board; nothing else may use it meanwhile.
    """
    done, lost = threading.Event(), []

    def talk():
        while not done.wait(EVERY_S):
            try:
                link.touch()
            except faults.LinkFault as fault:
                lost.append(fault)
                tell(f"\npotreeve: the board is gone: {fault.lines[0]}")
                return
            except Exception as fault:  # a port closed under it: said when it is next used
                lost.append(fault)
                return

    talker = threading.Thread(target=talk, name="keeping the board awake", daemon=True)
    talker.start()
    try:
        yield
    finally:
        done.set()
        talker.join(JOIN_S)
    if lost:
        raise lost[0]
