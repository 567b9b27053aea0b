"""Work on a reed other than metal on its tongue, and the parts to have at hand for it.

What is to be done depends on what is found, so the jobs of a reed stand in the order in which to look. All of it is
common practice, no source.
"""

from collections.abc import Iterable
from dataclasses import dataclass

# What is done, by the job's name.
JOBS = {
    "clean": "clean it and its slot",
    "gap": "set gap and curve",
    "centre": "centre the tongue in its slot",
    "valve": "seat or renew its valve",
    "screws": "tighten the screws beside it, and stop the leak",
    "rivet": "tighten or renew the rivet",
    "replace": "put in another reed",
}
# What finds it out, by what is looked at (causes.LOOK).
JOB = {
    "dirt": "clean",
    "gap": "gap",
    "centring": "centre",
    "valve": "valve",
    "screws": "screws",
    "rivet": "rivet",
    "crack": "replace",
    "tip": "replace",
}
_PART = {"valve": "valve", "rivet": "rivet or screw for a reed", "replace": "reed"}
MASS = "lead-free solder or other mass"


@dataclass(frozen=True)
class Part:
    """Something to have at hand. `needed`: whether it will be; otherwise only if what is looked at turns out so."""

    name: str
    ordinals: tuple[int, ...]  # of the reeds that it is for
    needed: bool


def parts(work: Iterable[tuple[int, tuple[str, ...], bool]]) -> list[Part]:
    """What the work takes, what is needed first. `work`: (ordinal, its jobs, whether mass goes on its tip)."""
    wanted: dict[tuple[bool, str], list[int]] = {}
    for ordinal, jobs, weighted in work:
        if weighted:
            wanted.setdefault((True, MASS), []).append(ordinal)
        for job in jobs:
            if job in _PART:
                wanted.setdefault((jobs == ("replace",), _PART[job]), []).append(ordinal)
    ordered = sorted(wanted.items(), key=lambda entry: not entry[0][0])
    return [Part(name, tuple(ordinals), needed) for (needed, name), ordinals in ordered]
