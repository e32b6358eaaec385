"""A few strokes for drawings that print well: black on white, one font, symbols of the trade."""

from html import escape

INK, FAINT = "#26302b", "#6b756f"


class Drawing:
    """Lines of SVG in the making. All lengths are px; y points down."""

    def __init__(self, width, height, title):
        self.lines = [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" '
            f'height="{height}" role="img">',
            f"<title>{escape(title)}</title>",
            f"<style>text{{font:14px sans-serif;fill:{INK}}}.b{{font-weight:bold}}.s{{font-size:12px}}"
            f".h{{font:bold 17px sans-serif}}.w{{stroke:{INK};stroke-width:1.6;fill:none}}"
            f".t{{stroke:{INK};stroke-width:3;fill:none}}.d{{stroke:{FAINT};stroke-width:1.4;fill:none;"
            "stroke-dasharray:7 5}</style>",
            f'<rect width="{width}" height="{height}" fill="#ffffff"/>',
        ]

    def text(self, x, y, words, anchor="start", kind=""):
        """Words at a place; kind "b" bold, "s" small, "h" heading."""
        marked = f' class="{kind}"' if kind else ""
        self.lines.append(f'<text x="{x:g}" y="{y:g}" text-anchor="{anchor}"{marked}>{escape(words)}</text>')

    def texts(self, x, y, lines, anchor="start", kind="s", step=16):
        """Several lines of words."""
        for number, line in enumerate(lines):
            self.text(x, y + step * number, line, anchor, kind)

    def wire(self, *points, kind="w"):
        """A wire through points; kind "w" plain, "t" thick, "d" dashed."""
        path = " ".join(f"{x:g},{y:g}" for x, y in points)
        self.lines.append(f'<polyline points="{path}" class="{kind}"/>')

    def box(self, x, y, width, height, fill="#ffffff", kind="w", radius=0):
        """A box by its upper left corner."""
        self.lines.append(
            f'<rect x="{x:g}" y="{y:g}" width="{width:g}" height="{height:g}" rx="{radius}" class="{kind}" '
            f'style="fill:{fill}"/>'
        )

    def dot(self, x, y):
        """A joint of wires."""
        self.lines.append(f'<circle cx="{x:g}" cy="{y:g}" r="3.6" fill="{INK}"/>')

    def circle(self, x, y, radius, fill="#ffffff"):
        """A circle: a terminal, a lamp, a motor."""
        self.lines.append(f'<circle cx="{x:g}" cy="{y:g}" r="{radius:g}" class="w" style="fill:{fill}"/>')

    def ground(self, x, y):
        """The 0 V symbol, hanging from (x, y)."""
        self.wire((x, y), (x, y + 8))
        for half, down in ((11, 8), (7, 13), (3, 18)):
            self.wire((x - half, y + down), (x + half, y + down))

    def resistor(self, x, y, length=44):
        """A resistor lying down, its left end at (x, y)."""
        self.box(x, y - 7, length, 14)

    def resistor_down(self, x, y, length=40):
        """A resistor standing, its upper end at (x, y)."""
        self.box(x - 7, y, 14, length)

    def make(self, x, y, width=44):
        """A make contact lying down, its left end at (x, y): open at rest."""
        self.wire((x, y), (x + 10, y))
        self.wire((x + 10, y), (x + width - 12, y - 13))
        self.wire((x + width - 10, y), (x + width, y))

    def break_contact(self, x, y, width=44):
        """A break contact lying down, its left end at (x, y): closed at rest."""
        self.wire((x, y), (x + 10, y))
        self.wire((x + 10, y), (x + width - 6, y - 11))
        self.wire((x + width - 10, y - 15), (x + width - 10, y), (x + width, y))

    def coil(self, x, y, name, width=50):
        """A coil lying down, its left end at (x, y), its name inside."""
        self.box(x, y - 14, width, 28)
        self.text(x + width / 2, y + 5, name, "middle", "b")

    def group(self, **marks):
        """Begin a group with data marks; end it with done()."""
        self.lines.append("<g " + " ".join(f'data-{key}="{escape(str(value))}"' for key, value in marks.items()) + ">")

    def done(self):
        """End a group."""
        self.lines.append("</g>")

    def svg(self):
        """Return the whole drawing as SVG text."""
        return "\n".join([*self.lines, "</svg>", ""])
