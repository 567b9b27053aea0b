"""When takes were made by a meter that has no calendar: what hosts told it, and when they saw it, as bounds.

A take knows its run of the meter and the seconds since that began. So what is to be found is when each run began. A
host that saw the meter in that run knows it to a second. Otherwise the meter's calendar says what a host, whichever,
told it in that run. Otherwise the run lies between the last time that it was seen before and the first time after,
and runs follow each other in the order of their records. What a clock said that a time server held goes before what
others said. Clocks that contradict each other widen what is told, and where nothing fits any more nothing is told.
"""

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass

from reedbench.clock import Sighting
from reedbench.ledger import rows

LONG_AGO_S = 1_600_000_000.0  # before there was any meter
TOLD_S = 2.0  # whole seconds, on their way over the link


@dataclass(frozen=True)
class Seen:
    """A sighting, and the number that the meter's next record was to get."""

    sighting: Sighting
    next_sequence: int

    @property
    def began(self) -> tuple[float, float]:
        """Earliest and latest time at which the run of the meter can have begun."""
        return self.sighting.asked_s - self.sighting.up_s - 1, self.sighting.answered_s - self.sighting.up_s


@dataclass(frozen=True)
class Run:
    """What the records of one run of a meter say. `told`: least and most of calendar less seconds from power-up."""

    boot: int
    first_sequence: int
    last_up_s: int
    told: tuple[float, float] | None = None


Bounds = tuple[float, float]


def began(runs: Sequence[Run], seen: Sequence[Seen]) -> dict[int, Bounds]:
    """Earliest and latest beginning of each run that can be dated, seconds since 1970, by its boot number."""
    ordered = sorted(runs, key=lambda run: run.first_sequence)
    bounds = [_alone(run, seen) for run in ordered]
    for place in range(1, len(ordered)):
        earliest = max(bounds[place][0], bounds[place - 1][0] + ordered[place - 1].last_up_s)
        bounds[place] = (earliest, bounds[place][1])
    for place in reversed(range(len(ordered) - 1)):
        latest = min(bounds[place][1], bounds[place + 1][1] - ordered[place].last_up_s)
        bounds[place] = (bounds[place][0], latest)
    return {
        run.boot: bound
        for run, bound in zip(ordered, bounds, strict=True)
        if bound[0] <= bound[1] + TOLD_S and bound[1] != float("inf")
    }


def _alone(run: Run, seen: Sequence[Seen]) -> Bounds:
    """Bounds of a run without a look at the others."""
    here = _best([one for one in seen if one.sighting.boot == run.boot])
    if here:
        return min(one.began[0] for one in here), max(one.began[1] for one in here)
    if run.told:
        return run.told[0] - TOLD_S, run.told[1] + TOLD_S
    before = [one.sighting.asked_s for one in _best(seen) if one.next_sequence <= run.first_sequence]
    after = [one.began[1] - run.last_up_s for one in _best(seen) if one.next_sequence > run.first_sequence]
    return max([LONG_AGO_S, *before]), min([float("inf"), *after])


def _best(seen: Sequence[Seen]) -> Sequence[Seen]:
    """Those by a clock that was held, or all where there are none."""
    return [one for one in seen if one.sighting.held] or seen


def date(connection: sqlite3.Connection, meter: int, epoch: int) -> None:
    """Renews what the ledger has about the beginnings of a meter's runs, inside a transaction."""
    told = connection.execute(
        "SELECT boot, min(takes.sequence), max(up_s), min(unix_s - up_s) FILTER (WHERE unix_s > :long_ago),"
        " max(unix_s - up_s) FILTER (WHERE unix_s > :long_ago)"
        " FROM takes JOIN records ON records.id = takes.record"
        " WHERE meter = :meter AND epoch = :epoch AND boot IS NOT NULL GROUP BY boot",
        {"meter": meter, "epoch": epoch, "long_ago": LONG_AGO_S},
    )
    runs = [Run(boot, first, up, None if least is None else (least, most)) for boot, first, up, least, most in told]
    found = began(runs, seen_from(connection, meter, epoch))
    connection.execute("DELETE FROM runs WHERE meter = ? AND epoch = ?", (meter, epoch))
    connection.executemany(
        "INSERT INTO runs VALUES (?, ?, ?, ?, ?)",
        [(meter, epoch, boot, earliest, latest) for boot, (earliest, latest) in found.items()],
    )


def seen_from(connection: sqlite3.Connection, meter: int, epoch: int) -> list[Seen]:
    """All sightings of a meter while it had that journal."""
    found = connection.execute("SELECT * FROM sightings WHERE meter = ? AND epoch = ?", (meter, epoch))
    return [Seen(rows.sighting_from(row), row["next_sequence"]) for row in found]
