"""Putting firmware and settings on a board, so that at any moment it has a whole slot to run.

The order: look, plan, keep a copy, stop, write the slot that does not run, verify, switch by one small file, restart,
settings and roles, clock, proof. A failure at any byte leaves the old version live (or the new one, whole), and the
message says which and how to go on.
"""

from datetime import UTC, datetime

from tuner import link as links
from tuner import link_plan, link_proof, link_read, link_settings, link_shell, link_words
from tuner.errors import LinkError
from tuner.link_tree import FOLDERS, LIST, other

AGAIN = "To go on: run the same command again; what arrived whole is not sent again."
BACK_S = 12.0  # until a board whose port is still there answers again
RETURN_S = 3.0  # until a port that vanished is back, before we say that it is gone


class Flash:
    """One go at one board. tell(text) for what was done; progress(done, total) in bytes of the transfer.

    before: the Version that ran, None on a board without one. slot: where the firmware goes. stage: what a failure
    means for the board: "look", "send", "switch", "new" or "first".
    """

    def __init__(self, link, tree, tell, progress):
        self.link, self.tree, self.tell, self.progress = link, tree, tell, progress
        self.before, self.slot, self.stage = None, "", "look"

    def guarded(self, work, *words):
        """Do a piece of work; a failure in it tells what the board runs now and how to go on."""
        try:
            return work(*words)
        except KeyboardInterrupt:
            raise LinkError(f"stopped by you.\n{self.after()}") from None
        except LinkError as fault:
            if self.stage == "look":
                raise
            raise LinkError(f"{fault}\n{self.after()}") from None

    def after(self):
        """Return what the board runs now, after trying to start it again, and how to go on."""
        if self.stage == "first":
            return f"The board has no loamstat yet; all its outputs are off.\n{AGAIN}"
        now = self.revive()
        old = f"loamstat {self.before.number} from slot {self.before.slot}" if self.before else "its old firmware"
        if now is not None:
            same = self.before is not None and now.slot == self.before.slot
            words = "as before" if same else "the new one"
            return f"The board runs loamstat {now.number} from slot {now.slot}, {words}.\n{AGAIN}"
        if self.stage == "send":
            return (
                f"Slot {self.slot} was being written and was not switched to: the board starts by itself within 8 s "
                f"of power and runs {old}, as before.\n{AGAIN}"
            )
        if self.before is None:
            return f"All is on the board; it starts by itself. See what runs: loamstat boards\n{AGAIN}"
        return (
            f"The board was being switched from slot {other(self.slot)} to slot {self.slot}; both are whole, and one "
            f"of them runs. See which: loamstat boards\n{AGAIN}"
        )

    def revive(self):
        """Start the board again if it can be reached; return its Version, or None."""
        try:
            if self.link.look()[0] != "loamstat":
                shell = link_shell.Shell(self.link)
                shell.enter(running=False)
                shell.restart()
            return self.link.reopen(BACK_S)
        except LinkError:
            pass
        try:
            return self.link.reopen(RETURN_S)
        except LinkError:
            return None

    def send(self, shell, slot):
        """Write the whole tree into a slot, only files that differ, its list last, each verified.

        Raises LinkError; the slot is then not whole and is not used.
        """
        top = f"/{slot}"
        held = {}
        for folder in FOLDERS:
            held.update({f"{folder}/{name}": size for name, size in shell.listing(f"{top}/{folder}").items()})
        here = self.tree.digests
        todo = [path for path in here if held.get(path) is None or shell.hash(f"{top}/{path}") != here[path]]
        sizes = {path: len(self.tree.files[path]) for path in todo}
        link_plan.refuse_space(shell.facts(), sizes, held)
        self.tell(f"Slot {slot}: {len(todo)} of {len(here)} files differ, {sum(sizes.values()) / 1000:.0f} kB to send.")
        shell.remove(f"{top}/{LIST}")
        for path, size in held.items():
            if size is not None and path not in here:
                shell.remove(f"{top}/{path}")
        for folder in ("", *(f"/{folder}" for folder in FOLDERS)):
            shell.make(top + folder)
        done, total = 0, sum(sizes.values()) or 1
        for path in todo:
            shell.write(f"{top}/{path}", self.tree.files[path], lambda n, done=done: self.progress(done + n, total))
            done += sizes[path]
            self.progress(done, total)
        shell.write(f"{top}/{LIST}", self.tree.listing.encode())

    def upgrade(self):
        """Send the firmware to the slot that does not run, switch, restart; return the Version that runs then."""
        shell = link_shell.Shell(self.link)
        self.stage = "send"
        shell.enter(running=True)
        link_plan.refuse_board(shell.facts())
        self.send(shell, self.slot)
        self.switch(shell, self.slot)
        return self.started()

    def switch(self, shell, slot):
        """Make a slot the live one by the one small file, and restart."""
        wrong = shell.value(f"boot.intact({slot!r})")
        if wrong:
            raise LinkError(f"slot {slot} is not whole on the board: {wrong}.")
        self.stage = "switch"
        shell.feed()
        shell.run(f"boot.use({slot!r})")
        shell.restart()

    def started(self):
        """Wait for the board after a restart; return its Version. Raises LinkError when another slot runs."""
        self.tell("Restarted; waiting for the board.")
        now = self.link.reopen()
        self.stage = "new"
        if now.slot != self.slot or now.tree != self.tree.name:
            why = " ".join(self.link.ask("faults")[:-1])
            raise LinkError(f"the new firmware did not start: {why or 'the board gives no reason'}")
        return now

    def settle(self, plan):
        """Put settings and roles on the running board. Each is old or new on its flash, never half."""
        import json

        if self.stage == "look":
            self.stage = "new"
        if plan.settings is not None:
            link_settings.put(self.link, plan.settings)
            self.tell(f"Settings {link_proof.settings_name(plan.settings)} count and are saved.")
        if plan.roles is not None:
            self.link.ask("roles " + json.dumps(plan.roles, separators=(",", ":")))
            self.tell("Roles are saved.")

    def prove(self):
        """Let the board decide the fixed course; its digest must be this computer's for the same code and settings.

        Raises LinkError; where the board has the version before, it goes back to it first.
        """
        held = link_read.settings(self.link)
        if held.settings is None:
            raise LinkError("the settings on the board do not suit this firmware: " + " ".join(held.faults))
        got, want = self.link.told("selfcheck", wait_s=30), link_proof.answer(held.settings)
        if got != want:
            raise LinkError(f"the board decides otherwise than this computer.\n  board:    {got}\n  computer: {want}")
        self.tell(f"Proved: 240 decisions on the board are this computer's own (digest {want[-64:][:12]}).")

    def back(self, fault):
        """After a proof that failed on a new slot: return to the slot before. Raises LinkError."""
        slot = other(self.slot)
        if link_read.whole_slots(self.link)[slot][1]:
            raise fault
        self.link.ask(f"use {slot}")
        self.slot, self.stage = slot, "switch"
        now = self.link.restart()
        raise LinkError(f"{fault}\nIt was sent back to loamstat {now.number} in slot {now.slot}.\nUpdate this program.")


