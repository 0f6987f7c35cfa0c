"""The plots, as the plain dicts that plotly.js draws.

A panel is {"id", "title", "note", "height", "data", "layout"}. Times are minutes
since the start ("m"); the page turns them into dates. Nothing is told apart by
colour alone: each line has its own dash, each area its own edge.
"""

from potreeve.logic import dosing

from potreeve_tools.rehearsal import outcome as definitions

INK, FAINT, RULE = "#2d2a26", "#756d60", "#e2d8c5"
LEAF, CLAY, WATER, OCHRE, STONE = "#47682f", "#a94f27", "#2a6788", "#bb8420", "#857c6e"
LEAF_WASH, WATER_WASH, OCHRE_WASH = "rgba(71,104,47,0.11)", "rgba(42,103,136,0.22)", "rgba(187,132,32,0.25)"
SERIF = "Charter, 'Bitstream Charter', 'Iowan Old Style', Palatino, Georgia, serif"


def make_panels(course, session, outcome):
    """All panels in the order of the page."""
    pots = [pot_panel(course, session, outcome, index) for index in range(len(outcome["pots"]))]
    return pots + [
        tray_panel(course, outcome),
        reservoir_panel(course),
        battery_panel(course, outcome),
        climate_panel(course),
        light_panel(course),
    ]


def base(top, unit, **more):
    """A layout with one y axis from 0 (or more["low"]) to `top`."""
    low = more.pop("low", 0)
    layout = {
        "margin": {"l": 64, "r": 68, "t": 10, "b": 26},
        "paper_bgcolor": "rgba(0,0,0,0)",
        "plot_bgcolor": "rgba(0,0,0,0)",
        "font": {"family": SERIF, "size": 13, "color": INK},
        "showlegend": False,
        "hovermode": "x unified",
        "hoverlabel": {"bgcolor": "#fffdf8", "bordercolor": RULE, "font": {"family": SERIF, "size": 13, "color": INK}},
        "xaxis": {
            "type": "date",
            "showgrid": False,
            "zeroline": False,
            "linecolor": FAINT,
            "ticks": "outside",
            "ticklen": 4,
            "tickcolor": FAINT,
            "tickfont": {"color": FAINT},
            "hoverformat": "%a %e %b, %H:%M",
            "nticks": 7,
            "tickformatstops": [
                {"dtickrange": [None, 43200000], "value": "%H:%M<br>%e %b"},
                {"dtickrange": [43200000, None], "value": "%e %b"},
            ],
            "showspikes": True,
            "spikemode": "across",
            "spikethickness": 1,
            "spikedash": "solid",
            "spikecolor": STONE,
            "spikesnap": "cursor",
        },
        "yaxis": {
            "range": [low, top],
            "fixedrange": True,
            "gridcolor": RULE,
            "zeroline": False,
            "nticks": 5,
            "tickformat": ",",
            "tickfont": {"color": FAINT},
            "ticksuffix": unit,
            "showticksuffix": "last",
        },
        "shapes": [],
        "annotations": [],
    }
    layout.update(more)
    return layout


def trace(line, name, colour, **more):
    """A line; more: dash, width, and whatever plotly knows."""
    style = {"color": colour, "width": more.pop("width", 2), "dash": more.pop("dash", "solid")}
    return {"type": "scatter", "mode": "lines", "m": line["m"], "y": line["v"], "name": name, "line": style, **more}


def level(layout, y, text, colour, dash="dash"):
    """Draw a level; its name stands in the right margin."""
    layout["shapes"].append(
        {
            "type": "line",
            "xref": "paper",
            "x0": 0,
            "x1": 1,
            "y0": y,
            "y1": y,
            "line": {"color": colour, "width": 1.2, "dash": dash},
        }
    )
    layout["annotations"].append(
        {
            "xref": "paper",
            "x": 1,
            "xanchor": "left",
            "xshift": 5,
            "y": y,
            "yanchor": "middle",
            "text": text,
            "showarrow": False,
            "font": {"size": 12.5, "color": colour},
        }
    )


def pot_panel(course, session, outcome, index):
    """Moisture of one pot, true and as read, with its levels, doses and alerts."""
    pot, channel, lines = outcome["pots"][index], session.checked["channels"][index], course["pots"][index]
    low_pm, high_pm = definitions.band(channel)
    refill, stress = dosing.refill_point_pm(channel), dosing.stress_point_pm(channel)
    seen = [v for v in lines["read"]["v"] + lines["true"]["v"] if v is not None]
    bottom = max(0, min([stress, *seen]) - 140)
    top = max([1090, *(v + 40 for v in seen if v < 1400)])
    most = max(lines["doses"]["v"], default=0) or 1
    layout = base(top, " ‰", low=bottom, bargap=0)
    layout["yaxis2"] = {
        "overlaying": "y",
        "side": "right",
        "range": [0, most * 3.6],
        "fixedrange": True,
        "showgrid": False,
        "zeroline": False,
        "tickvals": [0, most],
        "ticktext": ["0", f"{most} ml"],
        "tickfont": {"color": WATER},
    }
    layout["shapes"].append(
        {
            "type": "rect",
            "xref": "paper",
            "x0": 0,
            "x1": 1,
            "y0": low_pm,
            "y1": high_pm,
            "fillcolor": LEAF_WASH,
            "line": {"width": 0},
            "layer": "below",
        }
    )
    level(layout, 1000, "capacity", WATER, "dot")
    level(layout, refill, "refill", CLAY, "dash")
    data = [
        {
            "type": "bar",
            "m": lines["doses"]["m"],
            "y": lines["doses"]["v"],
            "yaxis": "y2",
            "name": "nearest dose",
            "bar": True,
            "customdata": lines["doses"]["pulses"],
            "marker": {"color": WATER_WASH, "line": {"color": WATER, "width": 1}},
            "hovertemplate": "%{y} ml in %{customdata} runs, %{x|%e %b %H:%M}",
        },
        trace(lines["read"], "as the probe read it", STONE, width=1.3, dash="dot", hovertemplate="%{y:.0f}"),
        trace(lines["true"], "in the pot", LEAF, width=2.4, hovertemplate="%{y:.0f}"),
    ]
    marks = [alert for alert in outcome["alerts"] if alert["pot"] == pot["name"]]
    if marks:
        data.append(
            {
                "type": "scatter",
                "mode": "markers",
                "when": [alert["when"] for alert in marks],
                "y": [top - 25] * len(marks),
                "name": "alert",
                "text": [wrapped(alert["what"]) for alert in marks],
                "hovertemplate": "%{text}",
                "marker": {
                    "symbol": "triangle-down",
                    "size": 10,
                    "color": CLAY,
                    "line": {"color": "#fffdf8", "width": 1},
                },
            }
        )
    return {
        "id": f"pot{index}",
        "title": pot["name"],
        "note": _pot_note(pot),
        "height": 260,
        "data": data,
        "layout": layout,
    }


