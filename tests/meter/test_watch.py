"""Dimming, putting out and waking the display, the turned meter, and the cell, in the whole firmware."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

START = """
import pocket
meter = pocket.boot(values)
told = []
def pass_minutes(minutes):
    pocket.turn(meter, 60000 * minutes)
"""


def test_the_display_dims_goes_out_and_is_woken_by_key_or_reed(micropython: Callable[..., Any], tmp_path: Path) -> None:
    script = """
told.append(meter.part.lit)
pass_minutes(2)
told.append(meter.part.lit)
pass_minutes(13)
told.append(meter.part.lit)
before = pocket.words(meter)
pocket.tap(meter, "down")
told += [meter.part.lit, pocket.words(meter) == before]  # the key that wakes it does nothing else
pass_minutes(15)
pocket.sound(meter, 440.0)
told.append(meter.part.lit)
meter.settings.off_min = meter.settings.dim_min = meter.settings.sleep_min = 0
pass_minutes(500)
told.append(meter.part.lit)
print(json.dumps(told))
"""
    lit, dark = [4, 0], [0, 0]
    told = micropython(START + script, str(tmp_path))
    assert told == [lit, [1, 0], dark, lit, True, lit, lit]


def test_turned_round_the_keys_are_turned_too(micropython: Callable[..., Any], tmp_path: Path) -> None:
    script = """
meter.settings.turned = 1
pocket.tap(meter, "up")
told = [meter.part.lit, meter.mode.chosen]
print(json.dumps(told))
"""
    assert micropython(START + script, str(tmp_path)) == [[4, 1], 1]


def test_a_low_cell_is_told_and_an_empty_one_ends_the_takes(micropython: Callable[..., Any], tmp_path: Path) -> None:
    script = """
pocket.put(meter, [("1", "blow", "", "", 440.0), ("2", "blow", "", "", 554.4)])
def looks(mv, times):
    meter.part.mv = mv
    for _ in range(times):
        pocket.turn(meter, 5000)
    return pocket.words(meter)[0]
told.append(looks(3240, 2))
told.append(looks(3240, 1))
pocket.tap(meter, "do")
told.append(pocket.words(meter)[0])
pocket.sound(meter, 440.0)
told.append(meter.journal.next_seq)
told.append(looks(3040, 1))
pocket.sound(meter, 440.0)
told.append(meter.journal.next_seq)
told.append(looks(None, 1))
pocket.sound(meter, 440.0)
told.append(meter.journal.next_seq)
print(json.dumps(told))
"""
    question, low, after, saved, empty, still, charging, more = micropython(START + script, str(tmp_path))
    assert (question, low, after) == ("How is it sounded?", "Cell low", "How is it sounded?")
    assert (saved, empty, still) == (2, "Cell empty", 2), "no new take is begun that might not be saved"
    assert charging != "Cell empty" and more > still
