"""Which boards there are, and which one a command means.

Looking stops nothing: a port is asked one line, and only where it looks like a board or was named.
"""

from dataclasses import dataclass

from tuner import link, link_ports
from tuner.errors import LinkError

NONE = (
    "no board was found.\n"
    "Plug it in by a lead that carries data (some only charge), and look with: loamstat boards\n"
    "A new board needs MicroPython first: pick your board on micropython.org/download and save its file.\n"
    "RP2040 or RP2350: hold the BOOT button while plugging it in, and copy the .uf2 file onto the drive that appears.\n"
    "ESP32: the same page tells how. Then run this again."
)
LOOKS = 3
KINDS = {
    "prompt": "MicroPython, nothing runs: loamstat flash puts loamstat on it",
    "broken": "loamstat, but neither slot can be run: loamstat flash sends it again",
    "talks": "another program",
    "silent": "does not answer: another program, or no MicroPython",
}


@dataclass(frozen=True)
class Found:
    """One port. kind: of Link.look, or "shut" (cannot be opened) or "other" (was not asked). version: link.Version."""

    port: link_ports.Port
    kind: str
    words: str
    version: object = None


def look(port):
    """Return the Found of one Port."""
    try:
        with link.Link(port.device) as one:
            kind, text = one.look()
            if kind == "loamstat":
                return Found(port, kind, text.removeprefix("ok "), link.parsed_version(text))
    except LinkError as fault:
        return Found(port, "shut", str(fault))
    return Found(port, kind, KINDS[kind])


def all_boards(device=None):
    """Return a Found for each port, or for the one named."""
    if device:
        known = {port.device: port for port in link_ports.found()}
        return [look(known.get(device, link_ports.Port(device, "named", True)))]
    other = "another kind of USB device; not asked unless named by --port"
    return [look(port) if port.likely else Found(port, "other", other) for port in link_ports.found()]


def pick(device=None, new=False):
    """Return the device name of the board that a command means: the one named, or the only one found.

    new: a board without loamstat will do. Raises LinkError when there is none or more than one.
    """
    if device:
        return device
    wanted = ("loamstat", "prompt", "broken") if new else ("loamstat",)
    boards, fit = [], []
    for _ in range(LOOKS):  # a board that is just starting answers a little later
        boards = all_boards()
        fit = [one for one in boards if one.kind in wanted]
        if fit or not any(one.kind in ("talks", "silent") for one in boards):
            break
    if len(fit) == 1:
        return fit[0].port.device
    if fit:
        listed = "\n".join(f"  {one.port.device}: {one.words}" for one in fit)
        raise LinkError(f"{len(fit)} boards are plugged in:\n{listed}\nName one: --port {fit[0].port.device}")
    shut = [one for one in boards if one.kind == "shut"]
    if shut:
        raise LinkError(shut[0].words)
    rest = [one for one in boards if one.kind != "other"]
    if not rest:
        raise LinkError(NONE)
    listed = "\n".join(f"  {one.port.device}: {one.words}" for one in rest)
    more = f"\nIf it is the board: --port {rest[0].port.device}" if new else ""
    raise LinkError(f"no board that runs loamstat was found:\n{listed}{more}")
