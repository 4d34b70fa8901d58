"""Asks the general-purpose tools and writes their answers down: freeze.py FOLDER."""

import sys
from pathlib import Path

import groups
import ledgers
import planning
import proportions
import sight
import times
from common import write

if __name__ == "__main__":
    folder = Path(sys.argv[1])
    ledgers.data(folder / "data")
    for module in (proportions, groups, times, planning, ledgers, sight):
        for name, make in module.FILES.items():
            write(folder / f"{name}.outside.json", make())
            print(f"{name}.outside.json", flush=True)
