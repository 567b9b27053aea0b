"""Replays cases by name, or runs all of them: python tests/powercut [NAME ...]"""

import sys
import tempfile
from pathlib import Path

from cut_cases import Cuts

with tempfile.TemporaryDirectory() as folder, Cuts(Path(folder)) as cuts:
    names = sys.argv[1:] or cuts.names()
    faults = [fault for fault in map(cuts.fault, names) if fault]
    print("\n".join(faults) or f"{len(names)} cases, nothing lost")
    sys.exit(bool(faults))
