"""What can't keep a plant alive: settings that are refused, unless their owner insists (L5).

`check` is asked by settings.check alone, of settings that contradict nothing else.
"""

from potreeve.logic import dosing
from potreeve.logic.units import DAY_S, const, div_up

# Codes from here on are of settings an owner may insist on; those below are in settings.py.
STARVES = 20
PULSE_UNSEEN = 20
UNPROVEN_FEW = 21
TOO_LITTLE = 22
SOAK_SHORT = 23
WILTING_LOW = 24
DEPLETED = 25
DRIES_SLOW = 26

# Nothing is condemned before a pot was given this much, in pm of what it holds: a probe may
# see as little as a fifth of it, and that is still dosing.PROOF_FLOOR_PM.
PROOF_WATER_PM = 60

# By day a plant drinks so many times its ration's rate: a bright day's twice an ordinary one's, most of it in
# sixteen hours (common practice, no source).
_DAYTIME = const(3)

# A cap must hold so many ordinary days' drink: plants of drawn rigs drank 0.6 to 3.4 times their rations. With the
# rig's cap at twice their sum 2 of 23 such died, at three times none of 24.
BRIGHTEST = 3
DAY_MOST_ML = 3000
RIG_DAY_MOST_ML = 5000

# And such a part of what its plant can draw, whatever ration somebody wrote: a potted plant can use all of it in one or
# two days (Rutgers FS812); a fifth is ours: with caps for a tenth, two of three plants of the reading room died.
_EMPTIES_DAYS = const(5)

# A twentieth of every dose is counted as run through (dosing), and plants of drawn rigs drank 1.65 times their ration.
# Pots on feet never tell that it did not: a tray below them must dry this part of their rations. Of 58 drawn rigs on
# feet 7 lost plants; the trays of six dried less than that.
_ON_ACCOUNT = const(12)

# A ration below this lets its plant go, in ul per cm2 of the pot's top: a third of what one with a Kc of 0.2 drinks,
# the least that a plant file may tell, doubled for a plant alone, at 1.5 mm (common practice, no source).
_LEAST_RATION_UL_CM2 = const(20)

# Pulses within unproven_max must lift a pot by twice dosing.PROOF_FLOOR_PM, one of them by half of it.
_SEEN_PM = 2 * dosing.PROOF_FLOOR_PM
_HINT_PM = dosing.PROOF_FLOOR_PM // 2

# Water needs up to an hour from the drip to a probe (from memory; half an hour to two for a
# whole pot: container capacity is read then); the last pulse waits for two soaks.
_SPREADS_S = const(3600)

# No growing mix lets plants draw it this near to air-dry: about 130 pm for loam composts,
# 280 for peat, 400 for coir (owner.knowledge). FAO-56's p for what grows on sills, at the least demand.
_WILTING_PM = const(100)
_DEPLETION_PM = const(600)


