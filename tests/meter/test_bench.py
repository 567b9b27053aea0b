"""The bench in the whole firmware: the plan's order, distance and way, takes and strokes in the journal."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

# Each step is [key, press], [Hz] or {"on": Hz} for a reed that sounds on; told after each: the words on the screen. At
# the end, what is in the journal.
SCRIPT = """
import pocket
from wire import record

reeds = [("1", "blow", "", "", 440.0), ("1", "draw", "", "", 493.8833), ("2", "blow", "", "low", 554.3653),
         ("2", "blow", "", "high", 554.3653)]
reeds += reeds[:1]  # which makes it the control reed, for surveys
work = [dict(ordinal=ordinal, order=order, stop_ccent=stop, last_ccent=0, last_u95_ccent=30)
        for ordinal, order, stop in values["work"]]
meter = pocket.boot(values["root"])
pocket.put(meter, reeds, "assembled, bellows", work)
pocket.hold(meter, "do")
pocket.tap(meter, "down")
pocket.tap(meter, "do")
told = [pocket.words(meter)]
for step in values["steps"]:
    if "on" in step:
        pocket.sound_on(meter, step["on"])
    elif len(step) == 2:
        pocket.tap(meter, *step)
    else:
        pocket.sound(meter, step[0])
    told.append(pocket.words(meter))
pocket.hold(meter, "do")
kept = []
for sequence in range(meter.journal.next_seq):
    data, _ = meter.journal.read(sequence, 640)
    kind, _, found = record.unpack(data[:record.measure(data)])
    kept.append([kind, {name: found[name] for name in found if not name.startswith("trace")}])
print(json.dumps([told, kept]))
"""
UP, DOWN, STROKE = ("up", "tap"), ("down", "tap"), ("do", "tap")
Benched = Callable[..., tuple[list[list[str]], list[tuple[str, dict[str, Any]]]]]


@pytest.fixture
def benched(micropython: Callable[..., Any], tmp_path: Path) -> Benched:
    def run(*steps: Any, work: tuple[tuple[int, int, int], ...] = ((1, 1, -150), (0, 2, 0))) -> Any:
        return micropython(SCRIPT, {"steps": steps, "work": work, "root": str(tmp_path)})

    return run


def test_the_plan_comes_first_in_its_order_then_the_rest(benched: Benched) -> None:
    told, _ = benched(DOWN, DOWN, UP, UP, UP)
    assert [words[:2] for words in told[:3]] == [["Hole 1", "draw"], ["Hole 1", "blow"], ["Hole 2", "blow"]]
    assert "1/2" in told[0] and "2/2" in told[1] and "no work" in told[2]
    assert told[5][:2] == ["Hole 2", "blow"] and "high" in told[5], "round and round"


def test_the_figure_is_the_distance_from_where_the_work_stops(benched: Benched) -> None:
    # 493.8833 Hz is the target, 1.5 cents below it the stop: 5 cents below the stop is 6.5 below the target.
    low = 493.8833 * 2 ** (-6.5 / 1200)
    told, _ = benched((low,), (low * 2 ** (10 / 1200),), (low * 2 ** (5 / 1200),))
    assert {"-5.0", "raise: off the tip", "stop at -1.5", "plate", "bellows"} <= set(told[1])
    assert {"+5.0", "lower: off the root"} <= set(told[2])
    assert {"0.0", "good: leave it"} <= set(told[3])


def test_a_reed_that_sounds_on_is_followed_and_its_take_is_held_when_it_stops(benched: Benched) -> None:
    low, high = (493.8833 * 2 ** (cents / 1200) for cents in (-6.5, 3.5))  # 5 below the stop, and as much above
    told, kept = benched((low,), {"on": low * 2 ** (0.5 / 1200)}, {"on": high}, {"on": low}, {"on": high}, {"on": 0.0})
    figures = [next(word for word in words if word[0] in "+-") for words in told[1:]]
    assert figures == ["-5.0", "-5.0", "+5.0", "-5.0", "+5.0", "-5.0"]
    assert "lower: off the root" in told[3] and "raise: off the tip" in told[6]
    assert [kind for kind, _ in kept] == ["sitting", "take"], "what is only followed is not kept"


def test_another_reed_that_is_chosen_while_one_sounds_on_has_no_figure_yet(benched: Benched) -> None:
    told, _ = benched((493.0,), {"on": 493.0}, DOWN, {"on": 494.0})
    assert "sound it" in told[3] and "sound it" in told[4]


def test_takes_and_strokes_are_kept_and_are_no_surveys(benched: Benched) -> None:
    _, kept = benched((493.0,), STROKE, STROKE, STROKE, (493.2,), STROKE, DOWN, (440.1,))
    assert [kind for kind, _ in kept] == ["sitting", "take", "strokes", "take", "strokes", "take"]
    sitting = kept[0][1]
    assert (sitting["doing"], sitting["pass_number"], sitting["instrument"]) == (0, 2, "00112233445566aa")
    takes = [values for kind, values in kept if kind == "take"]
    assert [(one["survey"], one["ordinal"], one["number"]) for one in takes] == [(0, 1, 1), (0, 1, 2), (0, 0, 1)]
    assert {one["state"] for one in takes} == {2 | 1 << 4}, "plate on bench, bellows"
    strokes = [values for kind, values in kept if kind == "strokes"]
    assert [(one["sitting"], one["ordinal"], one["strokes"]) for one in strokes] == [(0, 1, 3), (0, 1, 1)]


def test_another_reed_is_named_and_not_kept(benched: Benched) -> None:
    told, kept = benched((440.0,), (95.0,))
    assert "that was 1 blow" in told[1] and "sound it" in told[2]
    assert kept == []


def test_the_partner_of_a_pair_is_to_be_muted(benched: Benched) -> None:
    told, _ = benched(work=((3, 1, 0),))
    assert "mute 2 blow low" in told[0]


def test_without_a_plan_the_target_is_where_to_stop(benched: Benched) -> None:
    told, _ = benched((440.0,), work=())
    assert {"0.0", "stop at 0.0"} <= set(told[1])


def test_how_the_reed_sits_is_changed_by_a_held_key(benched: Benched) -> None:
    _, kept = benched(("up", "hold"), (493.0,), ("up", "hold"), (493.0,))
    assert [values["state"] for kind, values in kept if kind == "take"] == [3 | 1 << 4, 0 | 1 << 4]
