"""How a board's run can end from outside. No firmware may catch these: they are no Exceptions."""


class PowerCut(BaseException):
    """The power is gone."""


class Restart(BaseException):
    """The chip starts over and has lost its memory. cause: what it is told, or a word; detail: whatever else is
    known."""

    def __init__(self, cause, detail=0):
        super().__init__(cause, detail)
        self.cause = cause


class Finished(BaseException):
    """Enough was seen: the run ends here."""
