"""One fault of the table. Arguments: repository, flash image, name of the fault, or "prepare" to make the image.

Prints one line of JSON: ok, and what was seen instead.
"""

import io
import json
import sys

HERE, IMAGE, NAME = sys.argv[1], sys.argv[2], sys.argv[3]
sys.path.insert(0, HERE + "/tests/rig/inner")

from scene import Scene  # noqa: E402


def check(name):
    """Run the scene of a fault; return (ok, what was seen instead)."""
    import faults_control
    import faults_flash
    import faults_probes
    import faults_resets

    cases = faults_probes.CASES + faults_flash.CASES + faults_resets.CASES + faults_control.CASES
    play = next(case[2] for case in cases if case[0] == name)
    try:
        s, ok = play()
    except Exception as fault:
        out = io.StringIO()
        sys.print_exception(fault, out)
        return False, out.getvalue()
    return bool(ok), "" if ok else "ends %s, states %s, alarms %s, said %s" % (
        s.ends, s.states[-6:], s.state and s.alarms(), s.text()[-500:],
    )  # fmt: skip


if NAME == "prepare":
    Scene.prepare(HERE, IMAGE)
    print("{}")
else:
    Scene.begin(HERE, IMAGE)
    ok, seen = check(NAME)
    print(json.dumps({"ok": ok, "seen": seen}))
