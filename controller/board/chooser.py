"""The board's root main.py: it starts one of two slots and never changes in an upgrade.

What lives here: which slot is live, whether it is whole, three tries for a new one, the way back to the other; the
watchdog; the 16 bytes that survive a reset. It is copied to /main.py when a board is set up and belongs to the board
from then on, so it knows both kinds of chip itself and imports nothing of a slot before it is sure of it.
What never does: a decision, an output, a setting.

The bytes that survive a reset (the rest is survive.py's): 0 sum, 1 slot and tries, 2 mark.
"""

import binascii
import hashlib
import os
import sys
import time

import machine

WATCHDOG_MS = 8000  # an RP2040 can wait 8388 ms at most
LIVE = "/live.txt"
SLOTS = ("a", "b")
TRIES = 3  # resets before ten minutes are over, then the other slot's turn
MEMORY_BYTES = 16
SUM, SLOT, MARK = 0, 1, 2
RUNNING, FAULT, INTERRUPT, BOOTING = 0, 1, 2, 3  # a reset under these marks was not intended
HOST, RESTART = 16, 17  # under these it was
INTENDED = 16


class Memory:
    """Sixteen bytes that survive a watchdog reset: no flash is worn by them.

    RP2040 and RP2350: watchdog scratch registers 0 to 3 (data sheets, chapter Watchdog; the boot loaders use 4 to 7).
    ESP32: the RTC's memory, which MicroPython leaves alone at a reset.
    """

    def __init__(self):
        self.data = bytearray(MEMORY_BYTES)
        chip = getattr(sys.implementation, "_machine", "")
        self.first = 0 if sys.platform == "esp32" else 0x400D800C if "RP2350" in chip else 0x4005800C

    def load(self):
        """Read the bytes; return True when they are whole, or False (power-on) with all of them 0."""
        if self.first:
            for i in range(MEMORY_BYTES):
                self.data[i] = machine.mem32[self.first + (i & ~3)] >> 8 * (i & 3) & 0xFF
        else:
            held = getattr(machine.RTC(), "memory")()  # noqa: B009 - the other boards' stubs do not know it
            self.data[:] = held if len(held) == MEMORY_BYTES else bytes(MEMORY_BYTES)
        if self.data[SUM] == self._sum():
            return True
        for i in range(MEMORY_BYTES):
            self.data[i] = 0
        return False

    def keep(self):
        """Write the bytes where they survive a reset."""
        data = self.data
        data[SUM] = self._sum()
        if not self.first:
            getattr(machine.RTC(), "memory")(bytes(data))  # noqa: B009
            return
        for i in range(0, MEMORY_BYTES, 4):
            machine.mem32[self.first + i] = data[i] | data[i + 1] << 8 | data[i + 2] << 16 | data[i + 3] << 24

    def _sum(self):
        return (sum(self.data) - self.data[SUM] + 90) & 0xFF  # 90: neither all zeros nor all ones pass


class Boot:
    """What a slot is handed: run(boot) finds slot, fell, woke, memory, watchdog here.

    slot: the letter of the slot that runs. fell: "" or why it is not the one that was live. woke: True after a
    power-on, False after a reset. watchdog: feed() it. memory: Memory.
    """

    def __init__(self, watchdog):
        self.watchdog = watchdog
        self.memory = Memory()
        self.woke = not self.memory.load()
        self.slot = live()
        self.fell = ""
        self.tries = 0

    def mark(self, mark):
        """Say what a reset from now on means: RUNNING, FAULT, INTERRUPT, HOST or RESTART."""
        self.memory.data[MARK] = mark
        self.memory.keep()

    def settled(self):
        """Call ten minutes after the start: the slot has proved itself."""
        self.tries = 0
        self.memory.data[SLOT] = SLOTS.index(self.slot) << 2
        self.memory.keep()

    def count_try(self):
        """Book a reset that nobody intended to the slot that was running."""
        data = self.memory.data
        number = SLOTS.index(self.slot)
        if not self.woke and data[MARK] < INTENDED and data[SLOT] >> 2 == number:
            self.tries = min((data[SLOT] & 3) + 1, TRIES)
        data[SLOT] = number << 2 | self.tries

    def intact(self, slot):
        """Return "" when every file of the slot is as its digest.txt says, or what is wrong."""
        return intact(slot, self.watchdog)

    def use(self, slot):
        """Make a slot the live one from the next start on. The file is replaced by rename: old or new, never half."""
        put_live(slot)

    def restart(self):
        """Reset on purpose."""
        self.mark(RESTART)
        machine.reset()


