"""The listen mode in the whole firmware: any reed against reference A, which the keys move and flash keeps."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

SCRIPT = """
import pocket
meter = pocket.boot(values)
for _ in range(2):
    pocket.tap(meter, "up")  # from the first line round to the last but one
pocket.tap(meter, "do")
told = [pocket.words(meter)]
pocket.sound(meter, 441.3)
told.append(pocket.words(meter))
for key in ("up", "up"):
    pocket.tap(meter, key)
pocket.hold(meter, "up")
told.append(pocket.words(meter))
pocket.sound(meter, 300.0, flags=("unsteady",))
told.append(pocket.words(meter))
pocket.tap(meter, "do")
told.append(pocket.words(meter))
pocket.hold(meter, "do")
told.append(pocket.boot(values).settings.reference_mhz)
told.append(meter.journal.next_seq)
print(json.dumps(told))
"""


def test_any_reed_is_told_against_the_reference(micropython: Callable[..., Any], tmp_path: Path) -> None:
    quiet, heard, moved, lost, keys, kept, records = micropython(SCRIPT, str(tmp_path))
    assert quiet == ["Just listen", "A 440.0 Hz", "sound any reed"]
    # 1200 log2(441.3 / 440) = 5.11 cents, and 0.39 above 441.2
    assert {"A4", "441.30 Hz", "+5.1", "±0.1 c", "A 440.0 Hz"} <= set(heard)
    assert {"+0.4", "A 441.2 Hz"} <= set(moved)
    assert {"no figure", "the pitch moved"} <= set(lost)
    assert keys[0] == "Keys"
    assert (kept, records) == (441200, 0), "the reference is kept, and nothing is journaled"
