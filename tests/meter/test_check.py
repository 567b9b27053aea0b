"""The check in the whole firmware: what is played is ticked off, judged, listed, and summed up for the host."""

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parent))

import make_kinds

# Each step is [key, press] or [Hz, standard error]; told after each: the words on the screen. At the end the records.
SCRIPT = """
import pocket
from wire import record

meter = pocket.boot(values["root"])
if values["reeds"]:
    work = [dict(ordinal=ordinal, order=0, stop_ccent=0, last_ccent=last, last_u95_ccent=30)
            for ordinal, last in values["last"]]
    pocket.put(meter, values["reeds"], "assembled", work)
    pocket.hold(meter, "do")
for key in ("down", "down", "do"):
    pocket.tap(meter, key)
told = [pocket.words(meter)]
for step in values["steps"]:
    if isinstance(step[0], str):
        pocket.tap(meter, *step)
    else:
        pocket.sound(meter, *step)
    told.append(pocket.words(meter))
pocket.hold(meter, "do")
kept = []
for sequence in range(meter.journal.next_seq):
    data, _ = meter.journal.read(sequence, 640)
    kind, _, found = record.unpack(data[:record.measure(data)])
    kept.append([kind, {name: found[name] for name in found if not name.startswith("trace")}])
loaded = [name for name in sys.modules if name in ("meter.check", "meter.kinds", "meter.work", "screens.check")]
print(json.dumps([told, kept, loaded]))
"""
A4, B4, C5 = 440.0, 493.8833, 554.3653
REEDS = [("1", "blow", "", "", A4), ("1", "draw", "", "", B4), ("2", "blow", "", "", C5), ("2", "draw", "", "", B4)]
REEDS += REEDS[:1]  # which makes it the control reed, for surveys
DO, DOWN = ("do", "tap"), ("down", "tap")
Checked = Callable[..., tuple[list[list[str]], list[tuple[str, dict[str, Any]]], list[str]]]


def off(hz: float, cents: float) -> tuple[float, float]:
    return (hz * 2 ** (cents / 1200), 0.05)


@pytest.fixture
def checked(micropython: Callable[..., Any], tmp_path: Path) -> Checked:
    def run(*steps: tuple[Any, ...], reeds: Any = REEDS, last: tuple[tuple[int, int], ...] = ()) -> Any:
        return micropython(SCRIPT, {"steps": steps, "reeds": reeds, "last": last, "root": str(tmp_path)})

    return run


def test_whatever_is_played_is_ticked_off_in_any_order(checked: Checked) -> None:
    told, kept, _ = checked(off(C5, -9.0), off(A4, 0.5), off(B4, 1.0), off(B4, 2.0))
    assert {"Check", "0/4", "play anything", "next 1 blow"} <= set(told[0])
    assert {"Hole 2", "blow", "-9.0", "off", "1/4", "next 1 blow"} <= set(told[1])
    assert {"Hole 1", "blow", "+0.5", "good", "2/4", "next 1 draw"} <= set(told[2])
    # Two reeds have the same target: the one that is next is taken, and the other named.
    assert {"Hole 1", "draw", "or 2 draw", "3/4"} <= set(told[3])
    assert {"Hole 2", "draw", "4/4"} <= set(told[4])
    assert [values["ordinal"] for kind, values in kept if kind == "take"] == [2, 0, 1, 3]


def test_the_list_has_the_worst_first(checked: Checked) -> None:
    told, _, _ = checked(off(A4, 0.5), off(B4, -4.4), off(C5, 12.0), DO, DOWN, DO)
    assert told[4] == ["2 off, 0 moved", "off", "2 blow", "+12.0", "1 draw", "-4.4", "1 blow", "+0.5"]
    assert told[5][:2] == ["2 off, 0 moved", "off"]
    assert "Hole 2" in told[6], "back to the reed that was heard last"


def test_a_reed_that_left_its_last_reading_is_told(checked: Checked) -> None:
    told, _, _ = checked(off(A4, 2.0), off(C5, 2.0), DO, last=((0, -200), (2, 150)))
    assert {"+2.0", "good", "moved +4.0"} <= set(told[1]), "good, and yet it moved"
    assert "moved" not in " ".join(told[2])
    assert told[3][0] == "0 off, 1 moved"


def test_a_summary_is_kept_for_the_host(checked: Checked) -> None:
    _, kept, _ = checked(off(A4, 0.5), off(B4, -4.4), off(C5, 12.0), last=((0, -300),))
    kind, summary = kept[-1]
    assert kind == "checked" and kept[0][0] == "sitting" and kept[0][1]["doing"] == 1
    assert (summary["heard"], summary["off"], summary["moved"]) == (3, 2, 1)
    assert (summary["worst"], summary["worst_ccent"]) == (2, 1200)


def test_nothing_played_leaves_nothing(checked: Checked) -> None:
    told, kept, _ = checked(DO, DO)
    assert "nothing was heard yet" in told[1] and kept == []


def test_an_instrument_that_is_not_in_the_meter(checked: Checked) -> None:
    """Kind and key are chosen: the third kind is the ten-hole diatonic, whose hole 1 sounds D4 in the key of D."""
    told, kept, loaded = checked(DOWN, DOWN, DO, DOWN, DOWN, DO, (293.6648, 0.05), reeds=None)
    assert told[0][0] == "Which kind?" and told[3][0] == "In which key?"
    assert {"D, Ten-hole diatonic, Richter tun", "next 1 blow", "0/20"} <= set(told[6])
    assert {"Hole 1", "blow", "0.0", "good", "1/20"} <= set(told[7])
    assert kept[0][1]["layout"] == "richter-10" and kept[0][1]["instrument"] == ""
    assert loaded == [], "nothing of a mode stays in memory"


def test_kinds_are_those_of_the_layouts() -> None:
    assert make_kinds.KINDS.read_text(encoding="utf-8") == make_kinds.source()
