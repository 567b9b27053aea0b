"""The meter sleeps when nothing is to do, loses nothing by it, and is woken by a key or a host: the whole firmware."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

START = """
import pocket
from wire import frames, messages

meter = pocket.boot(values)
part = meter.part
told, slept = [], []

def sleeper(key=None, line=b"", after_ms=200):
    \"\"\"Wakes the meter so long after it fell asleep, by a key or a line from the host; notes how it slept.\"\"\"
    def asleep(part):
        if not slept or slept[-1][0] != part.since:
            slept.append([part.since, part.running, part.lit[0], pocket.words(meter)])
        if part.ms - part.since > after_ms:
            part.pressed, part.said = ((key,) if key else ()), line
    return asleep

def pass_minutes(minutes):
    \"\"\"In steps of a minute; whether it slept meanwhile.\"\"\"
    before = len(slept)
    for _ in range(minutes):
        part.since = part.ms + 60000
        pocket.turn(meter, 60000)
    return len(slept) > before

def hello(number=1):
    return frames.pack(number, messages.ask("hello", {"protocol": 1, "ledger": "here"}))

part.asleep = sleeper(("down", "tap"))
"""
REEDS = [("1", "blow", "", "", 440.0), ("1", "draw", "", "", 493.8833), ("2", "blow", "", "", 554.3653)]


def test_it_sleeps_after_the_time_that_is_set_and_a_key_only_wakes_it(
    micropython: Callable[..., Any], tmp_path: Path
) -> None:
    script = """
before = pocket.words(meter)
told.append([pass_minutes(29), part.running])
told.append([pass_minutes(1), part.running, part.lit[0]])
told.append(pocket.words(meter) == before)
told.append([pass_minutes(29), pass_minutes(1)])
part.asleep = sleeper(("do", "hold"))
told.append([pass_minutes(30), pocket.words(meter) == before])
meter.settings.sleep_min = 0
told.append([pass_minutes(600), part.running])
print(json.dumps([told, slept]))
"""
    told, slept = micropython(START + script, str(tmp_path))
    assert told[0] == [False, True], "not a minute before its time"
    assert told[1] == [True, True, 4], "awake again: microphone and display are on"
    assert told[2], "the key that woke it has done nothing else"
    assert told[3] == [False, True], "the time begins anew"
    assert told[4] == [True, True], "nor does a key that is held"
    assert told[5] == [False, True], "0 is never"
    asleep = ["Asleep", "a key wakes the meter,", "and it goes on here"]
    assert [one[1:] for one in slept] == [[False, 0, asleep]] * 3, "microphone and display are off"


def test_a_survey_goes_on_where_it_stopped(micropython: Callable[..., Any], tmp_path: Path) -> None:
    """With a first take of a reed that has not been sounded again yet."""
    script = """
pocket.put(meter, values["reeds"])
for hz in (440.0, 440.0, 493.9):
    pocket.sound(meter, hz)
pocket.turn(meter, 7000)
before, kept = pocket.words(meter), meter.journal.next_seq
told.append([pass_minutes(30), pocket.words(meter) == before, meter.journal.next_seq == kept])
pocket.sound(meter, 493.9)
told.append([meter.mode.survey.index, meter.mode.survey.done(), before])
print(json.dumps(told))
"""
    start = START.replace("boot(values)", "boot(values['root'])")
    slept, (index, done, words) = micropython(start + script, {"root": str(tmp_path), "reeds": REEDS})
    assert slept == [True, True, True]
    assert "take 2" in words and (index, done) == (2, 2), "the take from before counts"


def test_what_sounds_keeps_it_awake_and_no_take_is_cut(micropython: Callable[..., Any], tmp_path: Path) -> None:
    script = """
listener = meter.ear.listener
for phase in ("attack", "gather", "hold", "release"):
    listener.phase = phase
    told.append(pass_minutes(60))
listener.phase = "wait"
told.append(pass_minutes(29))
listener.count = 256
told.append(pass_minutes(5))
listener.count = 0
told.append(pass_minutes(1))
print(json.dumps(told))
"""
    told = micropython(START + script, str(tmp_path))
    assert told[:4] == [False] * 4, "a sounding in whatever phase"
    assert told[4:] == [False, False, True], "nor while a first loud block may be the beginning of one"


def test_a_host_keeps_it_awake_and_wakes_it(micropython: Callable[..., Any], tmp_path: Path) -> None:
    script = """
written = []
part.write = written.append
for number in range(5):
    told.append(pass_minutes(20))
    part.said = hello(number)
lit = part.lit[0]
told.append(pass_minutes(29))
part.asleep = sleeper(line=hello(77))
told += [pass_minutes(2), part.running, part.lit[0]]
print(json.dumps([told, lit, [frames.unpack(line.strip())[0] for line in written]]))
"""
    told, lit, answered = micropython(START + script, str(tmp_path))
    assert told[:6] == [False] * 6, "29 minutes after the last word of a host"
    assert told[6:] == [True, True, 4]
    assert lit == 0, "a host keeps it awake, not its display lit"
    assert answered == [0, 1, 2, 3, 4, 77], "the word that woke it is answered"


def test_what_a_host_brings_to_a_sleeping_meter_is_there(micropython: Callable[..., Any], tmp_path: Path) -> None:
    script = """
asked = pocket.requests([("1", "blow", "", "", 440.0)])
lines = [frames.pack(number, messages.ask(*one)) for number, one in enumerate(asked)]
part.asleep = sleeper(line=b"".join(lines))
told.append(pass_minutes(30))
told += [part.running, pocket.words(meter)[0]]
print(json.dumps(told))
"""
    assert micropython(START + script, str(tmp_path)) == [True, True, "How is it sounded?"]


def test_an_empty_cell_makes_it_sleep_soon(micropython: Callable[..., Any], tmp_path: Path) -> None:
    script = """
meter.settings.sleep_min = 0
part.mv = 3040
for _ in range(3):
    part.since = part.ms + 5000
    pocket.turn(meter, 5000)
told += [pocket.words(meter)[0], pass_minutes(1), pocket.words(meter)[0]]
part.mv = None
pocket.turn(meter, 5000)
told.append(pass_minutes(60))
print(json.dumps([told, slept]))
"""
    told, slept = micropython(START + script, str(tmp_path))
    assert told == ["Cell empty", True, "Cell empty", False], "and not once it is being charged"
    assert [one[1:3] for one in slept] == [[False, 0]], "the display had been lit"


def test_it_is_awake_at_first_however_long_its_clock_has_run(micropython: Callable[..., Any], tmp_path: Path) -> None:
    """A soft reset does not set a board's clock back."""
    script = """
pocket.Part.ms = 3600000
again = pocket.boot(values)
again.part.asleep = sleeper(("down", "tap"))
pocket.turn(again)
print(json.dumps([again.part.running, again.part.lit[0], slept]))
"""
    running, light, slept = micropython(START + script, str(tmp_path))
    assert running and light == 4 and not slept
