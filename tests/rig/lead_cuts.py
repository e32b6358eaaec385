"""The lead pulled at many places of a flash and of a pull: the board must boot, decide, and be whole every time.

    python -m tests.rig.lead_cuts [PLACES] [SEED]

Places are spread evenly over the bytes of an uncut go, moved a little by the seed, with more of them round the switch.
At every second one the power goes with the lead. Prints counts; exit status 1 when a board was not as it must be.
"""

import contextlib
import random
import sys
import tempfile
from dataclasses import dataclass, field

from tests import link_help
from tests.rig.cable import Cable
from tuner import link, link_copy, link_flash, link_plan, link_proof, link_pull, link_read
from tuner.errors import LinkError

SWITCH_BYTES = 1500  # the last of a flash: the list, the check, the switch, the restart, the proof


@dataclass
class Count:
    """What was found after the cuts."""

    cuts: int = 0
    old: int = 0
    new: int = 0
    wrong: list = field(default_factory=list)


def upgrade(port, tree):
    """Flash a tree and the settings of a test, as the command does."""
    from controller.core import settings

    wanted = settings.from_mapping({"discharge_below_c": 6})[0]
    with link.Link(port) as one:
        held = link_copy.read(one)
        plan = link_plan.plan(one, held, tree, link_plan.Wish(wanted))
        quiet = lambda *words: None  # noqa: E731
        link_flash.flash(one, held, plan, tree, quiet, quiet, "C")


def cut_flash(image, place, power, new, count):
    """Pull the lead at one place of a flash; note what the board is then."""
    with tempfile.TemporaryDirectory() as folder, link_help.board(folder, image=image) as board:
        link_help.settled(board.port)
        words = ""
        with Cable(board.port, place, board.power_cycle if power else None) as cable:
            try:
                upgrade(cable.port, new)
            except LinkError as fault:
                words = str(fault)
            cut = cable.cut
        count.cuts += cut
        where = f"flash, byte {place}{', power too' if power else ''}"
        if cut and not words:
            count.wrong.append(f"{where}: a cut, and no word of it")
        note(board.port, new, count, where)
        return words


def note(port, new, count, where):
    """Look at a board after a cut: which version, whole, deciding as the desktop does."""
    try:
        version = link_help.settled(port, 30)
        with link.Link(port) as one:
            first = link_read.state(one)
            slots = link_read.whole_slots(one)
            held = link_read.settings(one)
            decided = one.told("selfcheck", 30)
            second = link_read.state(one)
    except LinkError as fault:
        count.wrong.append(f"{where}: {fault}")
        return
    count.new += version.tree == new.name
    count.old += version.tree != new.name
    if version.number not in ("0.1.1", new.number):
        count.wrong.append(f"{where}: version {version.number}")
    if slots[version.slot][1]:
        count.wrong.append(f"{where}: slot {version.slot} is not whole: {slots[version.slot][1]}")
    if held.settings is None or decided != link_proof.answer(held.settings):
        count.wrong.append(f"{where}: it decides otherwise")
    if held.texts["discharge_below_c"] not in ("5", "6"):
        count.wrong.append(f"{where}: half settings")
    if second["uptime_s"] < first["uptime_s"] or first["safe"]:
        count.wrong.append(f"{where}: it does not run on")


def places(total, number, seed, dense=0):
    """Return cut places: spread over total bytes, one in four of them in the last dense bytes."""
    chance, tight = random.Random(seed), number // 4 if dense else 0
    wide = number - tight
    spread = [int((n + chance.random()) * (total - dense) / wide) + 1 for n in range(wide)]
    return spread + [int(total - dense + (n + chance.random()) * dense / tight) for n in range(tight)]


def flashes(number, seed, folder):
    """Cut a flash at a number of places; return Count."""
    image = link_help.prepared(folder)
    new = link_help.other_tree("0.1.2", every_file=number > 40)
    count = Count()
    with tempfile.TemporaryDirectory() as work, link_help.board(work, image=image) as board:
        link_help.settled(board.port)
        with Cable(board.port) as cable:
            upgrade(cable.port, new)
            total = cable.count
    for n, place in enumerate(places(total, number, seed, SWITCH_BYTES)):
        words = cut_flash(image, place, n % 2 == 1, new, count)
        if words and "gone" not in words and "takes no bytes" not in words and "did not" not in words:
            count.wrong.append(f"flash, byte {place}: {words}")
    return count


def pulls(number, seed, image):
    """Cut pulls of one journal at a number of places, each going on where the one before ended; return Count."""
    count = Count()
    with tempfile.TemporaryDirectory() as folder, link_help.board(folder, image=image) as board:
        version = link_help.settled(board.port)
        with Cable(board.port) as cable:
            whole = fetched(cable.port, (0, 0))
            total = cable.count
        for place in places(total, number, seed):
            with Cable(board.port, place) as cable:
                part = fetched(cable.port, (0, 0))
                count.cuts += cable.cut
            rest = fetched(board.port, part.next)
            if part.rows + rest.rows != whole.rows:
                count.wrong.append(f"pull, byte {place}: {len(part.rows)} + {len(rest.rows)} of {len(whole.rows)} rows")
            count.old += 1
        now = link_help.settled(board.port)
        if now != version or len(board.causes) > 0:
            count.wrong.append(f"the board was disturbed: {board.causes}")
    return count


def fetched(port, place):
    """Fetch a journal from a place on, as far as it goes; return link_pull.Fetched."""
    got = link_pull.Fetched(next=place)
    with contextlib.suppress(LinkError), link.Link(port) as one:
        link_pull.fetch(one, place, got, lambda done, total: None, link_pull.files(one))
    return got


def main():
    """Cut, and print what was found."""
    number = int(sys.argv[1]) if len(sys.argv) > 1 else 160
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    link_flash.RETURN_S, wrong = 0.1, []
    with tempfile.TemporaryDirectory() as folder:
        found = flashes(number, seed, folder)
        print(f"flash: {found.cuts} cuts, then {found.old} boards ran the old version, {found.new} the new one")
        wrong += found.wrong
    with tempfile.TemporaryDirectory() as folder:
        found = pulls(number, seed, link_help.journal(folder))
        print(f"pull: {found.cuts} cuts, {found.old} logs whole after going on")
        wrong += found.wrong
    print("\n".join(wrong) or "every board booted, decided and was whole")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
