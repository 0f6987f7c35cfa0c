"""The conversation of a calibration: with a person, or with a file of answers.

A file of answers is TOML: for each question's name a value, or a list of values
that are given one after another.

    ready = true
    amount = ["23 ml", "24.5 g"]
"""

import contextlib
import sys

import click

from potreeve_tools.terminal import exits, screen
from potreeve_tools.terminal.faultlist import BadInput, read_toml


class Talk:
    """Says and asks. path: file of answers or None; yes: every yes-or-no question is answered yes.

    waiting: gives a context manager to be in while a person thinks, soaks and drains, for an hour and more.
    """

    def __init__(self, path=None, yes=False, waiting=contextlib.nullcontext):
        self.answers = dict(read_toml(path)) if path else {}
        self.where = path
        self.yes = yes
        self.waiting = waiting

    def say(self, text="", **style):
        """Print a sentence on stdout."""
        screen.console().print(text, soft_wrap=True, **style)

    def confirm(self, name, question):
        """Ask a yes-or-no question; returns the answer."""
        given = self._given(name)
        if given is not None:
            if given not in (True, False):
                raise BadInput([f"{self.where}: {name} = {given!r}: answer true or false"])
            self.say(f"{question} {'yes' if given else 'no'}")
            return given
        if self.yes:
            self.say(f"{question} yes")
            return True
        self._need_person(name, question)
        with self.waiting():
            return click.confirm(question, default=True, err=True)

    def amount_ul(self, name, question):
        """Ask for an amount of water in ml or g; returns (ul, how well it was read in ul)."""
        return self._number(name, question, parse_amount, "--amount", "no usable amount; write it as 23.5 ml or 23.5 g")

    def grams(self, name, question):
        """Ask for a weight in g; returns whole grams."""
        given = self._given(name)
        if given is None:
            self._need_person(name, question)
            with self.waiting():
                given = click.prompt(question, err=True)
        else:
            self.say(f"{question} {given}")
        try:
            value = float(str(given).strip().lower().removesuffix("g").strip().replace(",", "."))
        except ValueError:
            value = -1.0
        if not 1 <= value <= 100_000:
            raise BadInput([f"{self.where or 'answer'}: {name} = {given!r}: give a weight in g, 1 to 100000"])
        return round(value)

    def litres(self, name, question):
        """Ask for an amount that goes into a tub, in ml or l; returns whole ml."""
        return self._number(name, question, parse_litres)

    def whole(self, name, question, low, high):
        """Ask for a whole number low..high."""

        def parse(text):
            words = str(text).strip()
            if not words.isdigit() or not low <= int(words) <= high:
                raise ValueError(f"give a whole number {low} to {high}")
            return int(words)

        return self._number(name, question, parse)

    def _number(self, name, question, parse, where="answer", never="no usable answer"):
        """What `parse` makes of an answer; raises BadInput where it makes nothing of it: at once of one from a file, of
        a person's after three. where: what a fault names for a file's; never: what is said to the person."""
        for _ in range(3):
            given = self._given(name)
            asked = given is None
            if asked:
                self._need_person(name, question)
                with self.waiting():
                    given = click.prompt(question, err=True)
            try:
                value = parse(given)
            except ValueError as fault:
                if not asked:
                    raise BadInput([f"{self.where or where}: {name} = {given!r}: {fault}"]) from None
                click.echo(str(fault), err=True)
                continue
            if not asked:
                self.say(f"{question} {given}")
            return value
        raise BadInput([f"{name}: {never}"])

    def _given(self, name):
        value = self.answers.get(name)
        if isinstance(value, list):
            return value.pop(0) if value else None
        return value

    def _need_person(self, name, question):
        if not screen.is_terminal(sys.stdin):
            raise exits.Stop(
                exits.BAD_INPUT,
                [
                    f"{question} There is nobody to ask: put {name} = ... into a file and give it as --answers FILE.",
                    "Nothing was changed.",
                ],
            )


def parse_amount(text):
    """(ul, how well it was read in ul) of "23 ml", "23.5 g", 23 (ml). Raises ValueError with a sentence."""
    words = str(text).strip().lower().replace(",", ".")
    unit = "ml"
    for known in ("ml", "g"):
        if words.endswith(known):
            words, unit = words.removesuffix(known).strip(), known
            break
    try:
        value = float(words)
    except ValueError:
        value = -1.0
    if not 0.0 <= value <= 2000.0:
        raise ValueError("write an amount of water as 23.5 ml or 23.5 g, at most 2000")
    # A kitchen scale shows whole grams, a measuring cup is read to about 2 ml (common practice, no source).
    return round(value * 1000), 1000 if unit == "g" else 2000


def parse_litres(text):
    """Whole ml of "1.5 l", "1500 ml", 1500 (ml). Raises ValueError with a sentence."""
    words = str(text).strip().lower().replace(",", ".")
    times = 1
    for unit, factor in (("ml", 1), ("l", 1000)):
        if words.endswith(unit):
            words, times = words.removesuffix(unit).strip(), factor
            break
    try:
        ml = float(words) * times
    except ValueError:
        ml = -1.0
    if not 1.0 <= ml <= 60_000.0:
        raise ValueError("write an amount of water as 1500 ml or 1.5 l, 1 ml to 60 l")
    return round(ml)
