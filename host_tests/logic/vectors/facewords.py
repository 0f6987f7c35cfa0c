"""The display's words, in lines of sixteen letters; names in letters it has."""

VECTORS = (
    ("of", (1,), (["Probe wire open", "or unplugged."], ["Check its plug", "and cable."])),
    ("of", (35,), (["Dry for long:", "the plant", "suffers."], ["Water by hand.", "Check tub and", "tube."])),
    ("of", (122,), (["A wake could not", "be stored."], ["Run: potreeve", "status"])),
    # A number of a later version.
    ("of", (0,), (["For a reason of", "number 0."], ["Run: potreeve", "status"])),
    ("of", (2550,), (["For a reason of", "number 2550."], ["Run: potreeve", "status"])),
    ("wrapped", ("",), [""]),
    ("wrapped", ("a" * 20 + " b",), ["a" * 16, "b"]),
    ("wrapped", ("one two three four five",), ["one two three", "four five"]),
    ("wrapped", ("eight888 seven77",), ["eight888 seven77"]),
    ("wrapped", ("eight888 eight888",), ["eight888", "eight888"]),
    ("plain", ("cherry tomato",), "cherry tomato"),
    ("plain", ("K\u00fcchenkr\u00e4uter am Fenster",), "Kuchenkrauter am"),
    ("plain", ("\u00c0\u00ff\u00df \u65e5\t~\x7f",), "Ays ??~?"),
    ("plain", ("",), ""),
)
