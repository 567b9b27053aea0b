"""Whose sounding was that? The survey's judgement, on MicroPython: own, redo, wrong reed, stray, enough, give up."""

from collections.abc import Callable
from typing import Any

import pytest

# Reeds at A4, A#4, B4, A5. Each sounding is [Hz, milliseconds, flags, whether it has a figure].
SCRIPT = """
from meter.pitch import Tone
from meter.survey import Survey

class Instrument:
    targets = (440.0, 466.1638, 493.8833, 880.0)
    name, tolerance_cc, state = "test", 300, "assembled"
    def __len__(self):
        return len(self.targets)
    def target_uhz(self, i):
        return int(self.targets[i] * 1e6)

survey = Survey(Instrument())
told = []
for hz, now, flags, figure in values:
    tone = Tone()
    tone.hz = hz
    tone.uhz = int(hz * 1e6) if figure else 0
    tone.se_cents = 0.02
    tone.flags = flags
    outcome = survey.judge(tone, now)
    told.append([outcome.verdict, outcome.index, outcome.redo, survey.index, list(survey.marks), survey.finished])
print(json.dumps(told))
"""
Judge = Callable[..., list[list[Any]]]


@pytest.fixture
def judge(micropython: Callable[..., Any]) -> Judge:
    def run(*soundings: tuple[float, int] | tuple[float, int, list[str], bool]) -> list[list[Any]]:
        return micropython(SCRIPT, [[*one, [], True] if len(one) == 2 else list(one) for one in soundings])

    return run


def up(hz: float, cents: float) -> float:
    return hz * 2 ** (cents / 1200)


def test_two_takes_that_agree_finish_a_reed(judge: Judge) -> None:
    first, second = judge((441.0, 1000), (441.1, 3000))
    assert first == ["again", 0, False, 0, [0, 0, 0, 0], False]
    assert second == ["done", 0, False, 1, [1, 0, 0, 0], False]


def test_takes_that_differ_ask_for_a_third_and_no_more(judge: Judge) -> None:
    told = judge((440.0, 1000), (up(440.0, 5), 3000), (up(440.0, 0.4), 5000))
    assert [verdict for verdict, *_ in told] == ["again", "again", "done"]


def test_a_reed_that_never_agrees_is_left_as_doubtful(judge: Judge) -> None:
    told = judge(*((up(440.0, 5 * number), 1000 * number) for number in range(5)))
    assert [verdict for verdict, *_ in told] == ["again"] * 4 + ["give up"]
    assert told[-1][3:5] == [1, [2, 0, 0, 0]]


def test_takes_without_a_figure_count_as_soundings_but_not_towards_agreement(judge: Judge) -> None:
    told = judge((440.0, 1000), (440.0, 2000, ["pulled"], False), (440.1, 3000))
    assert [verdict for verdict, *_ in told] == ["again", "again", "done"]


def test_another_reed_of_the_instrument_is_named_and_not_kept(judge: Judge) -> None:
    told = judge((466.3, 1000), (440.0, 2000), (440.1, 3000))
    assert told[0] == ["wrong", 1, False, 0, [0, 0, 0, 0], False]
    assert told[2][0] == "done"


def test_the_same_reed_again_within_seconds_starts_it_afresh(judge: Judge) -> None:
    told = judge((443.0, 1000), (443.1, 2000), (443.2, 5000), (443.3, 7000))
    assert told[2] == ["again", 0, True, 0, [0, 0, 0, 0], False]
    assert told[3][:4] == ["done", 0, False, 1]


def test_the_same_reed_again_much_later_is_a_wrong_reed(judge: Judge) -> None:
    told = judge((443.0, 1000), (443.1, 2000), (443.2, 60000))
    assert told[2][:2] == ["wrong", 0]


def test_a_flat_reed_does_not_undo_its_neighbour(judge: Judge) -> None:
    """The second reed, 66 cents flat, lies nearer to the first one's target, but not to what the first one was."""
    flat = up(466.1638, -66)
    told = judge((up(440.0, 1), 1000), (up(440.0, 1), 2000), (flat, 4000), (flat, 6000))
    assert told[2][:3] == ["again", 1, False] and told[3][:2] == ["done", 1]
    assert told[3][4] == [1, 1, 0, 0]


def test_what_is_no_reed_of_the_instrument_changes_nothing(judge: Judge) -> None:
    """Somebody talks: pitches far below the instrument, and soundings without any."""
    told = judge(*((95.0 + number, 1000 * number, ["short"], False) for number in range(12)), (0.0, 15000, [], False))
    assert all(verdict == "stray" for verdict, *_ in told)
    assert told[-1][3:] == [0, [0, 0, 0, 0], False]


def test_four_soundings_of_another_reed_pass_a_reed_that_cannot_be_sounded(judge: Judge) -> None:
    told = judge(*((880.0, 1000 * number) for number in range(4)))
    assert [verdict for verdict, *_ in told] == ["wrong"] * 4
    assert told[-1][3:5] == [1, [2, 0, 0, 0]]


def test_the_redo_window_survives_the_clock_beginning_anew(judge: Judge) -> None:
    """A board's milliseconds wrap at 2^30 (MicroPython, time.ticks_ms)."""
    wrap = 1 << 30
    told = judge((443.0, wrap - 3000), (443.1, wrap - 1000), (443.2, 2000))
    assert told[2][:3] == ["again", 0, True]
    told = judge((443.0, wrap - 3000), (443.1, wrap - 1000), (443.2, 9000))
    assert told[2][:2] == ["wrong", 0]


def test_a_finished_survey_hears_only_the_last_reed_again(judge: Judge) -> None:
    soundings = [(hz, 1000 * at) for at, hz in enumerate([440.0] * 2 + [466.2] * 2 + [493.9] * 2 + [880.0] * 2)]
    told = judge(*soundings, (440.0, 8500), (880.1, 9000), (880.1, 30000))
    assert told[7][5] is True
    assert told[8][0] == "stray" and told[9][:3] == ["again", 3, True] and told[10][0] == "done"
