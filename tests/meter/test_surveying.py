"""A survey in the whole firmware, on MicroPython: what the keys do, and how it goes on after the power went."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

# Reeds at A4, B4, C#5, A5. Each step is [key, press], [Hz], or "off" for the power going. Told after each step: state
# in words, whether it is being asked for, position wanted, marks, takes of it so far, whether all is finished, which
# page is up; and of a sounding the verdict, its number and whether it withdraws.
SCRIPT = """
import pocket
from wire import record

reeds = [(str(i + 1), "blow", "", "", hz) for i, hz in enumerate((440.0, 493.8833, 554.3653, 880.0))]
meter = pocket.boot(values["root"])
pocket.put(meter, reeds, values["state"])
told = []
for step in values["steps"]:
    one = {}
    if step == "off":
        meter = pocket.boot(values["root"])
    elif len(step) == 2:
        pocket.tap(meter, *step)
    else:
        pocket.sound(meter, step[0], 0.02)
    one.update(mode=meter.mode.activity()[0], survey=meter.scribe.survey, words=pocket.words(meter))
    survey = getattr(meter.mode, "survey", None)
    if survey:
        if len(step) == 1:
            one.update(verdict=survey.last.verdict, number=survey.last.number, redo=survey.last.redo)
        one.update(state=record.state_words(survey.state), asking=survey.asking, index=survey.index,
                   marks=list(survey.marks), takes=len(survey.takes), finished=survey.finished, page=meter.mode.page,
                   scatter=[survey.scatter.cents, survey.scatter.reeds])
    told.append(one)
