"""The plants the simulated rig knows. Every number says where it comes from.

FAO-56 rows (Table 17 basal crop coefficient at mid-season, Table 22 depletion
fraction at 5 mm/d) were read in the public-domain copy inside the
Python package pyfao56 1.4.3, hence V-2nd. How long a plant stands wet or wilted is our
reading: the only hours found are for flooded sweet pepper.
"""

from dataclasses import dataclass

from .substrate import Figure

TABLE_17 = "FAO-56 Table 17, mid-season, via pyfao56 1.4.3"
TABLE_22 = "FAO-56 Table 22, via pyfao56 1.4.3"
DOUBLING = 0.516  # log2 of 1.43
PEPPER_FLOOD = "48 h of flooding wilts or kills about 90 % of sweet pepper (Suh et al.; Guh & Kuk 1996, V-abs)"


@dataclass(frozen=True)
class Plant:
    """A species as data. Areas cm2 of leaf, one side; growth per day; times h."""

    name: str
    basal_coefficient: Figure  # Kcb: use against the reference leaf
    allowed_depletion: Figure  # p at 5 mm/d
    leaf_area_max_cm2: Figure  # what a windowsill pot lets it reach
    pot_ml: Figure  # in a pot of this size; see leaf_area_in
    growth_per_d: Figure  # logistic rate in good light
    wet_death_h: Figure  # hours in saturated substrate it survives
    wilt_death_h: Figure  # hours wilted it survives

    def leaf_area_in(self, pot_ml):
        """Leaf area it reaches in a pot of another size, cm2.

        A doubled pot brings 43 % more biomass (Poorter et al. 2012, Funct. Plant Biol. 39:839-850, V-abs:
        65 studies); leaf area is taken to go with it, as the paper says of allocation.
        """
        return self.leaf_area_max_cm2.value * (pot_ml / self.pot_ml.value) ** DOUBLING


MINT = Plant(
    name="mint",
    basal_coefficient=Figure(1.10, "V-2nd", TABLE_17),
    allowed_depletion=Figure(0.40, "V-2nd", TABLE_22),
    leaf_area_max_cm2=Figure(1200.0, "ours", "a bushy 12-13 cm pot"),
    pot_ml=Figure(1190.0, "ours", "12 x 10.5 cm"),
    growth_per_d=Figure(0.05, "ours", "doubles in about two weeks while small"),
    wet_death_h=Figure(168.0, "ours", "likes wet feet; a week"),
    wilt_death_h=Figure(96.0, "ours", "sprouts again from runners"),
)

STRAWBERRY = Plant(
    name="strawberry",
    basal_coefficient=Figure(0.80, "V-2nd", TABLE_17),
    allowed_depletion=Figure(0.20, "V-2nd", TABLE_22),
    leaf_area_max_cm2=Figure(1000.0, "ours", "one crown in a 12-15 cm pot"),
    pot_ml=Figure(1460.0, "ours", "13 x 11 cm"),
    growth_per_d=Figure(0.03, "ours", "doubles in about three weeks while small"),
    wet_death_h=Figure(72.0, "ours", PEPPER_FLOOD + "; cooler room, a day longer"),
    wilt_death_h=Figure(72.0, "ours", "three days limp"),
)

CHERRY_TOMATO = Plant(
    name="cherry_tomato",
    basal_coefficient=Figure(1.10, "V-2nd", TABLE_17),
    allowed_depletion=Figure(0.40, "V-2nd", TABLE_22),
    leaf_area_max_cm2=Figure(2400.0, "ours", "a dwarf variety in a 15-17 cm pot"),
    pot_ml=Figure(2810.0, "ours", "16 x 14 cm"),
    growth_per_d=Figure(0.06, "ours", "doubles in twelve days while small"),
    wet_death_h=Figure(72.0, "ours", PEPPER_FLOOD + "; cooler room, a day longer"),
    wilt_death_h=Figure(72.0, "ours", "three days limp"),
)

PLANTS = {plant.name: plant for plant in (MINT, STRAWBERRY, CHERRY_TOMATO)}
