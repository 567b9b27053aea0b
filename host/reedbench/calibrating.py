"""A meter's clock looked at while it is connected: seen, kept, and the meter told how fast its crystal runs."""

import math
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from reedbench import clock
from reedbench.clock import Rate, Sighting
from reedbench.errors import LinkFault
from reedbench.ledger import Ledger, Sender
from reedbench.link import Meter

SINCE = 2  # protocol version with the requests for it
GLANCE = 20  # exchanges at each load and pull
ENOUGH_PPM = 10.0  # standard uncertainty: with more the meter is not told

OLD = "the meter's firmware is too old to tell its clock: update it"
NOT_HELD = "no time server holds this computer's clock, as far as it says, so the meter's cannot be measured against it"
TOO_SHORT = "its error is known once the meter has been connected for longer, or once more before it is switched off"
ELSEWHERE = "the meter goes by what its home ledger tells it"


@dataclass(frozen=True)
class Calibration:
    """What is known about the meter's crystal. `told`: whether the meter goes by it; if not, `why`."""

    rate: Rate | None
    told: bool
    why: str = ""

    def as_dict(self) -> dict[str, Any]:
        """For `--json`."""
        return {
            "error_ppm": self.rate and self.rate.ppm,
            "u_ppm": self.rate and self.rate.u_ppm,
            "baseline_s": self.rate and self.rate.baseline_s,
            "told": self.told,
            "why": self.why,
        }

    def line(self) -> str:
        """What the meter was told, in a sentence for people."""
        assert self.rate
        way = "fast" if self.rate.ppm >= 0 else "slow"
        return (
            f"The meter's clock is {abs(self.rate.ppm):.1f} ppm {way}, give or take {2 * self.rate.u_ppm:.1f}: "
            "its takes are corrected by that from now on."
        )


def glance(meter: Meter, ledger: Ledger) -> Calibration:
    """A look at the meter's clock, in passing: what is wrong with it keeps nobody from what he came for."""
    if meter.protocol < SINCE:
        return Calibration(None, False, OLD)
    try:
        return calibrate(meter, ledger, [sight(meter) for _ in range(GLANCE)])
    except LinkFault as error:
        return Calibration(None, False, str(error))


def watch(meter: Meter, ledger: Ledger, seconds: int, step: Callable[[int], None] = lambda done: None) -> Calibration:
    """Look at the meter's clock for so long. `step` is told how many seconds have gone. Raises LinkFault."""
    if meter.protocol < SINCE:
        return Calibration(None, False, OLD)
    began = time.monotonic()
    seen: list[Sighting] = []
    try:
        while (gone := time.monotonic() - began) < seconds:
            seen.append(sight(meter))
            step(int(gone))
    finally:
        # After a Ctrl-C too: it has been seen, and the next time the baseline is all the longer.
        _keep(meter, ledger, seen)
    return _tell(meter, ledger)


def calibrate(meter: Meter, ledger: Ledger, seen: list[Sighting]) -> Calibration:
    """Keep what was seen of the meter's clock, and tell the meter what all that was ever seen says."""
    _keep(meter, ledger, seen)
    return _tell(meter, ledger)


def sight(meter: Meter) -> Sighting:
    """One exchange; raises LinkFault."""
    asked = time.time()
    ticks = meter.link.request("ticks")
    answered = time.time()
    began = time.time() - clock.running_s()
    return Sighting(asked, answered, ticks["boot"], ticks["up_s"], ticks["us"], began, clock.held())


def _keep(meter: Meter, ledger: Ledger, seen: list[Sighting]) -> None:
    sender = Sender(meter.serial, meter.epoch, meter.board, meter.firmware)
    ledger.keep_sightings(sender, meter.next_sequence, clock.binding(seen))


def _tell(meter: Meter, ledger: Ledger) -> Calibration:
    rate = clock.crystal(ledger.sightings(meter.serial))
    if rate is None or rate.u_ppm > ENOUGH_PPM:
        return Calibration(None, False, TOO_SHORT if clock.held() else NOT_HELD)
    u_ppm = math.hypot(rate.u_ppm, clock.WANDER_U_PPM)
    taken = meter.link.request(
        "calibrate", ledger=ledger.identity, error_ppb=round(1e3 * rate.ppm), u_ppb=round(1e3 * u_ppm)
    )["taken"]
    return Calibration(rate, bool(taken), "" if taken else ELSEWHERE)
