"""What is published of mixes and plants, as an owner would find it: by the name on the bag or the label.

Contents in m3 of water per m3 of mix. Marks as in recipe.py. The simulated world
has tables of its own: an owner can't look into it, and bags differ.
"""

from typing import NamedTuple


class Mix(NamedTuple):
    """A growing mix. pores: total pore space; at_1_kpa: after drainage at 10 cm of suction; wilting: where plants get
    next to nothing; air_dry: what is left when it lies open."""

    pores: float
    at_1_kpa: float
    wilting: float
    air_dry: float


class PlantFacts(NamedTuple):
    """A plant. depletion: p of FAO-56 Table 22 at 5 mm a day; kc_mid: Table 12, mid-season."""

    depletion: float
    kc_mid: float


MIXES = {
    # Pores: solids 20 to 30 % of peat mixes (Fisher, V). At 1 kPa: 20 to 30 % air (De Boodt & Verdonck
    # 1972, V-2nd). Wilting: water largely unavailable below .20 (van Iersel et al. 2010, V-abs). Air-dry: ours.
    "peat_mix": Mix(0.80, 0.55, 0.20, 0.06),
    # Pores above 94 % less trapped air (Abad et al. 2005, V-abs). Readily available 38 to 56 %, wilting near 32 %
    # (Costa Rica trial 2015, V-abs). Air-dry: ours.
    "coir": Mix(0.88, 0.58, 0.32, 0.09),
    # Nursery mixes: pores 50 to 85 %, container capacity 45 to 65 % (M). .38 at 4 kPa, conductivity gone by .17
    # (O'Meara et al. 2014, V-abs). Air-dry: ours.
    "bark_mix": Mix(0.75, 0.48, 0.20, 0.06),
    # Pores and content at 10 cm: Carsel & Parrish 1988, loam (V-2nd; .4074 D). Wilting: FAO-56 Table 19, .07 to .17
    # (V). Air-dry: half of that (FAO-56 eq 73, M).
    "loam": Mix(0.43, 0.40, 0.12, 0.06),
    # Loam compost: 7 parts of loam, 3 of peat, 2 of sand (the classic recipe, M); the parts' figures by volume, sand
    # .43, .214 at 10 cm and .045 at 15,000 cm (Carsel & Parrish 1988, V-2nd), loam .088 there. D.
    "loam_mix": Mix(0.52, 0.41, 0.11, 0.055),
}

# Other words on bags.
MIX_NAMES = {
    "peat": "peat_mix",
    "potting_mix": "peat_mix",
    "coir_pellet": "coir",
    "bark": "bark_mix",
    "soil": "loam",
    "loam_compost": "loam_mix",
}

# FAO-56 Tables 12 and 22 (V-2nd). "plant": the most careful of the rows read, for what is not listed.
PLANTS = {
    "mint": PlantFacts(0.40, 1.15),
    "strawberry": PlantFacts(0.20, 0.85),
    "cherry_tomato": PlantFacts(0.40, 1.15),
    "tomato": PlantFacts(0.40, 1.15),
    "pepper": PlantFacts(0.30, 1.05),
    "lettuce": PlantFacts(0.30, 1.00),
    "plant": PlantFacts(0.30, 1.15),
}


def own_facts(own):
    """PlantFacts of a plant file (world.plantfile.OwnPlant): for the thirstiest of its stages, so that none goes
    short."""
    return PlantFacts(own.depletion, own.kc_most)


def mix_named(text):
    """The key of MIXES for a word on a bag, or None."""
    key = _key(text)
    key = MIX_NAMES.get(key, key)
    return key if key in MIXES else None


def plant_named(text):
    """The key of PLANTS for a plant's name, or None."""
    key = _key(text)
    return key if key in PLANTS else None


def _key(text):
    return "_".join(text.strip().lower().replace("-", " ").split())
