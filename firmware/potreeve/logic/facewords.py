"""What is wrong and what to do, in so few words that they fit the display: 16 letters a line, six lines in all.

One text, for a table of many takes more room. Numbers: of reasons; from ERROR on the bits of errors.*, lowest first.
The long sentences for a desktop are the tool's.
"""

WIDE = 16
LINES = 6

MEMORY = 100
BATTERY_DAYS = 101
INSIST = 102
ERROR = 110

_WORDS = """
1|Probe wire open or unplugged.|Check its plug and cable.
2|Probe shorted or silent.|Check its plug and cable for damp.
3|Probe readings jump about.|Fasten its contacts.
4|Reading beyond its calibration.|Seat the probe, calibrate it anew.
5|Its reading never moves.|Unplug the probe and plug it in.
6|Probe reads as dry as air.|Push it in, press soil to it.
7|Reading fell too fast.|See that the probe stands firm.
8|Reads wet in days of thirst.|Wet or not? Dry and reseat the probe.
9|Asks for ever less water.|Feel the soil. Clean and reseat the probe.
20|Water given, but no rise seen.|Check tub, tube and its end.
21|Moisture rises by itself.|Look at tube and pump. Empty the tray.
22|Its water went to another pot.|Put each tube into its own pot.
23|Too wet for half a day.|Let it drain. Empty the tray.
24|Probe or pump not calibrated.|Run: potreeve calibrate
31|Its water for the day is used up.|Nothing: it waits.
32|The day's water for all is used up.|Nothing: it waits.
33|The tray may be full.|Empty it. Then hold the button 2 s, twice.
34|Battery too low to pump.|Charge it or change it.
35|Dry for long: the plant suffers.|Water by hand. Check tub and tube.
36|Stays full: water comes by itself.|Tray? Tube's end? Empty the tray.
37|Most water runs through.|Empty the tray. Check tube, probe.
38|No water for two days, though due.|Water by hand. Empty the tray.
40|Someone else watered it.|Nothing.
50|You hold it: no water at all.|Tray empty? Hold the button 2 s: go on.
51|It started over too often.|Check battery and contacts.
52|No settings that can run.|Push settings by a computer.
53|A file of the board is damaged.|Flash it again.
54|A pot rises as another gets water.|Check pumps and tubes.
55|Pots rise with nothing given.|Siphon? Empty tray. Hold 2 s, twice.
56|Water stands in the tray.|Find whence. Empty and dry it.
57|Pressed empty, but the tray is wet.|Empty and dry it, then 2 s, twice.
58|The tub is empty.|Fill the tub.
60|The tub lasts a week or less.|Fill the tub.
61|The tub loses more than it gives.|Look for a leak or a siphon.
62|Tub falls less than was pumped.|Float free? Does each tube bring?
63|A float in the tub can't be right.|Free it. Check its wires.
100|Memory of what it gave is lost.|Empty the tray. Hold 2 s, twice.
101|Battery for a week or less.|Charge it or change it.
102|Settings may let a plant starve.|Run: potreeve status
110|Ledger can't be written: no water.|Run: potreeve status
111|The log can't be written.|Pull the log by a computer.
112|Air sensor does not answer.|Check its wires.
113|Light sensor does not answer.|Check its wires.
114|Battery can't be measured.|Check its divider.
115|New settings won't do: old ones run.|Push them again.
116|A probe could not be read.|Check the wires of probes.
117|A pump failed in mid-pulse.|Check pump and driver.
118|The clock does not answer.|Check its wires and cell.
119|Button, light or display failed.|Check its wires.
120|A report could not be sent.|Nothing, unless it is often.
121|A file of the board is damaged.|Flash it again.
122|A wake could not be stored.|Run: potreeve status
123|Sensor in tray open or shorted.|Check its wires.
124|Sensor of the tub shows nonsense.|Check its floats and wires.
125|Thermometer in the soil is silent.|Check its wires.
"""


def of(code):
    """(lines of what is wrong, lines of what to do) of a number, also of one this version does not know."""
    begin = _WORDS.find("\n%d|" % code)
    if begin < 0:
        return wrapped("For a reason of number %d." % code), wrapped("Run: potreeve status")
    words = _WORDS[begin + 1 : _WORDS.find("\n", begin + 1)].split("|")
    return wrapped(words[1]), wrapped(words[2])


def wrapped(text):
    """Lines of at most WIDE letters; a word that is longer is cut."""
    lines = []
    line = ""
    for word in text.split():
        if line and len(line) + 1 + len(word) > WIDE:
            lines.append(line)
            line = ""
        line = (line + " " + word if line else word)[:WIDE]
    lines.append(line)
    return lines


# Letters of Latin-1 from 0xC0 on, by the nearest the display's font has.
_PLAIN = "AAAAAAACEEEEIIIIDNOOOOOxOUUUUYPsaaaaaaaceeeeiiiidnooooo/ouuuuypy"


def plain(text):
    """A name in the letters of the display's font, at most WIDE of them."""
    shown = ""
    for letter in text[:WIDE]:
        code = ord(letter)
        if 0xC0 <= code < 0x100:
            letter = _PLAIN[code - 0xC0]
        elif not 32 <= code < 127:
            letter = "?"
        shown += letter
    return shown
