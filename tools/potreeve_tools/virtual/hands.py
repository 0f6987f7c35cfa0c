"""What a person's hands do at the virtual board's rig while a command asks for it."""

from potreeve_tools.owner import hands

PRESS_MS = 300


class Hands:
    """Hands at a VirtualBoard's rig. Pots are meant by their place, from 0."""

    def __init__(self, board):
        self.board = board
        self._seen = 0

    def lift(self, index):
        """Take a probe out of its pot and hold it in the air."""
        self.board.do(hands.lift, self.board.world, index)

    def soak(self, index):
        """Put the probe into its pot, pour until it runs through, wait until it has drained: container capacity."""
        self.board.do(hands.soak, self.board.world, index)

    def hang(self, index, low):
        """Hang the tube's end as low as it would get if it came off (low), or back into the pot."""
        self.board.do(hands.hang, self.board.world, index, low)

    def oblige(self, question, index):
        """Do what a calibration's question asks for, before it is answered. question: its name, see calibrate_talk."""
        if question == "air":
            self.lift(index)
        elif question == "soaked":
            self.soak(index)
        elif question == "tray_dry":
            self.board.do(hands.empty_tray, self.board.world)
        elif question == "low":
            self.hang(index, True)
        elif question in ("ready", "try_again"):
            self.take_cup()
            self.board.press(PRESS_MS)

    def take_cup(self):
        """Take the time for a cup, and put an empty one there."""
        self.board.do(hands.take_cup, self.board.world)
        self.cup_ml()

    def runs_back(self, index):
        """Look at a tube for some minutes: whether its water runs back."""
        return self.board.do(hands.runs_back, self.board.world, index)

    def wipe(self):
        """Empty the tray and wipe it."""
        self.board.do(hands.empty_tray, self.board.world)

    def pour(self):
        """Pour water into the tray until its sensor stands in it: ml."""
        return self.board.do(hands.pour_until_felt, self.board.world)

    def cup_ml(self):
        """Take the cups away from under the tubes and put empty ones there: ml that were in each."""
        ml = [0.0] * len(self.board.world.channels)
        for delivery in self.board.world.deliveries[self._seen :]:
            ml[delivery[1]] += delivery[3]
            self._seen += 1
        return ml
