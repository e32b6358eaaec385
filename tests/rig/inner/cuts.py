"""Power cut before every flash operation, with torn writes. Arguments: repository, [name of a part].

Each part does one thing to the same flash with the firmware's own code, cut at its first, second, ... operation until
it comes through. After each cut the flash is mounted anew and everything that must hold is checked with the firmware's
own code. Prints one line of JSON: per part the cut points, what was found after them, and every failure.
"""

import json
import sys

HERE = sys.argv[1]
PART = sys.argv[2] if len(sys.argv) > 2 else ""
sys.path.insert(0, HERE + "/tests/rig/inner")

from harness import HOST, Rig, copy, digest, make, write  # noqa: E402

rig = Rig(HERE, blocks=160)
nor = rig.nor
sys.path.insert(0, HOST + HERE)

from controller.board import chooser, events, setup, store  # noqa: E402
from controller.board import journal as journals  # noqa: E402
from controller.board.clock import Clock  # noqa: E402
from controller.core import record, rows, settings  # noqa: E402
from controller.core.units import LOST  # noqa: E402

OLD = settings.to_mapping(rows.defaults())
NEW = dict(OLD)
NEW.update(charge_above_c=26.5, min_run_s=420)
SENT = (
    "core/units.py", "core/wants.py", "core/phases.py", "core/screen.py", "core/record.py", "core/reasons.py",
    "board/outputs.py", "board/light.py", "board/main.py", "board/setup.py", "board/version.py",
)  # fmt: skip
FILES_KEPT = 3


class Dog:
    """A watchdog that needs nothing."""

    def feed(self):
        """Fed."""


def row(n):
    """Return the n-th row of a made-up log; every reading moves, so a block is long."""
    return record.Row(
        9506, 60 * n % 86400, 60 * n, 600 + n * 7 % 900, 1300 - n % 300, LOST, -n * 13 % 700, 800 + n % 99,
        n % 3, 100, n % 61, n & 1, 0, n % 33, n % 1024,
    )  # fmt: skip


def filled(journal, first, count):
    """Give a journal rows."""
    for n in range(first, first + count):
        journal.add(row(n))


