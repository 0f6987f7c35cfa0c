"""What `potreeve settings new` is told, turned into facts of the recipe; every fault at once."""

from potreeve_tools.owner import knowledge, recipe
from potreeve_tools.terminal.faultlist import BadInput, nearest
from potreeve_tools.world import plantfile

POTS_MOST = 4
POT_L = (0.1, 30.0)
POT_CM = (4.0, 60.0)


def pots(plants, names, sizes, mixes, holds):
    """[PotFacts] from lists of words, one entry per pot in their order; one entry alone speaks for all pots.

    plants: words, or plant files; names: words; sizes: "1.2" (litres) or "12x10.5" (cm across and high); mixes: words
    on the bag; holds: ml by weight, or nothing. Raises BadInput.
    """
    faults = []
    count = max(len(plants), len(names), len(sizes))
    if not 1 <= count <= POTS_MOST:
        raise BadInput([f"--plant: given {count} times; give it once per pot, 1 to {POTS_MOST} times"])
    columns = []
    for option, words in (("--plant", plants), ("--pot", sizes), ("--substrate", mixes), ("--weighed-ml", holds)):
        if len(words) not in (0, 1, count):
            faults.append(f"{option}: given {len(words)} times for {count} pots; give it once, or once per pot")
        columns.append(list(words) * count if len(words) == 1 else [*words, *[None] * count])
    rows = []
    for place, (plant, size, mix, hold) in enumerate(zip(*(column[:count] for column in columns))):
        own = _own(plant, faults)
        rows.append(
            recipe.PotFacts(
                names[place] if place < len(names) else own.name if own else (plant or f"pot {place + 1}"),
                own.name if own else _known("--plant", plant, knowledge.plant_named, knowledge.PLANTS, faults),
                _known("--substrate", mix or "peat_mix", knowledge.mix_named, knowledge.MIXES, faults),
                *_size(size, faults),
                holds_ml=hold or 0.0,
                facts=knowledge.own_facts(own) if own else None,
            )
        )
    for row in rows:
        if not faults and row.holds_ml and not 30 <= row.holds_ml < row.pot_ml:
            faults.append(
                f"--weighed-ml {row.holds_ml:g}: a pot of {row.pot_ml:.0f} ml can't hold that; give 30 ml or more, "
                f"less than the pot"
            )
    if faults:
        raise BadInput(faults)
    return _named_apart(rows)


def _own(word, faults):
    """The plant of a file of the owner's, None where the word names none."""
    if not plantfile.is_file(word or ""):
        return None
    try:
        return plantfile.load(word)
    except BadInput as fault:
        faults += [line for line in fault.faults if line not in faults]
        return None


def _known(option, word, look_up, table, faults):
    if option == "--plant" and plantfile.is_file(word or ""):
        return next(iter(table))  # its faults are told already
    key = look_up(word or "")
    if key is None:
        hint = nearest(word or "", table)
        file = ", or a plant file (.toml)" if option == "--plant" else ""
        faults.append(f"{option} {word or '(none)'}: not known{hint}; give one of {', '.join(table)}{file}")
        return next(iter(table))
    return key


def _size(text, faults):
    """(volume in ml, height in cm or 0) of "1.2" litres or "12x10.5" cm."""
    words = str(text or "").lower().replace(",", ".").removesuffix("cm").removesuffix("l").split("x")
    try:
        values = [float(word) for word in words]
    except ValueError:
        values = []
    if len(values) == 1 and POT_L[0] <= values[0] <= POT_L[1]:
        return values[0] * 1000, 0.0
    if len(values) == 2 and all(POT_CM[0] <= value <= POT_CM[1] for value in values):
        return recipe.pot_ml(*values), values[1]
    faults.append(
        f"--pot {text or '(none)'}: give its substrate in litres, {POT_L[0]:g} to {POT_L[1]:g}, or width x height of "
        f"it in cm, e.g. 12x10.5"
    )
    return 1000.0, 0.0


def _named_apart(rows):
    seen, found = {}, []
    for row in rows:
        name = row.name[:16]
        seen[name] = seen.get(name, 0) + 1
        found.append(row._replace(name=f"{name[:14]} {seen[name]}" if seen[name] > 1 else name))
    return found


def rig(name, tray_cm2, tray_wall_mm, tray_ml, on_feet, battery):
    """RigFacts. tray_ml: None for what floor and wall make; battery: (kind, cells, mah)."""
    if tray_ml is None:
        tray_ml = tray_cm2 * tray_wall_mm / 10
    return recipe.RigFacts(name, tray_cm2, tray_ml, *battery, on_feet)
