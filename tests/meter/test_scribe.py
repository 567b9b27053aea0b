"""What the scribe makes of a measured tone, on MicroPython: a record claims no more than was measured."""

from collections.abc import Callable
from typing import Any

import pytest

SCRIPT = """
from meter.pitch import Tone
from meter.scribe import Scribe
from meter.shelf import Instrument
from meter.survey import Survey

class Notebook:  # in place of the journal
    boot = 1
    def add(self, kind, values):
        written.append((kind, values))
        return len(written)

class Settings:
    crystal_ppb, crystal_u_ppb = 0, 30000

class Clock:
    unix_s = up_s = staticmethod(lambda: 0)

written = []
facts = dict(key="a", name="n", layout="l", state="assembled", reeds=1, reference_mhz=440000, tolerance_cc=300)
instrument = Instrument(dict(facts, pass_number=0))
instrument.put(dict(ordinal=0, target_uhz=440000000, place="1", breath="blow", slide="", plate="", member=""), 0)
survey = Survey(instrument)
scribe = Scribe(Notebook(), Settings, Clock, lambda: None, 16000, 0)
for se_cents in values:
    tone = Tone()
    tone.uhz, tone.hz, tone.se_cents = 440000000, 440.0, se_cents
    scribe.keep(survey, survey.judge(tone, 0), tone)
print(json.dumps([record["se_mcent"] for kind, record in written if kind == "take"]))
"""


@pytest.mark.parametrize(
    ("cents", "thousandths"),
    [(0.0, 0), (0.00001, 1), (0.0004, 1), (0.002, 2), (0.0021, 3), (65.5335, 65534), (1e6, 65535)],
)
def test_an_uncertainty_is_never_rounded_down(cents: float, thousandths: int, micropython: Callable[..., Any]) -> None:
    assert micropython(SCRIPT, [cents]) == [thousandths]
