"""A calibration with a person at the rig, step by step; each step is stored before the next, so that it goes on
where it stopped."""

import click

from potreeve_tools.link import awake, calibrate_bench, calibrate_notes, calibrate_todo, settings_push, status_facts
from potreeve_tools.owner import calibrate_probe, calibrate_pump, calibrate_talk, calibrate_tray, calibrate_tub, recipe
from potreeve_tools.settings import settingsfile
from potreeve_tools.terminal import exits, screen
from potreeve_tools.terminal.faultlist import BadInput


class Sitting:
    """link: a connected Board; answers: file of answers or None; yes: agree to all. bench, talk, facts: for the
    steps."""

    def __init__(self, link, answers=None, yes=False):
        status_facts.need_firmware(link)
        self.link, self.yes = link, yes
        self.facts = status_facts.read(link)
        if self.facts.settings is None:
            raise exits.Stop(
                exits.FAILED,
                [
                    f"{link.port}: there are no settings on this board that pass the check; calibration needs to "
                    "know its pots.",
                    "Push some first: potreeve settings push FILE.",
                ],
            )
        self.bench = calibrate_bench.Bench(link)
        self.talk = calibrate_talk.Talk(answers, yes, lambda: awake.kept(link))

    @property
    def notes(self):
        """All notes on the board, oldest first."""
        return calibrate_notes.read(self.facts.files.get(calibrate_notes.NAME))

    def name(self, index):
        """A pot's name."""
        return self.facts.settings["channels"][index]["name"]

    def rows(self):
        """What is done and what is to do, see calibrate_todo."""
        return calibrate_todo.rows(self.facts.settings, self.notes)

    # ---- the steps -----------------------------------------------------------------------

    def dry(self, index):
        """Measure a probe in the air and keep that on the board until the pot is soaked."""
        air = calibrate_probe.dry(self.bench, self.talk, index, self.facts.settings)
        self._note(calibrate_notes.make("air", self.name(index), {}, "", {"air": list(air)}))
        click.echo(f"The dry end of {self.name(index)} is kept on the board; its wet end is still to do.", err=True)

    def wet(self, indexes):
        """Measure soaked and drained pots, and store their curves in one step."""
        air = {index: calibrate_todo.air_of(self.notes, self.name(index)) for index in indexes}
        lacking = [self.name(index) for index in indexes if air[index] is None]
        if lacking:
            raise exits.Stop(
                exits.FAILED, [f"{', '.join(lacking)}: measure the dry end first (potreeve calibrate probe --dry)."]
            )
        calibrate_probe.soaked(self.talk, len(indexes))
        self.store(
            {
                index: ("probe", *calibrate_probe.wet(self.bench, self.talk, index, self.facts.settings, air[index]))
                for index in indexes
            }
        )

    def point(self, index):
        """One more point of a curve, by kitchen scale."""
        known = calibrate_notes.last(self.notes, ("probe", "point"), self.facts.settings["channels"][index])
        self.store({index: ("point", *calibrate_probe.point(self.bench, self.talk, index, self.facts.settings, known))})

    def pump(self, index, ms=calibrate_pump.CUP_MS, runs=2, primed=False):
        """A pump into a cup."""
        found, seen = calibrate_pump.run(self.bench, self.talk, index, self.facts.settings, ms, runs, primed)
        self.store({index: ("pump", found, seen, None)})

    def tray(self):
        """The tray's sensor, dry and wet."""
        if not self.bench.tray_mv(1):
            raise exits.Stop(
                exits.FAILED,
                ["No sensor in the tray is wired on this board: its board file has no tray_probe in [extras]."],
            )
        self.store_table("tray_sensor", *calibrate_tray.run(self.bench, self.talk))

    def tub(self):
        """Floats or a strip in the tub, from empty to full."""
        extras = (self.facts.board or {}).get("extras", {})
        kind = extras.get("tub_kind", "none")
        if kind == "none":
            raise exits.Stop(
                exits.FAILED,
                ["No sensor in the tub is wired on this board: its board file has no tub_pins in [extras]."],
            )
        channels = self.facts.settings["channels"]
        found = calibrate_tub.run(self.bench, self.talk, len(extras["tub_pins"]), channels, kind == "strip")
        self.store_table("tub", *found)

    def go_on(self):
        """Do all that is still to do, in the order in which it takes least time; returns the rows as they are then."""
        while step := calibrate_todo.next_step(self.rows()):
            todo = [index for index, row in enumerate(self.rows()) if row[step] is None]
            if step == "dry":
                for index in todo:
                    self.dry(index)
                continue
            wet = [row["name"] for row in self.rows() if row["wet"] is None]
            if wet:
                calibrate_probe.tell_soak(self.talk, wet)
            if step == "pump":
                if wet:
                    self.talk.say("Set them to soak now. Meanwhile, the pumps:")
                for index in todo:
                    self.pump(index)
            if wet:
                self.wet([index for index, row in enumerate(self.rows()) if row["wet"] is None])
        return self.rows()

    # ---- storing -------------------------------------------------------------------------

    def _note(self, note):
        data = calibrate_notes.with_note(self.facts.files.get(calibrate_notes.NAME), note)
        self.link.write_file(f"data/{calibrate_notes.NAME}", data)
        self.facts.files[calibrate_notes.NAME] = data

    def store(self, found):
        """Show, ask, push as any settings, and note date and uncertainty.

        found: {index: (kind, {key: value}, how sure, more for the note)}. Raises Stop.
        """
        facts = self.facts
        new = {**facts.settings, "channels": [dict(table) for table in facts.settings["channels"]]}
        for index, (_, keys, _, _) in found.items():
            new["channels"][index].update(keys)
        new["rig_day_ml"] = recipe.follow_rig_day(facts.settings, new)
        new = self._checked(new)
        for index, (kind, _, _, more) in found.items():
            if kind == "probe":
                self._tell_lost_points(index, more)
        if not self._agreed(new):
            return
        for index, (kind, keys, sure, more) in found.items():
            self._note(calibrate_notes.make(kind, self.name(index), keys, sure, more))
        names = " ".join(self.name(index) for index in found)
        kinds = {kind for kind, _, _, _ in found.values()}
        sure = "; ".join(f"{self.name(index)} {row[2]}" for index, row in found.items())
        sure = sure if len(found) > 1 else next(iter(found.values()))[2]
        self._push(new, f"calibrate {'-'.join(kinds)} {names}", sure)

    def store_table(self, name, keys, sure):
        """The same for a table of its own, such as the tray's sensor's. Raises Stop."""
        new = self._checked({**self.facts.settings, name: {**self.facts.settings.get(name, {}), **keys}})
        if self._agreed(new):
            self._push(new, f"calibrate {name.replace('_', ' ')}", sure)

    def _checked(self, new):
        try:
            return settingsfile.check(new, "what was measured")
        except BadInput as fault:
            raise exits.Stop(
                exits.FAILED,
                [
                    *fault.faults,
                    "What was measured does not go with the other settings; change those first. Nothing was changed.",
                ],
            ) from None

    def _agreed(self, new):
        """Show what changes and ask; False where nothing does. Raises Stop."""
        if not settings_push.show(screen.console(), self.facts.settings, new, self.facts):
            click.echo("It is as it was: nothing to do.", err=True)
            return False
        if not self.yes and not self.talk.confirm("store", "Store this on the board?"):
            raise exits.Stop(exits.FAILED, ["Nothing was changed."])
        return True

    def _push(self, new, what, sure):
        kept = settings_push.push(self.link, self.facts, new, what)
        click.echo(
            f"Done and read back ({sure}). `potreeve settings undo` takes it back; a copy is kept: {kept.stem}.",
            err=True,
        )

    def _tell_lost_points(self, index, more):
        """Two ends that replace a curve with points between say so."""
        table = self.facts.settings["channels"][index]
        if not table["curve"]:
            return
        known = calibrate_notes.last(self.notes, ("probe", "point"), table)
        before = len(known["measured"]) if known and "measured" in known else len(table["curve"])
        now = len(more["measured"])
        if now < before:
            self.talk.say(
                f"{self.name(index)}: this curve has {now} measured points and replaces one of {before}. Points "
                "by scale are "
                "added again with potreeve calibrate probe --point; potreeve settings undo brings the old curve back."
            )