def check(settings):
    """What can't keep a plant alive: pulses no probe would see, caps below what pots
    need, a refill point below what roots can draw.

    Caps count the most a pump may bring. A cap must hold what thirsty plants drink, by their rations and by what they
    can draw, a pulse for each, and for one pot all the water that must be given before it may be condemned. The tray
    must hold an ordinary day's drink, for a day may pass before it is known that water stayed in the pots, and a third
    more, for in drawn rigs pots over smaller trays fell behind what they drank (common practice, no source). And a dose
    that shows beside what its plant drinks until it has spread.
    """
    faults = []
    drink = brightest = pulses = longest = shown = 0
    for index, pot in enumerate(settings["channels"]):
        holds = pot["holds_ml"]
        counted = counted_pm(pot)
        proof = div_up(PROOF_WATER_PM * holds, 1000)
        thirst = _thirst_ml(pot, counted)
        _pot("channels[%d]." % index, pot, proof, thirst, faults)
        proof = div_up(proof * counted, 1000)
        drink += div_up(pot["ration_ml"] * counted, 1000)
        brightest += thirst
        pulses += div_up(pot["pulse_ml"] * counted, 1000)
        longest = proof if proof > longest else longest
        # A probe that sees half of a rise is to see the least that counts beside what the plant drinks meanwhile,
        # and a third of that more, for a plant outgrows its ration (common practice, no source).
        hides = _DAYTIME * pot["ration_ml"] * dosing.spread_s(pot) // DAY_S
        show = div_up((2 * dosing.PROOF_FLOOR_PM * holds // 1000 + hides * 13 // 5) * counted, 1000)
        shown = show if show > shown else shown
    soaks = 1 + min([pot["unproven_max"] for pot in settings["channels"]])
    if settings["soak_s"] * soaks < _SPREADS_S:
        faults.append((SOAK_SHORT, "", "soak_s", settings["soak_s"], div_up(_SPREADS_S, soaks)))
    rig = max(min(brightest, RIG_DAY_MOST_ML), pulses)
    for key, least in (("rig_day_ml", rig), ("tray_headroom_ml", max(pulses, longest, shown, drink * 4 // 3))):
        if settings[key] < least:
            faults.append((TOO_LITTLE, "", key, settings[key], least))
    _dries_slowly(settings, faults)
    return faults


def _pot(where, pot, proof_ml, thirst_ml, faults):
    """What one pot's own keys lack. proof_ml: what a probe must have been given to see; thirst_ml: see _thirst_ml."""
    holds = pot["holds_ml"]
    rise = pot["pulse_ml"] * 1000 // holds
    most = pot["unproven_max"]
    if rise < _HINT_PM:
        faults.append((PULSE_UNSEEN, where, "pulse_ml", pot["pulse_ml"], rise, div_up(_HINT_PM * holds, 1000)))
    elif rise * most < _SEEN_PM:
        faults.append((UNPROVEN_FEW, where, "unproven_max", most, rise, div_up(_SEEN_PM * holds, 1000 * most)))
    ration_ml = dosing.area_cm2(pot["pot_ml"]) * _LEAST_RATION_UL_CM2 // 1000
    for key, least in (("dose_ml", proof_ml), ("day_ml", thirst_ml), ("ration_ml", ration_ml)):
        if pot[key] < least:
            faults.append((TOO_LITTLE, where, key, pot[key], least))
    if pot["wilting_pm"] < _WILTING_PM:
        faults.append((WILTING_LOW, where, "wilting_pm", pot["wilting_pm"], _WILTING_PM))
    if pot["depletion_pm"] > _DEPLETION_PM:
        faults.append((DEPLETED, where, "depletion_pm", pot["depletion_pm"], _DEPLETION_PM))


def _dries_slowly(settings, faults):
    """A tray below feet that dries less than is put on its account. One that never dries is emptied by somebody."""
    um_day = settings["tray_dry_um_day"]
    if settings["pots_in_tray"] or not um_day:
        return
    charged_ul = 1000 * sum([pot["ration_ml"] for pot in settings["channels"]]) // _ON_ACCOUNT
    # um over cm2 are tenths of a microlitre.
    least = div_up(charged_ul * 10, um_day)
    if settings["tray_area_cm2"] < least:
        faults.append((DRIES_SLOW, "", "tray_area_cm2", settings["tray_area_cm2"], least))


def _thirst_ml(pot, counted):
    """What a thirsty plant may need in a day, as caps count it, in ml: more than the water a probe must have seen, for
    no plant can draw less than two fifths of what its pot holds."""
    drawable_ml = pot["holds_ml"] * (1000 - pot["wilting_pm"]) // 1000
    need_ml = max(BRIGHTEST * pot["ration_ml"], drawable_ml // _EMPTIES_DAYS)
    return min(need_ml * counted // 1000, DAY_MOST_ML)


def counted_pm(pot):
    """What caps count for a pulse, in pm of what it is to bring: its tube taken as full, its pump as fast as may be."""
    if not pot["pump_ul_s"]:
        return 1000 + pot["pump_spread_pm"]
    ms = dosing.day_prime_ms(pot) + pot["pulse_ml"] * 1000000 // pot["pump_ul_s"]
    return dosing.most_ul(ms, pot) // pot["pulse_ml"]
