"""Boots the firmware in the simulated world, reset after reset. Runs under MicroPython.

The host's files stay under /host; the board's own flash, littlefs in a Nor, is the root.
"""

import gc
import os
import sys

import vfs

HOST = "/host"
MAIN = "/main.py"
FIRMWARE = ("controller",)


class Life:
    """The flash as one mount sees it. Once over, nothing that was left open can reach the flash any more.

    The collector closes forgotten files with its heap locked: once over, these methods must not allocate.
    """

    def __init__(self, nor):
        self.nor = nor
        self.over = False

    def readblocks(self, number, buffer, offset=0):
        """Read, while it lasts."""
        if not self.over:
            self.nor.readblocks(number, buffer, offset)

    def writeblocks(self, number, buffer, offset=None):
        """Write, while it lasts."""
        if not self.over:
            self.nor.writeblocks(number, buffer, offset)

    def ioctl(self, operation, argument):
        """Answer as the flash does; erase nothing once over."""
        return 0 if self.over and operation == 6 else self.nor.ioctl(operation, argument)


class Rig:
    """world: the World. nor: the flash. here: the repository on the host."""

    def __init__(self, here, blocks=352, path=None, fresh=True):
        self.here = here
        host = vfs.VfsPosix("/")
        vfs.umount("/")
        vfs.mount(host, HOST)
        self.inner = HOST + here + "/tests/rig/inner"
        sys.path[:] = [self.inner + "/fakes", self.inner]
        if path is not None:
            path = HOST + path
        from nor import Nor
        from world import world

        self.nor = Nor(blocks, path)
        self.world = world
        world.nor = self.nor
        if fresh:
            vfs.VfsLfs2.mkfs(self.nor, progsize=256)
        self.mounted = False
        self.past = []
        self.mount()
        for name in ("time", "machine", "onewire"):  # before the built-in ones
            sys.modules.pop(name, None)
            self._stand_in(name)

    def _stand_in(self, name):
        space = {"__name__": name}
        with open(self.inner + "/fakes/" + name + ".py") as file:
            exec(file.read(), space)
        sys.modules[name] = Space(space)

    def mount(self):
        """The board's flash is the root."""
        if self.mounted:
            self.unmount()
        self.life = Life(self.nor)
        system = vfs.VfsLfs2(self.life, progsize=256)
        # A file that a cut left open is closed whenever the collector finds it: the file system it belongs to must
        # still be there then, or the interpreter writes into freed memory.
        self.past.append(system)
        vfs.mount(system, "/")
        self.mounted = True

    def unmount(self):
        """Take the board's flash away."""
        try:
            vfs.umount("/")
        except OSError:
            pass  # it is gone all the same
        self.life.over = True
        self.mounted = False

    def mount_again(self):
        """Power is back: mount what the flash holds. Files left open by the cut are forgotten before that."""
        self.nor.dead = True
        self.life.over = True
        self.unmount()
        gc.collect()
        self.nor.power()
        self.mount()

    def install(self, slot="a", version=None, live=True):
        """Copy the firmware into a slot, list its digests, and put the root main.py there."""
        copy(HOST + self.here + "/controller/board/chooser.py", MAIN)
        lines = []
        for folder in ("", "/core", "/board"):
            make("/" + slot)
            make("/" + slot + "/controller")
            make("/" + slot + "/controller" + folder)
            for name in sorted(os.listdir(HOST + self.here + "/controller" + folder)):
                if name.endswith(".py"):
                    path = "controller" + folder + "/" + name
                    copy(HOST + self.here + "/" + path, "/" + slot + "/" + path)
                    if version and name == "version.py":
                        write("/" + slot + "/" + path, 'VERSION = "%s"\n' % version)
                    lines.append(digest("/" + slot + "/" + path) + " " + path)
        write("/" + slot + "/digest.txt", "\n".join(lines) + "\n")
        if live:
            write("/live.txt", slot + "\n")

    def boot(self):
        """Run the root main.py until the chip stops or the program ends; return why, or the exception that ended it."""
        for name in [name for name in sys.modules if name.split(".")[0] in FIRMWARE]:
            del sys.modules[name]
        sys.path[:] = [place for place in sys.path if place not in ("/a", "/b")]
        gc.collect()
        from world import Gone

        space = {"__name__": "__main__"}
        self.space = space
        self.tapped = False
        self.world.on_feed = self._lend_port
        with open(MAIN) as file:
            code = file.read()
        try:
            exec(code, space)
        except Gone:
            return self.world.why
        except KeyboardInterrupt as fault:
            return fault
        except Exception as fault:
            return fault
        return "returned"

    def _lend_port(self):
        """As soon as the slot is imported, and before it runs, its port becomes the world's."""
        main = sys.modules.get("controller.board.main")
        if main is not None and hasattr(main, "Port"):
            main.Port = lambda: self.world.port
            self.world.on_feed = None

    def tap(self, seen):
        """Let seen(settings, raw, reading, state) be called after each step of the core, from now until the reset."""
        decide, screen = sys.modules.get("controller.core.decide"), sys.modules.get("controller.core.screen")
        if self.tapped or decide is None or screen is None:
            return
        self.tapped = True
        screen_step, decide_step, raw = screen.step, decide.step, [None]

        def note_raw(state, now):
            raw[0] = now
            return screen_step(state, now)

        def note_state(settings, state, reading):
            after = decide_step(settings, state, reading)
            seen(settings, raw[0], reading, after)
            return after

        screen.step, decide.step = note_raw, note_state

    def ask(self, line):
        """Send a person's line to the console; the answer is in world.port.take() a moment later."""
        self.world.port.send(line.encode() + b"\n")

    def run(self, until_s, most_resets=1000):
        """Boot, and again after each reset, until the world's time is until_s. Return the list of why each ended.

        Afterwards the flash is mounted, as the last moment left it, for the scene to look at.
        """
        self.world.until_ms = int(until_s * 1000)
        ends = []
        while len(ends) <= most_resets:
            why = self.boot()
            ends.append(why)
            if why == "end" or self._wait_for_watchdog(why):
                break
            self.reset(power=why == "power")
        self.mount_again()
        return ends

    def _wait_for_watchdog(self, why):
        """Let time pass after a program that ended: nobody feeds the watchdog. Return True when the time is up."""
        world = self.world
        if why in ("watchdog", "reset", "power"):
            return False
        try:
            world.advance(max(world.deadline_ms + 1 - world.ms, 0))
        except BaseException:  # Gone
            pass
        return world.why == "end" and world.ms >= world.until_ms

    def reset(self, power=False):
        """A reset of the chip: what was not on flash is gone."""
        self.mount_again()
        self.world.reset(power)


class Space:
    """A module made of a dict."""

    def __init__(self, space):
        for name in space:
            setattr(self, name, space[name])


def make(path):
    """Make a folder unless it is there."""
    try:
        os.mkdir(path)
    except OSError:
        pass


def copy(source, target):
    """Copy a file."""
    with open(source, "rb") as file:
        data = file.read()
    with open(target, "wb") as file:
        file.write(data)


def write(path, text):
    """Write a text file."""
    with open(path, "w") as file:
        file.write(text)


def digest(path):
    """Return a file's SHA-256 in hexadecimal."""
    import binascii
    import hashlib

    with open(path, "rb") as file:
        return binascii.hexlify(hashlib.sha256(file.read()).digest()).decode()
