"""What people and mishaps do to a pot, and how a rig's table becomes one."""

import dataclasses

from potreeve_tools.world.pot import Pot, PotSpec
from potreeve_tools.world.richardspot import RichardsPot

_FIELDS = {f.name for f in dataclasses.fields(PotSpec)}


def pot_spec(table, **changes):
    """Return the PotSpec of one [[pot]] table of a rig, with changes."""
    known = {key: value for key, value in table.items() if key in _FIELDS}
    return PotSpec(**{**known, **changes})


def make_pot(table, rng, **changes):
    """Return the Pot of one [[pot]] table of a rig."""
    return of_spec(pot_spec(table, **changes), rng)


def of_spec(spec, rng):
    """Return the Pot of a PotSpec, with the soil model that it names."""
    return Pot(spec, rng) if spec.soil == "layers" else RichardsPot(spec, rng)


def theta_cc_at(pot, depth_cm):
    """Water content at container capacity at a depth below the surface, m3/m3: the lower, the wetter."""
    return pot.at_depth(pot.column.capacity, depth_cm * pot.swollen)


def theta_at_rest(pot, depth_cm, moisture_pm):
    """Water content at a depth when the pot holds moisture_pm and has come to rest, m3/m3."""
    mean = (pot.air_dry_ml + moisture_pm / 1000.0 * pot.holds_ml) / pot.volume_ml
    return pot.at_depth(pot.column.at_rest(mean), depth_cm * pot.swollen)


def probe_depth_cm(table, pot):
    """Depth at which a pot's probe sits: as the rig says, but never below the pot's floor."""
    return min(table["probe_depth_cm"], 0.9 * pot.spec.height_cm)


def like(pot, rng, **changes):
    """Return a new Pot with the old one's plant size and some changed spec."""
    changes.setdefault("leaf_area_cm2", pot.leaf_area_cm2)
    return of_spec(dataclasses.replace(pot.spec, **changes), rng)


def set_hole(pot, has_hole):
    """Open or close the hole in the pot's floor."""
    pot.spec = dataclasses.replace(pot.spec, drainage_hole=has_hole)


def suck_back(pot, ml):
    """Suck up to ml out near the surface. Returns ml.

    Standing water first, then what the top layer can't hold, or most of what
    was just poured and still stands about the tube's end (0.7: ours).
    """
    ponded = min(ml, pot._pond_ml)
    pot._pond_ml -= ponded
    free = min(
        max(0.0, pot._w[0] - pot._cap_ml[0], 0.7 * (pot._w[0] - pot._settled_ml)), max(0.0, pot._w[0] - pot._dry_ml)
    )
    soaked = min(ml - ponded, free)
    pot._w[0] -= soaked
    return ponded + soaked


def run_out(pot, share):
    """Let a share of the pot's water run out (tipped over). Returns ml."""
    lost = pot._pond_ml
    pot._pond_ml = 0.0
    for i, w in enumerate(pot._w):
        out = max(0.0, (w - pot._dry_ml) * share)
        pot._w[i] = w - out
        lost += out
    return lost
