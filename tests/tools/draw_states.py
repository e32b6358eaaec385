"""Draw the phase table of controller.core.phases as hardware-notes/states.svg and states.md.

    python -m tests.tools.draw_states

Nothing here knows what follows what: every arrow and every cell comes from phases.TABLE. A test fails while the
drawn files differ from the table.
"""

from html import escape
from pathlib import Path

from controller.core import phases, reasons

FOLDER = Path(__file__).resolve().parents[2] / "hardware-notes"
# Where each phase's box stands: centre of the box. [px]
PLACES = {
    phases.HAND: (560, 60),
    phases.CHARGE: (140, 250),
    phases.REST: (560, 250),
    phases.DISCHARGE: (1120, 250),
    phases.BLIND: (840, 470),
}
WIDE, HIGH = 210, 66  # box [px]
APART = 15  # each of two opposite arrows is moved this far to its right [px]
COLOURS = {phases.CHARGE: "#f3c65f", phases.DISCHARGE: "#9fd3f2", phases.BLIND: "#e3b9d0"}


def words(phase):
    """The phase's name as the drawing writes it."""
    return reasons.PHASE_WORDS[phase].upper()


def everywhere():
    """Return {condition: phase} for the conditions under which every phase goes to the same one."""
    return {
        condition: phases.TABLE[0][condition]
        for condition in phases.CONDITIONS
        if len({phases.TABLE[phase][condition] for phase in phases.PHASES}) == 1
    }


def arrows():
    """Return {(from, to): [conditions]} for all moves between two phases but those that hold everywhere."""
    found = {}
    for phase in phases.PHASES:
        for condition in phases.CONDITIONS:
            after = phases.TABLE[phase][condition]
            if after != phase and condition not in everywhere():
                found.setdefault((phase, after), []).append(condition)
    return found


def labels(conditions):
    """Return the lines that name some conditions: all of them together are "anything else"."""
    if len(conditions) == len(phases.CONDITIONS) - len(everywhere()):
        return ["anything else"]
    return [phases.CONDITION_WORDS[condition] for condition in conditions]


def border(point, towards, centre):
    """Return where the line from a point inside a box towards another leaves the box around centre."""
    ways = []
    for axis, half in ((0, WIDE / 2), (1, HIGH / 2)):
        step = towards[axis] - point[axis]
        if step:
            ways.append((centre[axis] + (half if step > 0 else -half) - point[axis]) / step)
    share = min(ways)
    return tuple(point[axis] + (towards[axis] - point[axis]) * share for axis in (0, 1))


def arrow(start, end, lines):
    """Return the SVG of one arrow between two boxes' centres, with its label on its right-hand side."""
    length = ((end[0] - start[0]) ** 2 + (end[1] - start[1]) ** 2) ** 0.5
    right = (-(end[1] - start[1]) / length, (end[0] - start[0]) / length)
    a, b = ((x + right[0] * APART, y + right[1] * APART) for x, y in (start, end))
    (x1, y1), (x2, y2) = border(a, b, start), border(b, a, end)
    out = [f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" class="move" marker-end="url(#tip)"/>']
    along = 0.76 if x1 != x2 and y2 < y1 else 0.5  # slanted arrows upwards: clear of their neighbours
    x, y = x1 + (x2 - x1) * along + right[0] * 10, y1 + (y2 - y1) * along + right[1] * 10
    anchor = "middle" if abs(right[0]) < 0.3 else ("start" if right[0] > 0 else "end")
    top = y + 4 - 15 * (len(lines) - 1) * (0.5 - right[1] / 2) + 6 * right[1]
    for number, line in enumerate(lines):
        out.append(f'<text x="{x:.1f}" y="{top + 15 * number:.1f}" text-anchor="{anchor}">{escape(line)}</text>')
    return out


def box(phase):
    """Return the SVG of one phase's box, with the conditions that lead to it from everywhere."""
    x, y = PLACES[phase]
    fill = COLOURS.get(phase, "#f4f6f4")
    out = [
        f'<rect x="{x - WIDE / 2:.0f}" y="{y - HIGH / 2:.0f}" width="{WIDE}" height="{HIGH}" rx="9" fill="{fill}"/>',
    ]
    leads = [phases.CONDITION_WORDS[condition] for condition, after in everywhere().items() if after == phase]
    name_y = y - 2 if leads else y + 6
    out.append(f'<text x="{x}" y="{name_y}" text-anchor="middle" class="name">{escape(words(phase))}</text>')
    if leads:
        told = "from all: " + ", ".join(leads)
        out.append(f'<text x="{x}" y="{y + 20}" text-anchor="middle">{escape(told)}</text>')
    return out


def svg():
    """Return the whole drawing as SVG text."""
    lines = [
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1260 550" width="1260" height="550" role="img">',
        "<title>The phases and what leads from one to the next</title>",
        "<style>text{font:13px sans-serif;fill:#26302b}.name{font:bold 17px sans-serif}"
        "rect{stroke:#26302b;stroke-width:1.4}.move{stroke:#26302b;stroke-width:1.4}</style>",
        '<defs><marker id="tip" viewBox="0 0 10 10" refX="9" refY="5" markerWidth="8" markerHeight="8" '
        'orient="auto"><path d="M0 0L10 5L0 10z" fill="#26302b"/></marker></defs>',
        '<rect width="1260" height="550" fill="#ffffff" style="stroke:none"/>',
    ]
    for (before, after), conditions in arrows().items():
        lines += arrow(PLACES[before], PLACES[after], labels(conditions))
    for phase in phases.PHASES:
        lines += box(phase)
    lines.append(
        '<text x="35" y="535">A condition that no arrow names leaves the phase as it is. '
        "Exactly one condition holds at each step.</text>"
    )
    return "\n".join([*lines, "</svg>", ""])


def markdown():
    """Return the text of states.md: the picture and the whole table."""
    head = ["condition", *(words(phase) for phase in phases.PHASES)]
    lines = [
        "# Phases",
        "",
        "Drawn from the table in `controller/core/phases.py` by `python -m tests.tools.draw_states`; do not edit.",
        "",
        "![The phases and what leads from one to the next](states.svg)",
        "",
        "The same as a table: the column is the phase that is on, the row the condition that holds at the step, the",
        "cell the phase from then on. A dash: no change.",
        "",
        "| " + " | ".join(head) + " |",
        "|" + "---|" * len(head),
    ]
    for condition in phases.CONDITIONS:
        cells = [
            "-" if phases.TABLE[phase][condition] == phase else words(phases.TABLE[phase][condition])
            for phase in phases.PHASES
        ]
        lines.append(f"| {phases.CONDITION_WORDS[condition]} | " + " | ".join(cells) + " |")
    lines += ["", "The reasons and alarms in words: [phases, reasons and alarms](phases-and-reasons.md)."]
    return "\n".join([*lines, ""])


def drawn():
    """Return {file name: text} of all that is drawn."""
    return {"states.svg": svg(), "states.md": markdown()}


if __name__ == "__main__":
    for name, text in drawn().items():
        (FOLDER / name).write_text(text, encoding="utf-8", newline="\n")
        print(FOLDER / name)
