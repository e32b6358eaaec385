"""Draw a section through the house: where the pipes lie and where each probe hangs."""

from tests.tools.svg import Drawing

GROUND, DEPTH = 420, 560  # floor level, pipe level [px]
SOIL = "#efe9df"


def places_svg():
    """Return the two sections: along the pipes left, across them right."""
    out = Drawing(1180, 720, "Where the pipes lie and the probes hang")
    out.text(24, 34, "Where the pipes lie and the probes hang (not to scale)", kind="h")
    _along(out)
    _across(out)
    out.texts(
        24,
        690,
        ["Probes: 1 house, with the humidity probe beside it; 2 soil; 3 outlet; 4 outside."],
        kind="",
    )
    return out.svg()


def _along(out):
    out.text(60, 70, "along the pipes", kind="b")
    out.box(20, GROUND, 720, 240, SOIL, "d")
    out.wire((120, GROUND), (120, 210), (380, 90), (640, 210), (640, GROUND))
    out.wire((20, GROUND), (740, GROUND), kind="t")
    for x in (112, 640):
        out.box(x, GROUND, 8, 190, "#c9d3cc")
    out.text(132, 640, "insulated edge, to pipe depth or deeper", kind="s")
    # inlet high under the ridge, fan, down pipe, pipe with a fall, outlet riser
    out.wire((180, 235), (180, DEPTH - 8), (480, DEPTH + 4), (480, 380))
    out.wire((200, 235), (200, DEPTH - 24), (460, DEPTH - 14), (460, 380))
    out.box(170, 290, 40, 34)
    out.text(190, 312, "fan", "middle", "s")
    out.texts(216, 232, ["inlet high, screened:", "warmest, dampest air"])
    out.texts(424, 366, ["outlet, screened"])
    out.wire((440, DEPTH), (440, DEPTH + 30), kind="d")
    out.texts(250, DEPTH + 46, ["pipe falls towards a point that can be drained or pumped"])
    _probe(out, 380, 250, "1", ["plant height, shaded, aired,", "away from outlet and glass"], 396, 246)
    out.wire((380, 96), (380, 238), kind="d")
    _probe(out, 470, 446, "3", ["in the air stream,", "a hand's breadth inside"], 490, 446)
    _probe(out, 700, 300, "4", ["north side,", "shaded, 1.5 m up"], 660, 336)
    _probe(
        out, 330, DEPTH - 12, "2", ["half way along, not in the pipe", "but between two: see right"], 240, DEPTH - 56
    )


def _across(out):
    out.text(800, 70, "across the pipes", kind="b")
    out.box(780, GROUND, 380, 240, SOIL, "d")
    out.wire((780, GROUND), (1160, GROUND), kind="t")
    for x in (850, 970, 1090):
        out.circle(x, DEPTH, 22)
    out.wire((910, GROUND - 20), (910, DEPTH))
    out.wire((918, GROUND - 20), (918, DEPTH))
    _probe(out, 914, DEPTH, "2", [], 0, 0)
    out.texts(930, GROUND - 40, ["tube, closed at the foot:", "the probe can be drawn and changed"])
    out.wire((850, DEPTH + 40), (914, DEPTH + 40))
    out.wire((914, DEPTH + 40), (970, DEPTH + 40))
    for x in (850, 914, 970):
        out.wire((x, DEPTH + 34), (x, DEPTH + 46))
    out.text(796, DEPTH + 66, "soil probe: at pipe depth, midway between two pipes", kind="s")
    out.wire((1130, GROUND), (1130, DEPTH), kind="d")
    out.text(1124, 500, "depth", "end", "s")


def _probe(out, x, y, name, words, text_x, text_y):
    out.circle(x, y, 11, "#f3c65f")
    out.text(x, y + 5, name, "middle", "b")
    if words:
        out.texts(text_x, text_y, words)
