"""Walk every state of every settings file: python -m tests.states [--plain] [--few] [name ...]."""

import sys
import time

from controller.core.reasons import REASONS
from tests.states import grid, story, walk
from tuner.core_numba import HAVE_NUMBA


def main(words):
    """Print states and transitions of each file; return 1 and the story of the first broken invariant."""
    names = [word for word in words if not word.startswith("--")] or list(grid.FILES)
    go = walk.plain if "--plain" in words or not HAVE_NUMBA else walk.compiled
    told, states, transitions = set(), 0, 0
    for name in names:
        s, all_readings, start = grid.settings_of(name), grid.readings(name, "--few" in words), time.perf_counter()
        found = go(s, all_readings)
        if found.fault:
            print(f'settings file "{name}":\n{story.tell(s, found.fault)}')
            return 1
        took = time.perf_counter() - start
        print(
            f"{name:16} {len(all_readings):6} readings {found.states:8} states {found.transitions:13} transitions "
            f"{took:6.1f} s",
            flush=True,
        )
        told |= found.reasons
        states, transitions = states + found.states, transitions + found.transitions
    missing = [REASONS[code][0] for code in range(len(REASONS)) if code not in told]
    checked = "I1 to I10" if go is walk.plain else "I1 to I8 and I10 (I9, same on all runtimes: python -m tests.steps)"
    print(f"settings files {len(names)}, states {states}, transitions {transitions}, on each: {checked}")
    print(f"reasons told {len(told)} of {len(REASONS)}" + (f", not: {', '.join(missing)}" if missing else ""))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
