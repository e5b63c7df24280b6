"""What takes too long for every commit: `make endurance`.

200 kills at random moments; every fault is printed, and the exit code says whether there was one.
"""

from __future__ import annotations

import sys
import tempfile
from collections import Counter
from pathlib import Path

import numpy as np

from tests.kills import SHARES, States

KILLS = 200


def kills(number: int, seed: int = 20261125) -> int:
    """Kill commands, print what was wrong, and return how many kills left a fault."""
    rng = np.random.default_rng(seed)
    with tempfile.TemporaryDirectory() as folder:
        states = States(Path(folder))
        print("undisturbed, s:", {name: round(s, 1) for name, s in states.seconds.items()})
        killed: Counter[str] = Counter()
        faulty = 0
        for command in rng.choice(list(SHARES), number, p=list(SHARES.values())):
            kill = states.kill(command, rng)
            killed[f"{command}, {'after its end' if kill.ended else 'at work'}"] += 1
            faulty += bool(kill.faults)
            for fault in kill.faults:
                print(f"{command} killed after {kill.after_seconds:.2f} s: {fault}", flush=True)
    print(f"{number} kills, {faulty} with faults:", dict(killed))
    return faulty


if __name__ == "__main__":
    sys.exit(bool(kills(int(sys.argv[1]) if len(sys.argv) > 1 else KILLS)))