def live():
    """Return the letter of the live slot, "a" when the file that names it is missing or bad."""
    try:
        with open(LIVE) as file:
            name = file.read(8).strip()
    except (OSError, ValueError):
        return "a"
    return name if name in SLOTS else "a"


def put_live(slot):
    """Replace the file that names the live slot."""
    with open(LIVE + ".new", "w") as file:
        file.write(slot + "\n")
    os.rename(LIVE + ".new", LIVE)


def intact(slot, watchdog):
    """Return "" when every file that /<slot>/digest.txt lists has the SHA-256 written before it, or what is wrong."""
    try:
        with open("/" + slot + "/digest.txt") as file:
            lines = file.read().split("\n")
        listed = [line.split(" ", 1) for line in lines if line]
        for wanted, path in listed:
            if hex_digest("/" + slot + "/" + path, watchdog) != wanted:
                return path + " is not as sent"
    except (OSError, ValueError) as fault:
        return "cannot be checked: " + str(fault)
    return "" if listed else "its digest.txt is empty"


def hex_digest(path, watchdog):
    """Return the SHA-256 of a file in hexadecimal. The watchdog is fed: forty files take a second or two."""
    digest = hashlib.sha256()
    with open(path, "rb") as file:
        while True:
            part = file.read(512)
            if not part:
                break
            digest.update(part)
    watchdog.feed()
    return binascii.hexlify(digest.digest()).decode()


def other(slot):
    """Return the other slot's letter."""
    return SLOTS[1 - SLOTS.index(slot)]


def load(slot):
    """Import a slot's firmware and return its run function."""
    for name in [name for name in sys.modules if name.split(".")[0] == "controller"]:
        del sys.modules[name]
    sys.path[:] = [place for place in sys.path if place not in ("/a", "/b")]
    sys.path.insert(0, "/" + slot)
    return __import__("controller.board.main", None, None, ("run",)).run


def candidates(boot):
    """Yield (slot, why it is not the live one) in the order in which they are worth a try.

    A slot whose digest fails comes last, not never: a spoilt comment must not cost the plants.
    """
    first = boot.slot
    if boot.tries >= TRIES and not boot.intact(other(first)):
        boot.tries = 0
        yield other(first), first + " was reset three times before ten minutes"
    spoilt = boot.intact(first)
    if not spoilt:
        yield first, ""
    if not boot.intact(other(first)):
        yield other(first), first + ": " + (spoilt or "does not import")
    yield first, "neither slot is whole"
    yield other(first), "neither slot is whole"


def start(boot):
    """Run the first slot that imports. Return when its run returned, or False when no slot can be run."""
    boot.count_try()
    tried = {}
    for slot, why in candidates(boot):
        if slot in tried:
            continue
        tried[slot] = True
        boot.memory.data[SLOT] = SLOTS.index(slot) << 2 | boot.tries
        boot.memory.keep()
        boot.watchdog.feed()
        try:
            run = load(slot)
        except Exception as fault:
            print("slot", slot, "does not import:", repr(fault))
            continue
        if slot != boot.slot:
            try:
                put_live(slot)
            except OSError as fault:
                print("live.txt was not written:", fault)
        boot.slot, boot.fell = slot, why
        boot.watchdog.feed()
        run(boot)
        return True
    return False


def wait_for_host(watchdog):
    """Nothing runs: keep the port open, so that a host can send the firmware again. All outputs float: off."""
    while True:
        print("no slot can be run: send the firmware again")
        for _ in range(20):
            watchdog.feed()
            time.sleep_ms(500)


if __name__ == "__main__":
    wdt = machine.WDT(timeout=WATCHDOG_MS)  # a host that stops this program feeds it as `wdt`
    boot = Boot(wdt)
    if not start(boot):
        wait_for_host(wdt)
