"""Boards where no loamstat answers: the first install on bare MicroPython, another program's board, a board with no
slot that can be run; and the way back to the slot before.
"""

from tuner import link_copy, link_plan, link_read, link_shell
from tuner.errors import LinkError
from tuner.link_flash import Flash
from tuner.link_tree import SLOTS, other, sha256

ROOT = "/main.py"
LIVE = "/live.txt"


def put_small(shell, path, data):
    """Replace a small file by rename: old or new, never half."""
    shell.write(path + ".new", data)
    shell.run(f"import os\nos.rename({path + '.new'!r}, {path!r})")


class First(Flash):
    """A board where no loamstat runs."""

    def install(self, replace, copies, dry_run):
        """Write what is missing, the root last; return the Version that runs then, None after a dry run.

        replace: another program's main.py may go; it is kept in the folder copies.
        """
        shell = link_shell.Shell(self.link)
        shell.enter(running=False)
        try:
            facts, root = shell.facts(), shell.listing("/")
            link_plan.refuse_board(facts)
            self.tell_board(facts)
            ours = "live.txt" in root or shell.hash(ROOT) == self.digest_of_root()
            foreign = "main.py" in root and not ours
            if foreign and not replace:
                raise LinkError(
                    f"{self.link.device}: the board runs another program (main.py, {root['main.py']} bytes).\n"
                    "It goes on. To put loamstat in its place, with a copy of it kept here: loamstat flash --replace"
                )
            self.tell_plan(root, ours, foreign)
        except LinkError:
            shell.resume()
            raise
        if dry_run:
            shell.resume()
            return None
        if foreign:
            folder = link_copy.keep_foreign(copies, {"main.py": shell.read(ROOT)})
            self.tell(f"Its main.py is kept in {folder}")
        return self.write(shell, ours)

    def write(self, shell, ours):
        """Write the slots, then the root; restart."""
        self.stage = "send" if ours else "first"
        if ours:
            held = (shell.read(LIVE) or b"a").decode("ascii", "replace").strip()
            self.slot = other(held) if held in SLOTS else "a"
            self.send(shell, self.slot)
        else:
            self.slot = "a"
            for slot in ("b", "a"):  # two alike: the second is there if flash cells of the first fail
                self.send(shell, slot)
        if not ours:
            put_small(shell, LIVE, b"a\n")
            put_small(shell, ROOT, self.tree.root)
        elif shell.watched:
            self.switch(shell, self.slot)
            return self.started()
        else:
            self.stage = "switch"
            put_small(shell, LIVE, f"{self.slot}\n".encode())
            if shell.hash(ROOT) == "":
                put_small(shell, ROOT, self.tree.root)
        self.stage = "switch"
        shell.restart()
        return self.started()

    def digest_of_root(self):
        """Return the SHA-256 of the root's main.py as this program has it."""
        return sha256(self.tree.root)

    def tell_board(self, facts):
        """Tell what the board is."""
        version = ".".join(map(str, facts.micropython))
        self.tell(f"{facts.machine}, MicroPython {version}, {facts.free // 1024} kB of flash free")

    def tell_plan(self, root, ours, foreign):
        """Tell what will change."""
        if ours:
            self.tell(f"loamstat is on it but does not run: {self.tree.number} is sent to the slot that is not live.")
        else:
            self.tell(f"loamstat {self.tree.number} is put into both slots, its root into main.py.")
        if "boot.py" in root:
            self.tell("Its boot.py stays as it is.")


def rollback(link, tree, tell, progress, now):
    """Return to the firmware of the other slot. Raises LinkError when that one is not whole."""
    version, state = link.version(), link_read.state(link)
    slot = other(version.slot)
    name, wrong = link_read.whole_slots(link)[slot]
    if wrong:
        raise LinkError(
            f"there is no version to return to: slot {slot} is not whole ({wrong}).\n"
            f"The board runs loamstat {version.number} from slot {version.slot}, as before."
        )
    link_plan.refuse_frost(state, now)
    go = Flash(link, tree, tell, progress)
    go.before, go.slot = version, slot
    return go.guarded(_roll, go, name)


def _roll(go, name):
    """Use the other slot and restart; return the Version that runs then."""
    go.stage = "switch"
    go.link.ask(f"use {go.slot}")
    go.tell("Restarting; waiting for the board.")
    now = go.link.restart()
    go.stage = "new"
    if now.slot != go.slot or now.tree != name:
        raise LinkError("the version before did not start: " + " ".join(go.link.ask("faults")[:-1]))
    return now
