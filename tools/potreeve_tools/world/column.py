"""A column of substrate at rest: how much each layer holds, and at which total.

Each layer's share follows from the retention curve alone. At rest the suction
rises by 1 cm per cm of height (hydrostatic equilibrium), so one number, the
suction at the bottom, fixes every layer. Free drainage leaves the bottom at 0:
that is container capacity. A negative suction at the bottom is a water level
standing inside the pot.
"""

from functools import lru_cache

ROWS = 160  # of the table; linear between, error below 0.1 % of the pot's volume
DRIEST_CM = 1.0e6


class Column:
    """Rest states of a pot, per ml of pot volume and for equal layers.

    capacity: container capacity of each layer, m3/m3, top layer first.
    """

    __slots__ = ("layers", "height_cm", "theta_s", "theta_r", "capacity", "_low", "_step", "_rows")

    def __init__(self, retention, height_cm, layers):
        self.layers = layers
        self.height_cm = height_cm
        self.theta_s = retention.theta_s
        self.theta_r = retention.theta_r
        self.capacity = self._at_rest(retention, 0.0)
        self._tabulate(retention)

    def _at_rest(self, retention, bottom_cm):
        thick = self.height_cm / self.layers
        return [
            retention.mean_theta(bottom_cm + self.height_cm - (i + 1) * thick, bottom_cm + self.height_cm - i * thick)
            for i in range(self.layers)
        ]

    def _tabulate(self, retention):
        """Rows of layer contents at evenly spaced means between dry and full."""
        suctions = [-self.height_cm * (1.0 - k / 60.0) for k in range(60)]
        suctions += [0.1 * (DRIEST_CM / 0.1) ** (k / 240.0) for k in range(241)]
        states = [self._at_rest(retention, s) for s in suctions]
        means = [sum(state) / self.layers for state in states]
        self._low = means[-1]
        self._step = (means[0] - self._low) / (ROWS - 1)
        rows = []
        at = len(means) - 1
        for k in range(ROWS):
            want = self._low + k * self._step
            while at > 1 and means[at - 1] < want:
                at -= 1
            share = min(max((want - means[at]) / (means[at - 1] - means[at]), 0.0), 1.0)
            rows.append(tuple(d + share * (w - d) for d, w in zip(states[at], states[at - 1])))
        self._rows = rows

    def at_rest(self, mean_theta):
        """Contents of the layers (m3/m3, top first) when the pot's mean is mean_theta.

        Their mean is mean_theta, but for a mean outside what the curve reaches.
        """
        position = (mean_theta - self._low) / self._step
        if position <= 0.0:
            return self._rows[0]
        row = int(position)
        if row >= ROWS - 1:
            return self._rows[-1]
        share = position - row
        low = self._rows[row]
        high = self._rows[row + 1]
        return [a + share * (b - a) for a, b in zip(low, high)]

    def mean_with_level(self, level_cm, retention):
        """Mean content at rest while water stands level_cm above the pot's bottom."""
        return sum(self._at_rest(retention, -level_cm)) / self.layers


@lru_cache(maxsize=64)
def column_for(retention, height_cm, layers):
    """The column of a mix in a pot; built once for all pots alike."""
    return Column(retention, height_cm, layers)
