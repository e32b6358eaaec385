"""The table of checks, by one command.

    python -m tests.plant.checks            all of them (some minutes)
    python -m tests.plant.checks quick      without the full-length runs

Exit status 1 when one does not hold.
"""

import sys

from tests.plant import checks_air, checks_ground, checks_house
from tests.plant.checking import table


def main():
    """Print the table."""
    house = checks_house.quick if "quick" in sys.argv[1:] else checks_house.all_checks
    rows = checks_air.all_checks() + checks_ground.all_checks() + house()
    print(table(rows))
    raise SystemExit(0 if all(row.holds for row in rows) else 1)


if __name__ == "__main__":
    main()
