"""How long the flash lasts: days of journal, events and counters written as the firmware does, both slots installed.

Arguments: repository, flash image, days. Prints one line of JSON: erases per block, years to 10,000 of the worst block.
"""

import json
import sys

HERE, IMAGE, DAYS = sys.argv[1], sys.argv[2], int(sys.argv[3])
sys.path.insert(0, HERE + "/tests/rig/inner")

import stage  # noqa: E402
from harness import HOST  # noqa: E402

rig = stage.board(HERE, {}, path=IMAGE)
rig.install("b", live=False)
sys.path.insert(0, HOST + HERE)

from controller.board import journal as journals  # noqa: E402
from controller.board import setup, store  # noqa: E402
from controller.board.clock import Clock  # noqa: E402
from controller.board.events import Events  # noqa: E402
from controller.core import record  # noqa: E402

store.make_folder(journals.FOLDER)
journal, log = journals.Journal(), Events(Clock())
rig.nor.erased = [0] * rig.nor.blocks
x = 1


def row(n):
    """A made-up row whose readings move by a count or two."""
    global x
    x = (x * 75 + 74) % 65537
    return record.Row(
        9506 + n // 1440, 60 * n % 86400, 60 * n, 600 + 6 * (x % 5), 1300 + 6 * (x // 5 % 2), 700 + 6 * (x // 11 % 4),
        100 + 6 * (x // 47 % 4), 800 + x // 211 % 5, n // 90 % 3, 100, 60 * (n // 90 % 2), 0, 0, n // 90 % 9, 0,
    )  # fmt: skip


bytes_before = days_kept = 0
for n in range(DAYS * 1440):
    journal.add(row(n))
    if journal.due():
        assert journal.flush(), journal.fault
    if n % 1440 == 1439:
        log.add("clock set, before: some time")
        assert log.flush()
        store.put("counters", setup.check_counters({}))
sizes = [journal.size(number) for number in journal.numbers()]
kept = 0
for number in journal.numbers():
    for _, block, _ in journal.read(number):
        kept += block[2] if block else 0
worst = max(rig.nor.erased)
report = {
    "days": DAYS, "erases": sum(rig.nor.erased), "worst_block": worst,
    "blocks_used": sum(1 for e in rig.nor.erased if e),
    "years_to_10000": round(10000 / worst * DAYS / 365, 1), "days_kept": round(kept / 1440, 1),
    "bytes_per_row": round(sum(sizes) / kept, 2), "free_blocks": journals.free_blocks("/"),
}  # fmt: skip
print(json.dumps(report))