def set_clock(link, tell):
    """Set the board's clock by this computer's, and tell how far it was off; a wrong computer's clock is told only."""
    state = link_read.state(link)
    now = datetime.now(UTC)
    try:
        link.ask(f"clock {now:%Y-%m-%dT%H:%M:%SZ}")
    except links.Refused as fault:
        tell(f"The board's clock was not set: {fault} Set this computer's clock first.")
        return
    off = link_read.clock_off_s(state, now)
    if off is None:
        tell(f"Clock set to {now:%Y-%m-%d %H:%M:%S} UTC; it was not set before.")
        return
    if abs(off) >= 2:
        way = "ahead" if off > 0 else "behind"
        tell(f"Clock set to {now:%Y-%m-%d %H:%M:%S} UTC; it was {link_words.duration(abs(off))} {way}.")


def status(link, tell, units):
    """Tell the one live line."""
    tell(link_words.status_line(link_read.state(link), units))


def flash(link, board, plan, tree, tell, progress, units):
    """Carry out a Plan on a running board and prove it."""
    go = Flash(link, tree, tell, progress)
    go.before, go.slot = board.version, plan.slot
    if plan.slot:
        now = go.guarded(go.upgrade)
        tell(f"loamstat {now.number} runs from slot {now.slot}.")
    go.guarded(go.settle, plan)
    go.guarded(set_clock, link, tell)
    go.guarded(_proved, go)
    status(link, tell, units)


def _proved(go):
    try:
        go.prove()
    except (links.Gone, links.Silent):
        raise
    except LinkError as fault:
        if not go.slot or go.before is None:
            raise
        go.back(fault)
