"""One reed's line of the plan."""

from dataclasses import dataclass

from reedbench.causes import Cause
from reedbench.hand.stroke import Strokes
from reedbench.instrument import InstrumentReed
from reedbench.jobs import JOB
from reedbench.metal import Zone, tip_mass
from reedbench.reading import Reading
from reedbench.states import Offset
from reedbench.tuning import raised

ACTIONS = ("inspect", "replace", "raise", "lower", "sound again", "leave")
VERDICTS = ("good", "off", "unsure", "look")


@dataclass(frozen=True)
class Item:
    """One reed's line of the plan. Cents are from the reed's target; moves are what the pitch must do."""

    order: int  # place in the order of work, from 1; 0 where there is nothing to do
    reed: InstrumentReed
    reading: Reading
    verdict: str  # one of VERDICTS
    action: str  # one of ACTIONS
    work_pass: str  # "rough" or "fine" for metal work, else ""
    move_cents: float | None  # None where no move may be made yet; 0 where none is needed
    stop_cents: float | None  # what the reed should read when this pass stops
    zone: Zone | None  # where metal comes off; None of a reed to be moved: mass goes on its tip
    why: str
    causes: tuple[Cause, ...] = ()  # what speaks for looking at it, or sounding it again
    left_to_settle_cents: float = 0.0  # what it is expected to move by itself after it was stopped
    strokes: Strokes | None = None  # that this pass should take, where the shop's record tells
    more_takes: int = 0  # that should decide one to be sounded again
    offset: Offset | None = None  # how much higher it reads so than on the bench, where that has been learned

    @property
    def hz(self) -> float | None:
        """What it reads in hertz, None without a reading."""
        return None if self.reading.cents is None else raised(self.reed.target_hz, self.reading.cents)

    @property
    def unheard(self) -> bool:
        """Whether it is only to be sounded at all."""
        return self.action == "sound again" and not self.reading.standing

    @property
    def where(self) -> str:
        """Place of the work on the reed, in words; empty where its pitch is not to be moved."""
        if self.zone:
            return self.zone.words
        return "mass on its tip" if self.weighted else ""

    @property
    def moved(self) -> bool:
        """Whether its pitch is to be moved in this pass."""
        return self.stop_cents is not None

    @property
    def weighted(self) -> bool:
        """Whether mass on its tip is to bring it down, and no metal off at the rivet."""
        return self.moved and self.zone is None

    @property
    def thinner_percent(self) -> float | None:
        """Share of the zone's thickness to take off in this pass, by the uniform beam: an order of size."""
        if self.zone is None or self.reading.cents is None or self.stop_cents is None:
            return None
        return 100 * self.zone.thinning(self.stop_cents - self.reading.cents)

    @property
    def tip_mass_percent(self) -> float | None:
        """Mass on the tip that a large lowering takes, or would take in place of metal off at the rivet.

        In percent of a uniform tongue's own.
        """
        if self.action != "lower" or self.work_pass != "rough" or self.move_cents is None:
            return None
        return 100 * tip_mass(self.move_cents)

    @property
    def jobs(self) -> tuple[str, ...]:
        """What to see to before any metal, the first first, and once each: keys of jobs.JOBS."""
        if self.action == "replace":
            return ("replace",)
        wanted = [JOB[what] for cause in self.causes if cause.look for what in cause.look]
        return tuple(dict.fromkeys(wanted)) if self.action == "inspect" else ()

    @property
    def bench_stop_cents(self) -> float | None:
        """What the reed should read on the bench when this pass stops."""
        return self.offset.bench_cents(self.stop_cents) if self.offset and self.stop_cents is not None else None

    @property
    def after_cents(self) -> float | None:
        """What it is expected to read after this pass."""
        return self.reading.cents if self.stop_cents is None else self.stop_cents

    @property
    def settled(self) -> bool:
        """Whether it needs nothing more after this pass, as far as is known."""
        return self.action in ("leave", "raise", "lower") and self.work_pass != "rough"
