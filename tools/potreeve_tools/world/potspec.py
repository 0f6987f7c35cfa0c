"""What a pot is, and where its water went during a step."""

from dataclasses import dataclass
from typing import NamedTuple

from .plantfile import OwnPlant
from .plants import PLANTS
from .substrates import SUBSTRATES

SOILS = ("layers", "richards", "richards_slow")
"""How water moves: wetting.py's layers, or Richards' equation (richardspot.py) as published or conducting badly."""


@dataclass(frozen=True)
class PotSpec:
    """What stands on the sill. cm, cm2; start_pm 0 air-dry ... 1000 container capacity."""

    name: str = "pot"
    plant: str = "mint"
    substrate: str = "peat_mix"
    diameter_cm: float = 12.0  # of the straight pot with the same volume and height
    height_cm: float = 11.0  # of the substrate
    leaf_area_cm2: float = 500.0
    start_pm: float = 900.0
    layers: int = 3
    drainage_hole: bool = True
    rim_cm: float = 1.5  # free board above the substrate
    soil: str = "layers"
    own: OwnPlant | None = None  # of a file, instead of `plant`
    stage: str = "mid"  # of its growth

    @property
    def kind(self):
        """The Plant that grows in it."""
        return self.own.plant(self.stage) if self.own else PLANTS[self.plant]

    def __post_init__(self):
        if self.own is None and self.plant not in PLANTS:
            raise ValueError(f"pot {self.name}: plant {self.plant!r} is unknown; choose one of {', '.join(PLANTS)}")
        if self.substrate not in SUBSTRATES:
            raise ValueError(
                f"pot {self.name}: substrate {self.substrate!r} is unknown; choose one of {', '.join(SUBSTRATES)}"
            )
        if self.soil not in SOILS:
            raise ValueError(f"pot {self.name}: soil {self.soil!r} is unknown; choose one of {', '.join(SOILS)}")
        if self.soil != "layers" and SUBSTRATES[self.substrate].swells_from.value < 1.0:
            raise ValueError(
                f"pot {self.name}: substrate {self.substrate!r} swells, soil {self.soil!r} can't; choose soil "
                f"'layers' or "
                "another mix"
            )
        if self.layers < 3:
            raise ValueError(f"pot {self.name}: layers = {self.layers} must be 3 or more")
        for key in ("diameter_cm", "height_cm", "leaf_area_cm2"):
            if not getattr(self, key) > 0:
                raise ValueError(f"pot {self.name}: {key} = {getattr(self, key)} must be above 0")


class PotFlux(NamedTuple):
    """Where water went during a step, ml. uptake_ml came IN from the tray."""

    transpired_ml: float
    evaporated_ml: float
    leachate_ml: float
    uptake_ml: float
