"""What came of the mutants: as JSON, and as the list of survivors, a file that keeps the reasons given there."""

from pathlib import Path

from potreeve_tools.bench import mutantwalk
from potreeve_tools.bench.mutants import CRASHED, HUNG, JUDGES, SURVIVED

SCHEMA = "potreeve-mutants/1"
AIM_PCT = 90.0
SURVIVORS = Path(__file__).with_name("mutants_survivors.md")


def report(judged, took_s):
    """What `potreeve bench mutants --json` prints."""
    rows = []
    for module in dict.fromkeys(one.module for one in judged):
        mine = [one for one in judged if one.module == module]
        alive = [one for one in mine if one.by == SURVIVED]
        by = {name: sum(one.by == name for one in mine) for name in (*JUDGES, CRASHED, HUNG)}
        rows.append(
            {
                "module": module,
                "mutants": len(mine),
                "killed": len(mine) - len(alive),
                "killed_pct": round(100.0 * (len(mine) - len(alive)) / len(mine), 1),
                "by": by,
                "survivors": [{"line": one.line, "change": one.key, "seen": one.seen} for one in alive],
            }
        )
    return {
        "schema": SCHEMA,
        "aim_pct": AIM_PCT,
        "modules": rows,
        "s": round(took_s, 1),
        "good": all(row["killed_pct"] >= AIM_PCT for row in rows),
    }


def survivors_text(judged, before=""):
    """The list of survivors as Markdown; reasons in `before` (an earlier list) are kept."""
    reasons = read_reasons(before)
    lines = [
        "# Mutants that nothing notices",
        "",
        "Written by `potreeve bench mutants`, which keeps the reasons and drops what no longer survives. A reason "
        "begins with",
        "*equivalent* (the change can't be seen from outside), *not worth* (it can, and it does not matter) or *gap* "
        "(a test",
        "is missing). Without a reason it is a gap nobody has looked at. *Seen*: whether it decided otherwise in any "
        "of",
        f"{mutantwalk.WALKS * mutantwalk.STEPS:,} wakes of random walks.",
        "",
    ]
    for module in dict.fromkeys(one.module for one in judged):
        mine = [one for one in judged if one.module == module]
        alive = [one for one in mine if one.by == SURVIVED]
        lines += [f"## {module}: {len(mine) - len(alive)} of {len(mine)} noticed", ""]
        if alive:
            lines += ["| change | seen | reason |", "| --- | --- | --- |"]
            lines += [
                f"| `{_cell(one.key)}` | {'yes' if one.seen else 'no'} | {reasons.get((module, _cell(one.key)), '')} |"
                for one in alive
            ]
            lines.append("")
    return "\n".join(lines).rstrip() + "\n"


def _cell(text):
    return text.replace("|", "\\|").replace("`", "'")


def read_reasons(text):
    """{(module, change): reason} from a list of survivors."""
    found, module = {}, ""
    for line in text.splitlines():
        if line.startswith("## "):
            module = line[3:].split(":")[0]
        elif line.startswith("| `"):
            change, _, rest = line[3:].partition("` | ")
            found[module, change] = rest.partition(" | ")[2].rstrip("|").strip()
    return found


def keep_others(judged, before):
    """Sections of `before` about modules that were not judged this time, as text."""
    judged_modules = {one.module for one in judged}
    kept, take = [], False
    for line in before.splitlines():
        if line.startswith("## "):
            take = line[3:].split(":")[0] not in judged_modules
        if take:
            kept.append(line)
    return "\n".join(kept)


def write_survivors(judged, path=SURVIVORS):
    """Write the list; sections of modules that were not judged stay."""
    before = path.read_text(encoding="utf-8") if path.exists() else ""
    text = survivors_text(judged, before)
    others = keep_others(judged, before)
    path.write_text(text + ("\n" + others.strip() + "\n" if others.strip() else ""), encoding="utf-8")
