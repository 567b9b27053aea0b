"""The firmware as a board carries it (reedbench.slim) beside its sources, on MicroPython: every mode, every key."""

import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

FIRMWARE = Path(__file__).parents[2] / "firmware"
# Whoever plays presses keys and sounds reeds at random; what the screen says after each is told.
SCRIPT = """
sys.path.insert(0, values["firmware"])
import pocket

reeds = [("1", "blow", "", "", 440.0), ("1", "draw", "", "", 493.8833), ("2", "blow", "", "low", 554.3653),
         ("2", "blow", "", "high", 554.3653)]
work = [dict(ordinal=1, order=1, stop_ccent=-150, last_ccent=0, last_u95_ccent=30)]
meter = pocket.boot(values["root"])
pocket.put(meter, reeds, "assembled", work)
told = []
for step in values["steps"]:
    if len(step) == 2:
        pocket.tap(meter, *step)
    else:
        pocket.sound(meter, step[0])
    told.append([word for word in pocket.words(meter) if "kB free" not in word])
told.append(meter.journal.next_seq)
print(json.dumps([sys.modules["main"].__file__.rsplit("/", 1)[0], told]))
"""


@pytest.mark.parametrize("seed", range(4))
def test_it_shows_and_keeps_the_same(
    seed: int, micropython: Callable[..., Any], slim_firmware: Path, tmp_path: Path
) -> None:
    rng = random.Random(seed)
    keys = [("up", "tap"), ("down", "tap"), ("do", "tap"), ("up", "hold"), ("down", "hold"), ("do", "hold")]
    hertz = [440.0, 440.3, 493.0, 554.2, 330.0]
    steps = [rng.choice(keys) if rng.random() < 0.6 else (rng.choice(hertz),) for _ in range(400)]
    told = []
    for folder in (FIRMWARE, slim_firmware):
        root = tmp_path / folder.parent.name
        root.mkdir()
        where, found = micropython(SCRIPT, {"firmware": str(folder), "steps": steps, "root": str(root)})
        assert where == str(folder)
        told.append(found)
    assert told[0] == told[1]
    assert told[0][-1] > 20, "records were kept"
    assert len({tuple(words) for words in told[0][:-1]}) > 40, "many screens were seen"
