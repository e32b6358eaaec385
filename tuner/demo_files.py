"""The invented log and what belongs to it, packed with the program."""

import gzip
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from tuner.files import write_whole

OWN = "as-logged.json"
INVENTED = "The house, its weather and its log are invented; tuner/demo/README.md says how they were made.\n"


@dataclass(frozen=True)
class Inputs:
    """Paths of the demo's inputs: log (CSV), site.toml, the settings it was logged with, settings to compare (JSON)."""

    log: Path
    site: Path
    own: Path
    others: list


def copy_into(folder):
    """Write the demo's inputs into a folder, the log unpacked, and return their paths as Inputs.

    folder : Path
    Raises OutputError.
    """
    kept = resources.files("tuner.demo")
    write_whole(folder / "log.csv", gzip.decompress(kept.joinpath("log.csv.gz").read_bytes()))
    write_whole(folder / "site.toml", kept.joinpath("site.toml").read_bytes())
    names = sorted(one.name for one in kept.iterdir() if one.name.endswith(".json"))
    for name in names:
        write_whole(folder / name, kept.joinpath(name).read_bytes())
    others = [folder / name for name in names if name != OWN]
    return Inputs(folder / "log.csv", folder / "site.toml", folder / OWN, others)
