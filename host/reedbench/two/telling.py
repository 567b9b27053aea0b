"""What two reeds that sounded together are to people and to programs."""

import math
from typing import Any

from reedbench.tuning import cents_between, nearest_note, note_hz, note_name
from reedbench.two.resolve import Resolved

KINDS = {"one": "one reed", "pair": "two reeds", "octave": "two reeds an octave apart", "three": "three reeds"}


def resolved_dict(found: Resolved, reference_hz: float) -> dict[str, Any]:
    """For `--json`."""
    return {
        "kind": found.kind,
        "span_s": found.span_s,
        "reeds": [
            {"hz": reed.hz, "u95_cents": reed.u95_cents, "level_db": reed.level_db, **_named(reed.hz, reference_hz)}
            for reed in found.reeds
        ],
        "beats": [{"hz": beat.hz, "u95_hz": beat.u95_hz} for beat in found.beats],
        "wanted_s": found.wanted_s or None,
        "remark": found.words,
    }


def _named(hz: float, reference_hz: float) -> dict[str, Any]:
    midi = nearest_note(hz, reference_hz)
    return {"note": note_name(midi), "cents": cents_between(hz, note_hz(midi, reference_hz))}


def resolved_lines(two: dict[str, Any]) -> list[str]:
    """What `resolved_dict` gave, for a terminal: a line for what there is, and one for each reed."""
    what = KINDS[two["kind"]]
    if not two["reeds"]:
        return [f"{what}, {two['remark']}"]
    beats = ", ".join(f"{beat['hz']:.2f} ±{_up(beat['u95_hz'])}" for beat in two["beats"])
    lines = [f"{what} in {two['span_s']:.1f} s{f', beating {beats} times a second' if beats else ''}"]
    for reed in two["reeds"]:
        pitch = f"{reed['note']} {reed['cents']:+.2f} cents ±{_up(reed['u95_cents'])}, {reed['hz']:.3f} Hz"
        lines.append(f"  {pitch}, {reed['level_db']:+.0f} dB")
    return lines


def _up(uncertainty: float) -> str:
    """To two decimals, and never as nothing."""
    return f"{math.ceil(100 * uncertainty) / 100:.2f}"
