"""The desk's keys come when the samples have come that far."""

from typing import Any


def test_presses_come_at_their_times_and_once(micropython: Any) -> None:
    found = micropython(
        """
from boards.desk import bench
bench.settings.update(keys=values)
from boards.desk.keys import Keys
keys = Keys()
found = [[keys.held_at_start(key) for key in ("up", "down", "do")], keys.poll()]
bench.samples = 1599
found.append(keys.poll())
bench.samples = 1600
found += [keys.poll(), keys.poll()]
bench.lost_ms = 150
found.append(keys.poll())
print(json.dumps(found))
""",
        [
            [250, "do", "hold"],
            [0, "down", "hold"],
            [100, "up", "tap"],
            [0, "do", "tap"],
            [101, "down", "tap"],
        ],
    )
    assert found == [
        [False, True, False],
        [["do", "tap"]],
        [],
        [["up", "tap"]],
        [],
        [["down", "tap"], ["do", "hold"]],
    ]
