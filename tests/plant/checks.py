"""The table of checks, by one command.

    python -m tests.plant.checks            all of them (some minutes)
    python -m tests.plant.checks quick      without the full-length runs

Exit status 1 when one does not hold.
"""

import sys

from tests.plant import checks_air, checks_ground, checks_house
from tests.plant.checking import table


def main():
    """Print the table, group by group as it is worked out."""
    house = checks_house.quick() if "quick" in sys.argv[1:] else checks_house.full()
    failed = count = 0
    for group in (checks_air.all_checks, checks_ground.all_checks, *house):
        rows = group()
        print(table(rows), flush=True)
        count += len(rows)
        failed += sum(not row.holds for row in rows)
    print(f"In all {count} checks, {failed} failed.")
    raise SystemExit(1 if failed else 0)


if __name__ == "__main__":
    main()