def _pot_note(pot):
    share = "" if pot["in_band_pct"] is None else f"; {pot['in_band_pct']:.0f} % of the time in its band"
    doses = f"{pot['doses']} dose{'' if pot['doses'] == 1 else 's'}"
    return f"{pot['given_ml']:,.0f} ml in {doses}{share}; ended {pot['state']}{'' if pot['alive'] else ', dead'}"


def wrapped(text, width=56):
    """Text with line breaks for a hover label; angle brackets made harmless."""
    import textwrap

    return "<br>".join(textwrap.wrap(text.replace("&", "&amp;").replace("<", "&lt;"), width))


def tray_panel(course, outcome):
    """Water in the tray: true, and the most the board reckons with, under the rim."""
    rim = outcome["rig"]["tray_headroom_ml"]
    top = max([rim, *course["tray"]["v"], *course["tray_board"]["v"]]) * 1.14
    layout = base(top, " ml")
    level(layout, rim, "rim", CLAY, "solid")
    data = [
        trace(course["tray"], "in the tray", WATER, fill="tozeroy", fillcolor=WATER_WASH, hovertemplate="%{y:,}"),
        trace(
            course["tray_board"],
            "the most it could be, as the board counts",
            INK,
            width=1.3,
            dash="dot",
            hovertemplate="%{y:,}",
        ),
    ]
    note = (
        f"{outcome['rig']['tray_peak_ml']:,.0f} ml at most; the board counts cautiously and believes water is in the "
        f"tray "
        "until it must have dried up"
    )
    return {"id": "tray", "title": "tray", "note": note, "height": 190, "data": data, "layout": layout}


def reservoir_panel(course):
    """Water the pumps can still reach."""
    layout = base(max([0.1, *course["reservoir"]["v"]]) * 1.14, " l")
    data = [
        trace(
            course["reservoir"], "left to pump", WATER, fill="tozeroy", fillcolor=WATER_WASH, hovertemplate="%{y:.2f}"
        )
    ]
    return {
        "id": "reservoir",
        "title": "reservoir",
        "note": "what the pumps can still reach",
        "height": 150,
        "data": data,
        "layout": layout,
    }


def battery_panel(course, outcome):
    """State of charge: true, and as the board judges it."""
    data = [
        trace(course["charge"], "true charge", OCHRE, hovertemplate="%{y:.0f}"),
        trace(course["charge_board"], "as the board judges it", INK, width=1.3, dash="dot", hovertemplate="%{y:.0f}"),
    ]
    days = outcome["rig"]["battery_days_left"]
    left = "no end in sight" if days >= 999 else f"the board expects {days} days more"
    note = f"{outcome['rig']['charge_used_mah']:,.0f} mAh used; {left}"
    return {"id": "battery", "title": "battery", "note": note, "height": 160, "data": data, "layout": base(104, " %")}


def climate_panel(course):
    """Air on the sill: temperature left, relative humidity right."""
    temps = course["temp"]["v"]
    layout = base(max(temps) + 3, " °C", low=min(temps) - 3)
    layout["yaxis2"] = {
        "overlaying": "y",
        "side": "right",
        "range": [0, 104],
        "fixedrange": True,
        "showgrid": False,
        "zeroline": False,
        "tickmode": "array",
        "tickvals": [0, 50, 100],
        "ticktext": ["0", "50", "100 %"],
        "tickfont": {"color": WATER},
    }
    data = [
        trace(course["rh"], "relative humidity", WATER, width=1.2, dash="dot", yaxis="y2", hovertemplate="%{y} %"),
        trace(course["temp"], "temperature", CLAY, width=1.6, hovertemplate="%{y:.1f}"),
    ]
    return {
        "id": "climate",
        "title": "air on the sill",
        "note": "temperature (line), relative humidity (dots)",
        "height": 180,
        "data": data,
        "layout": layout,
    }


def light_panel(course):
    """Light on the sill."""
    data = [
        trace(
            course["light"], "light", OCHRE, width=1.1, fill="tozeroy", fillcolor=OCHRE_WASH, hovertemplate="%{y:.1f}"
        )
    ]
    return {
        "id": "light",
        "title": "light",
        "note": "on the sill, behind the glass",
        "height": 150,
        "data": data,
        "layout": base(max([0.1, *course["light"]["v"]]) * 1.1, " klx"),
    }
