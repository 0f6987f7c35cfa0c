"""Not one millilitre is pumped once water truly reaches the wires of a sensor in the tray: asked for by a scenario's
`stops_at_water`."""

from bisect import bisect_right


def judge(ev):
    """Findings on pulses that began though water stood at the wires when the board woke, and on rigs in which none
    ever did."""
    if not ev.scenario.expects["stops_at_water"]:
        return []
    wet = [sample["tray_wires_wet"] for sample in ev.samples]
    if not any(wet):
        return [ev.finding("", "never_wet")]
    times = [sample["t_s"] for sample in ev.samples]
    late = [p for p in ev.pulses if wet[bisect_right(times, p.t_s) - 1]]
    if not late:
        return []
    ml = sum(d[3] for p in late for d in ev.tubes if d[1] == p.channel and d[4] == "pulse" and 0 <= d[0] - p.t_s < 60)
    return [ev.finding("", "pumped_into_water", late[0].channel, late[0].t_s, pulses=len(late), ml=ml)]