print(json.dumps(told))
"""
UP, DOWN, DO = ("up", "tap"), ("down", "tap"), ("do", "tap")
BACK, LEAVE = ("up", "hold"), ("down", "hold")
A4, B4, C5, A5 = (440.3,), (494.0,), (554.4,), (880.2,)
Surveyed = Callable[..., list[dict[str, Any]]]


@pytest.fixture
def surveyed(micropython: Callable[..., Any], tmp_path: Path) -> Surveyed:
    def run(*steps: tuple[Any, ...], state: str = "covers off") -> list[dict[str, Any]]:
        return micropython(SCRIPT, {"steps": steps, "state": state, "root": str(tmp_path)})

    return run


def test_sounding_the_first_reed_says_yes_to_the_state_that_is_shown(surveyed: Surveyed) -> None:
    (first,) = surveyed(A4, state="plate on bench, bellows")
    assert (first["verdict"], first["state"], first["asking"]) == ("again", "plate on bench, bellows", False)


def test_a_noise_says_nothing_about_the_state(surveyed: Surveyed) -> None:
    assert surveyed((95.0,))[0]["asking"]


def test_one_press_confirms_and_the_others_go_round_all_states(surveyed: Surveyed) -> None:
    assert [one["asking"] for one in surveyed(DO)] == [False]
    told = surveyed(UP, UP, DOWN, UP, UP, DOWN, DOWN, DOWN, DO, A4, A4, state="assembled, bellows")
    assert [one["state"] for one in told] == [
        "covers off, bellows",
        "plate on bench, bellows",
        "plate on bench, suction",
        "plucked",  # by no wind at all, ...
        "assembled, suction",  # ... which does not change the wind
        "assembled",
        "assembled, bellows",
        "assembled, suction",
        *["assembled, suction"] * 3,
    ]
    assert [one["asking"] for one in told[7:]] == [True, False, False, False]
    assert surveyed(DOWN, state="plucked")[0]["state"] == "plucked"


def test_a_reed_is_finished_in_one_state_and_still_to_come_in_another(surveyed: Surveyed) -> None:
    told = surveyed(A4, A4, B4, DO, UP, DO, B4, B4, DO, UP, UP, UP, DO, B4, B4, state="covers off")
    assert told[1]["marks"] == [1, 0, 0, 0]
    assert (told[3]["asking"], told[3]["takes"]) == (True, 1)
    other = told[5]
    assert (other["state"], other["marks"], other["index"], other["takes"]) == ("plate on bench", [0] * 4, 1, 0)
    assert (told[6]["verdict"], told[6]["number"], told[6]["redo"]) == ("again", 2, False)
    assert (told[7]["verdict"], told[7]["marks"]) == ("done", [0, 1, 0, 0])
    # Back with the covers off: the single take of B4 there is begun afresh, and nothing of the bench counts.
    again = told[12]
    assert (again["state"], again["marks"], again["index"]) == ("covers off", [1, 0, 0, 0], 2)
    assert told[13]["verdict"] == "wrong", "C#5 is wanted"


def test_an_unfinished_reed_is_begun_afresh_when_its_state_comes_back(surveyed: Surveyed) -> None:
    told = surveyed(A4, DO, UP, UP, UP, UP, DO, A4, A4)
    assert told[6]["state"] == "covers off" and told[6]["takes"] == 0
    assert [(one["verdict"], one["number"], one["redo"]) for one in told[7:]] == [
        ("again", 2, True),
        ("done", 3, False),
    ]


def test_the_pitch_found_in_one_state_is_not_looked_for_in_another(surveyed: Surveyed) -> None:
    """Redo by sounding again is of the state at hand: elsewhere the same sounding is the first of that reed."""
    told = surveyed(A4, A4, DO, UP, DO, A4)
    assert (told[5]["verdict"], told[5]["redo"], told[5]["index"]) == ("wrong", False, 1)


def test_a_finished_survey_goes_on_in_another_state_from_its_first_reed(surveyed: Surveyed) -> None:
    told = surveyed(*[reed for one in (A4, B4, C5, A5) for reed in (one, one)], DO, UP, A4)
    assert told[7]["finished"]
    assert (told[9]["finished"], told[9]["index"], told[9]["marks"]) == (False, 0, [0] * 4)
    assert (told[10]["verdict"], told[10]["asking"]) == ("again", False)


def test_back_to_the_reed_before_begins_it_afresh(surveyed: Surveyed) -> None:
    told = surveyed(A4, A4, B4, BACK, A4, A4, B4, B4)
    assert (told[3]["index"], told[3]["marks"], told[3]["takes"]) == (0, [0] * 4, 0)
    assert [(one["verdict"], one["redo"]) for one in told[4:]] == [
        ("again", True),
        ("done", False),
        ("again", True),  # it had one take when it was left
        ("done", False),
    ]
    assert told[7]["marks"] == [1, 1, 0, 0]


def test_back_further_and_not_before_the_first(surveyed: Surveyed) -> None:
    told = surveyed(A4, A4, B4, B4, BACK, BACK, BACK)
    assert [one["index"] for one in told[4:]] == [1, 0, 0]
    assert told[6]["marks"] == [0, 0, 0, 0]


def test_back_opens_a_finished_survey_at_its_last_reed(surveyed: Surveyed) -> None:
    told = surveyed(*[reed for one in (A4, B4, C5, A5) for reed in (one, one)], BACK, A5, A5)
    assert (told[8]["index"], told[8]["finished"]) == (3, False)
    assert (told[9]["redo"], told[10]["finished"]) == (True, True)


def test_a_reed_left_out_is_doubtful_and_holds_nothing_up(surveyed: Surveyed) -> None:
    told = surveyed(DO, LEAVE, A4, B4, B4, LEAVE, LEAVE, LEAVE)
    assert (told[1]["marks"], told[1]["index"]) == ([2, 0, 0, 0], 1)
    assert told[2]["verdict"] == "wrong", "it was not closed a moment ago by sounding it"
    assert told[4]["verdict"] == "done"
    assert (told[6]["marks"], told[6]["finished"]) == ([2, 1, 2, 2], True)
    assert told[7] == told[6]


def test_back_to_a_reed_that_was_left_out(surveyed: Surveyed) -> None:
    told = surveyed(DO, LEAVE, BACK, A4, A4)
    assert told[2]["marks"] == [0, 0, 0, 0]
    assert told[4]["marks"] == [1, 0, 0, 0]


def test_the_question_takes_no_held_key_for_a_short_one(surveyed: Surveyed) -> None:
    told = surveyed(BACK, LEAVE)
    assert told[1]["state"] == "covers off" and told[1]["marks"] == [0] * 4 and told[1]["asking"]


def test_pages_come_and_go(surveyed: Surveyed) -> None:
    told = surveyed(DO, UP, DOWN, DOWN, BACK, DO)
    assert [one["page"] for one in told] == ["", "whole", "", "keys", "", ""]
    assert "0 done, 0 doubtful, 4 left" in told[1]["words"] and told[3]["words"][0] == "Keys"
    assert told[4]["index"] == 0 and told[5]["asking"], "the key that leaves it does nothing else"


def test_a_sounding_puts_a_page_away(surveyed: Surveyed) -> None:
    assert [one["page"] for one in surveyed(DO, UP, A4)] == ["", "whole", ""]


def test_it_goes_on_where_it_stopped(surveyed: Surveyed) -> None:
    """After the power went, after another mode; a reed in the middle is begun afresh, as its one take is of before."""
    for away in (("off",), (("do", "hold"), DO)):
        told = surveyed(A4, A4, B4, B4, LEAVE, A5, *away, A5, A5)
        assert told[5]["marks"] == [1, 1, 2, 0] and told[5]["takes"] == 1
        back = told[-3]
        assert (back["marks"], back["index"], back["takes"], back["asking"]) == ([1, 1, 2, 0], 3, 0, True)
        assert [(one["verdict"], one["redo"]) for one in told[-2:]] == [("again", True), ("done", False)]
        assert back["survey"] == told[5]["survey"], "the takes are the same survey's"


def test_what_takes_scatter_by_is_not_learned_anew_after_a_pause(surveyed: Surveyed) -> None:
    told = surveyed(A4, (440.25,), B4, B4, "off")
    assert told[3]["scatter"] == told[4]["scatter"] and told[4]["scatter"][1] == 6


def test_a_finished_reed_is_not_begun_afresh_by_a_pause(surveyed: Surveyed) -> None:
    told = surveyed(A4, A4, "off", B4, B4, "off", "off", C5)
    assert [one["redo"] for one in told if "redo" in one] == [False] * 5


def test_each_state_goes_on_where_it_stopped(surveyed: Surveyed) -> None:
    told = surveyed(A4, A4, DO, UP, DO, B4, B4, C5, "off", DO, DO, UP, UP, UP)
    assert (told[8]["state"], told[8]["marks"]) == ("plate on bench", [0, 1, 0, 0])
    assert (told[13]["state"], told[13]["marks"], told[13]["index"]) == ("covers off", [1, 0, 0, 0], 1)


def test_a_survey_that_has_ended_is_followed_by_a_new_one(surveyed: Surveyed) -> None:
    every = [reed for one in (A4, B4, C5, A5) for reed in (one, one)]
    late = [("up", "tap"), ("up", "tap")] * 200  # 8 s: too late to do the last one again
    told = surveyed(*every, *late, "off", DO, A4)
    assert told[7]["finished"] and told[-4]["mode"] == "surveyed"
    assert told[-3]["words"][0] == "What to do?", "nothing is left to go on with"
    assert (told[-2]["marks"], told[-1]["verdict"]) == ([0] * 4, "again")
    assert told[-1]["survey"] > told[7]["survey"]
