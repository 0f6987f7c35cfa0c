"""What a rig may have besides: a sensor in the tray, one in the tub."""


class Extras:
    """Part of the World: what these sensors give, by the board file's table [extras]."""

    def sense_extras(self):
        """Whole numbers: the tray's sensor driven forth and back, each 0..65535, and what the tub's gives."""
        return [0, 0, 0]
