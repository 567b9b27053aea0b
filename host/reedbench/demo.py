"""The whole job once, on a desk meter: survey, pull, ledger, plan, sheet.

The scenario's hidden errors are known to the player alone. They meet the result again only in `DemoReed`, where the
outcome is laid beside them.
"""

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from reedbench import files, sheet
from reedbench.desk.audio import RATE
from reedbench.desk.meter import DeskMeter
from reedbench.desk.players import Player, Sounding
from reedbench.desk.scenario import Scenario
from reedbench.errors import Failed
from reedbench.item import Item
from reedbench.ledger import Ledger, StoredTake
from reedbench.link import Link, converse
from reedbench.load import load
from reedbench.pages.bench import survey_info
from reedbench.plan import Plan
from reedbench.planning import planned
from reedbench.pull import pull

LONGEST_S = 600.0  # of waiting for the survey: a sign that something hangs
POLL_S = 0.05


@dataclass(frozen=True)
class Result:
    """What the demo ended with."""

    scenario: Scenario
    plan: Plan
    takes: list[StoredTake]
    soundings: Sequence[Sounding]
    sheet: Path

    def as_dict(self) -> dict[str, Any]:
        """For `--json`: every reed with its hidden error beside the reading, the verdict and the work."""
        items = self.plan.by_ordinal()
        return {
            "reeds": [self._reed(items[ordinal]) for ordinal in self.scenario.instrument.sounding_order()],
            "sheet": str(self.sheet),
        }

    def _reed(self, item: Item) -> dict[str, Any]:
        reed = item.reed
        return {
            "hole": reed.hole,
            "breath": reed.breath,
            "slide": reed.slide,
            "plate": reed.plate,
            "face": reed.face,
            "note": reed.note,
            "target_hz": reed.target_hz,
            "hidden_cents": self.scenario.hidden_cents[reed.ordinal],
            "reading_cents": item.reading.cents,
            "u95_cents": item.reading.u95_cents,
            "takes": [self._take(take) for take in self.takes if take.ordinal == reed.ordinal],
            "verdict": item.verdict,
            "action": item.action,
            "move_cents": item.move_cents,
            "why": item.why,
        }

    def _take(self, take: StoredTake) -> dict[str, Any]:
        span = round(take.span_s * RATE)
        for sounding in self.soundings:
            if sounding.start <= take.start_sample < sounding.start + len(sounding.words):
                return {
                    "hz": take.hz,
                    "sounded_hz": sounding.sounded_hz(take.start_sample, span),
                    "flags": list(take.flags),
                    "withdrawn": take.withdrawn,
                    "start_s": (take.start_sample - sounding.start) / RATE,
                    "span_s": take.span_s,
                    "file": sounding.file or None,
                }
        raise Failed("a take came back that was never sounded")


def run(scenario: Scenario, player: Player, folder: Path, step: Callable[[int], None] = lambda done: None) -> Result:
    """Survey the scenario's instrument as `player` plays it; ledger and sheet go into `folder`."""
    instrument = scenario.instrument
    ledger_path = folder / "ledger.sqlite"
    with DeskMeter(player) as meter, Ledger.open(ledger_path, write=True) as ledger:
        ledger.keep_instrument(instrument.key_id, instrument.name, instrument.layout.id, instrument.to_dict())
        with converse(meter.port, ledger.identity) as talk:
            load(talk.link, instrument, "assembled", 0)
            _await_survey(talk.link, step)
        with converse(meter.port, ledger.identity) as talk:
            pulled = pull(talk, ledger)
        survey, work = planned(ledger, pulled.kept.surveys[-1])
        takes = ledger.takes(survey.number)
    page = (folder / "sheet.html").absolute()
    files.write(page, sheet.render(work, survey_info(survey)))
    return Result(scenario, work, takes, player.soundings, page)


def _await_survey(link: Link, step: Callable[[int], None]) -> None:
    """Until the meter says that the survey is complete."""
    patience = time.monotonic() + LONGEST_S
    while time.monotonic() < patience:
        status = link.request("status")
        step(status["done"])
        if status["doing"] == "surveyed":
            return
        time.sleep(POLL_S)
    raise Failed("the survey did not come to an end")
