"""What somebody should know of the surveys behind a plan before working by it."""

from collections.abc import Iterator, Sequence

from reedbench.history import ON_BENCH, Learned, Surveyed
from reedbench.temperature import Correction, warmer
from reedbench.words import signed


def remarks(known: Sequence[Surveyed], learned: Learned | None, correction: Correction | None) -> tuple[str, ...]:
    """Sentences about temperature and state; `known`: the survey planned from, last, and those before it."""
    one = known[-1]
    with_survey = (
        f"It goes on with survey {one.with_survey}, of the same state, pass and day: reeds that were not sounded this "
        "time, or were to be sounded again, stand on the takes of that as well."
        if one.with_survey is not None
        else ""
    )
    return tuple(filter(None, (with_survey, *_state(one, learned), *_warmth(known, learned, correction))))


def _state(one: Surveyed, learned: Learned | None) -> Iterator[str]:
    state = one.survey.state
    if not state.startswith(ON_BENCH):
        return
    if learned:
        yield (
            f"Targets are as the reeds must read {state} to be right assembled, by what surveys "
            f"{learned.bench.survey.number} and {learned.assembled.survey.number} differ; the meter counts from those "
            'of the assembled instrument, and reads what stands after "on the bench".'
        )
    else:
        yield (
            f"How much these reeds read otherwise assembled than {state} is not known. Survey them both ways after the "
            "same pass, and the plan will allow for it."
        )


def _warmth(known: Sequence[Surveyed], learned: Learned | None, correction: Correction | None) -> Iterator[str]:
    now = known[-1]
    if correction and now.celsius is not None:
        yield (
            f"Readings are as they would be at {correction.to_celsius:g} °C by the meter, which was at "
            f"{now.celsius:.1f}: {signed(correction.cents_per_k, 2)} cent a kelvin."
        )
        if without := [str(one.survey.number) for one in known if one.celsius is None]:
            yield f"Nobody knows how warm it was in earlier surveys ({', '.join(without)}): taken as they are."
        return
    before = next((one for one in reversed(known[:-1]) if one.celsius is not None), None)
    pairs = [(now, before)] if before else []
    if learned:
        pairs.append((learned.assembled, learned.bench))
    for one, other in pairs:
        if one.celsius is not None and other.celsius is not None:
            yield warmer(one.survey.number, other.survey.number, one.celsius - other.celsius)
