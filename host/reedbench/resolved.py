"""What sounded in takes of a ledger in which two reeds were noticed."""

from reedbench.ledger import Ledger, StoredBaseband, StoredSurvey
from reedbench.two import Resolved, gathered, resolve


def resolved_takes(ledger: Ledger, survey: StoredSurvey) -> dict[int, Resolved]:
    """What sounded in those takes of the survey of which the meter kept the baseband, by their sequence number."""
    kept: dict[int, list[StoredBaseband]] = {}
    for one in ledger.basebands(survey.number):
        kept.setdefault(one.take, []).append(one)
    return {
        take: resolve(
            gathered(
                parts[0].rate_hz, parts[0].length, parts[0].turn, [p.harmonic for p in parts], [p.points for p in parts]
            )
        )
        for take, parts in kept.items()
    }