def logged():
    """Return (uptimes of all rows on flash, spoilt bytes)."""
    from controller.core import thin

    journal = journals.Journal(files=FILES_KEPT)
    uptimes, spoilt = [], 0
    for number in journal.numbers():
        for _, block, skipped in journal.read(number):
            spoilt += skipped if block is not None else 0
            if block:
                uptimes += [r.uptime_s // 60 for r in record.unpack_block(thin.thick(block))]
    return uptimes, spoilt


def prepare():
    """Write the flash that all parts start from: slot a, settings, a journal near the end of its last file."""
    for folder in ("/data", "/journal", "/a", "/a/controller", "/a/controller/core", "/a/controller/board",
                   "/b", "/b/controller", "/b/controller/core", "/b/controller/board"):  # fmt: skip
        make(folder)
    upgrade("a")
    write("/live.txt", "a\n")
    store.put("settings", OLD)
    journals.FILE_BYTES = 6000
    journal = journals.Journal(files=FILES_KEPT)
    for n in range(0, 960, 60):
        filled(journal, n, 60)
        assert journal.flush(), journal.fault
    return logged()[0]


def upgrade(slot, between=None):
    """Send a slot as a host does: every file, the list of digests, then the one small file. between: done midway."""
    lines = []
    for name in SENT:
        path = "controller/" + name
        if between is None:
            copy(HOST + HERE + "/" + path, "/" + slot + "/" + path)
        else:
            with open(HOST + HERE + "/" + path, "rb") as source:
                data = source.read()
            with open("/" + slot + "/" + path, "wb") as file:
                file.write(data[: len(data) // 2])
                between()
                file.write(data[len(data) // 2 :])
        lines.append(digest(HOST + HERE + "/" + path) + " " + path)
    write("/" + slot + "/digest.txt", "\n".join(lines) + "\n")
    chooser.put_live(slot)


def save():
    store.put("settings", NEW)


def add():
    journal = journals.Journal(files=FILES_KEPT)
    filled(journal, 960, 60)
    if not journal.flush():
        raise OSError(journal.fault)


def rotate():
    journal = journals.Journal(files=FILES_KEPT)
    for n in range(960, 1560, 60):
        filled(journal, n, 60)
        if not journal.flush():
            raise OSError(journal.fault)


def events_and_counters():
    log = events.Events(Clock())
    for _ in range(24):
        for i in range(20):
            log.add("an event of the board, number %d, as long as such lines are" % i)
        if not log.flush():
            raise OSError(5)
    store.put("counters", setup.check_counters({}))


def send_slot():
    upgrade("b")


def two_at_once():
    """While a host sends a slot, its file open, the board saves settings and writes its journal."""
    turn = [0]

    def between():
        turn[0] += 1
        store.put("settings", NEW if turn[0] % 2 else OLD)
        journal = journals.Journal(files=FILES_KEPT)
        filled(journal, 900 + 60 * turn[0], 60)
        if not journal.flush():
            raise OSError(journal.fault)

    upgrade("b", between)


PARTS = (
    ("save settings", save),
    ("add to the journal", add),
    ("rotate the journal", rotate),
    ("events and counters", events_and_counters),
    ("send and switch a slot", send_slot),
    ("settings and journal while a slot is sent", two_at_once),
)


def faults_now(before):
    """Return what does not hold on this flash, and a word for what was found."""
    wrong = []
    held, state, _ = store.get("settings", setup.check_settings)
    mapping = settings.to_mapping(held) if held else None
    if mapping not in (OLD, NEW) or state != store.GOOD:
        wrong.append("settings %s %s" % (state, mapping))
    live = chooser.live()
    spoilt = chooser.intact(live, Dog())
    if spoilt:
        wrong.append("live slot %s: %s" % (live, spoilt))
    if chooser.intact("a", Dog()):
        wrong.append("slot a was touched")
    uptimes, bytes_spoilt = logged()
    if bytes_spoilt:
        wrong.append("%d spoilt bytes in the journal" % bytes_spoilt)
    if uptimes != list(range(uptimes[0], uptimes[-1] + 1)) if uptimes else True:
        wrong.append("rows are missing inside the journal")
    if uptimes and (uptimes[-1] < before[-1] or (uptimes[0] > before[0] and len(journal_files()) < FILES_KEPT)):
        wrong.append("rows older than the batch are gone: %d to %d" % (uptimes[0], uptimes[-1]))
    for name in ("/journal" + events.FILE, "/journal" + events.OLD):
        try:
            with open(name) as file:
                if any([not line.endswith("as such lines are\n") for line in file]):
                    wrong.append("half a line in " + name)
        except OSError:
            pass
    return wrong, ("new" if mapping == NEW else "old") + " settings, slot " + live


def journal_files():
    """Return the numbers of the journal's files."""
    return journals.Journal().numbers()


def cut_all(name, part, base, before):
    """Cut a part at every operation; return what came of it."""
    found, failures, points = {}, [], 0
    while True:
        nor.data[:] = base
        rig.mount_again()
        nor.left = points
        done = True
        try:
            part()
        except OSError:
            done = not nor.dead
        cut = nor.dead
        rig.mount_again()
        wrong, word = faults_now(before)
        found[word] = found.get(word, 0) + 1
        if wrong and len(failures) < 5:
            failures.append("cut %d: %s" % (points, "; ".join(wrong)))
        if wrong:
            found["WRONG"] = found.get("WRONG", 0) + 1
        if not cut:
            if not done:
                failures.append("the part did not come through even without a cut")
            return {"points": points, "found": found, "failures": failures}
        points += 1


before = prepare()
rig.unmount()
base = bytes(nor.data)
report = {}
for name, part in PARTS:
    if PART in name:
        report[name] = cut_all(name, part, base, before)
print(json.dumps(report))
