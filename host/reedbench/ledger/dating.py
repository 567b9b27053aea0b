"""When takes were made by a meter that has no calendar: what hosts told it, and when they saw it, as bounds.

A take knows its run of the meter and the seconds since that began. So what is to be found is when each run began. A
host that saw the meter in that run knows it to a second. Otherwise the meter's calendar says what a host, whichever,
told it in that run. Otherwise the run lies between the last time that the meter was seen before and the first time
after, and runs follow each other in the order of their records. A clock that a time server holds goes before others,
whose word counts as far as it does not contradict that. Where nothing fits any more nothing is told.
"""

import math
import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass

from reedbench.clock import Sighting
from reedbench.ledger import rows

LONG_AGO_S = 1_600_000_000.0  # before there was any meter
METER_MOST = 10_000  # records: more than a meter holds, so that what came before has its date for good


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
    held = [one for one in seen if one.sighting.held]
    sure = _in_turn(ordered, [_here(run, held) or _between(run, held) for run in ordered])
    claims = [_here(run, seen) or _told(run) or _between(run, seen) for run in ordered]
    bounds = _in_turn(ordered, [_both(*pair) for pair in zip(sure, claims, strict=True)])
    return {
        run.boot: (earliest, latest)
        for run, (earliest, latest) in zip(ordered, bounds, strict=True)
        if earliest <= latest < math.inf
    }


def _here(run: Run, seen: Sequence[Seen]) -> Bounds | None:
    """Bounds of a run by those who saw the meter in it; clocks that disagree widen them."""
    here = [one.began for one in seen if one.sighting.boot == run.boot]
    return (min(low for low, _ in here), max(high for _, high in here)) if here else None


def _told(run: Run) -> Bounds | None:
    """Bounds of a run by what the meter was told in it, by whatever host."""
    return (run.told[0] - rows.TOLD_S, run.told[1] + rows.TOLD_S) if run.told else None


def _between(run: Run, seen: Sequence[Seen]) -> Bounds:
    """Bounds of a run by those who saw the meter before it and after it."""
    before = [one.sighting.asked_s for one in seen if one.next_sequence <= run.first_sequence]
    after = [one.began[1] - run.last_up_s for one in seen if one.next_sequence > run.first_sequence]
    return max([LONG_AGO_S, *before]), min([math.inf, *after])


def _both(sure: Bounds, claim: Bounds) -> Bounds:
    """What is sure and claimed; what is sure where the claim contradicts it."""
    both = max(sure[0], claim[0]), min(sure[1], claim[1])
    return both if both[0] <= both[1] else sure


def _in_turn(ordered: Sequence[Run], bounds: Sequence[Bounds]) -> list[Bounds]:
    """The same bounds, and that each run begins only when the last record of the one before it has been made."""
    lasted = [run.last_up_s for run in ordered]
    earliest = [bound[0] for bound in bounds]
    latest = [bound[1] for bound in bounds]
    for n in range(1, len(ordered)):
        earliest[n] = max(earliest[n], earliest[n - 1] + lasted[n - 1])
    for n in reversed(range(len(ordered) - 1)):
        latest[n] = min(latest[n], latest[n + 1] - lasted[n])
    return list(zip(earliest, latest, strict=True))


def date(connection: sqlite3.Connection, meter: int, epoch: int) -> None:
    """Renews what the ledger has about the beginnings of a meter's last runs, inside a transaction."""
    where = {"meter": meter, "epoch": epoch, "long_ago": LONG_AGO_S}
    (newest,) = connection.execute(
        "SELECT coalesce(max(sequence), 0) FROM records WHERE meter = :meter AND epoch = :epoch", where
    ).fetchone()
    where["since"] = newest - METER_MOST
    told = connection.execute(
        "SELECT boot, min(takes.sequence), max(up_s), min(unix_s - up_s) FILTER (WHERE unix_s > :long_ago),"
        " max(unix_s - up_s) FILTER (WHERE unix_s > :long_ago)"
        " FROM records JOIN takes ON takes.record = records.id"
        " WHERE meter = :meter AND epoch = :epoch AND records.sequence > :since AND boot IS NOT NULL GROUP BY boot",
        where,
    )
    runs = [Run(boot, first, up, None if least is None else (least, most)) for boot, first, up, least, most in told]
    seen = connection.execute(
        "SELECT * FROM sightings WHERE meter = :meter AND epoch = :epoch AND next_sequence > :since", where
    )
    found = began(runs, [Seen(rows.sighting_from(row), row["next_sequence"]) for row in seen])
    connection.executemany(
        "DELETE FROM runs WHERE meter = ? AND epoch = ? AND boot = ?", [(meter, epoch, run.boot) for run in runs]
    )
    connection.executemany(
        "INSERT INTO runs VALUES (?, ?, ?, ?, ?)",
        [(meter, epoch, boot, earliest, latest) for boot, (earliest, latest) in found.items()],
    )
