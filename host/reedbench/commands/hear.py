"""`reedbench hear`: measure the reeds in recordings."""

from collections.abc import Iterator
from typing import Any

import click

from reedbench.errors import BadInput
from reedbench.hearing import hear
from reedbench.options import json_option
from reedbench.output import progress, report
from reedbench.tuning import REFERENCE_HZ, note_hz, note_midi
from reedbench.two import resolved_lines


@click.command("hear")
@click.argument("files", nargs=-1, required=True, metavar="FILE.wav...")
@click.option("--expect", metavar="NOTE", help="The reed to expect, as a survey does: A4, F#5, Bb3.")
@click.option(
    "--reference",
    "reference_hz",
    type=click.FloatRange(*REFERENCE_HZ),
    default=440.0,
    show_default=True,
    help="Reference A in hertz.",
)
@click.option("--both", is_flag=True, help="Two reeds sound together: hear every tone to its end.")
@json_option
def command(files: tuple[str, ...], expect: str | None, reference_hz: float, both: bool, as_json: bool) -> None:
    """Measure the reeds in recordings (WAV) with the meter's own listening chain.

    Prints the takes that the meter would keep, and what it would refuse. A recording counts as followed by silence.

    \b
    Example:
        reedbench hear --expect F#5 --reference 442 take-1.wav take-2.wav
    """
    expected_hz = 0.0
    if expect is not None:
        midi = note_midi(expect)
        if midi is None:
            raise BadInput("--expect takes a note with its octave, such as A4, F#5 or Bb3 (middle C is C4)")
        expected_hz = note_hz(midi, reference_hz)
    with progress("recording", len(files)) as step:
        heard = hear(files, expected_hz, reference_hz, both, step)
    report(heard, _lines(heard), as_json)


def _lines(heard: list[dict[str, Any]]) -> Iterator[str]:
    for one in heard:
        yield one["file"]
        for take in one["takes"]:
            flags = f"  {', '.join(take['flags'])}" if take["flags"] else ""
            yield (
                f"  at {take['start_s']:.2f} s for {take['span_s']:.2f} s: {take['note']} {take['cents']:+.2f} cents "
                f"±{2 * take['se_cents']:.2f}, {take['hz']:.3f} Hz, {take['level_dbfs']:.0f} dBFS{flags}"
            )
            if take["two"]:
                yield from (f"    {line}" for line in resolved_lines(take["two"]))
        for refusal in one["refused"]:
            what = "no figure" if refusal["two"] else "nothing kept"
            yield f"  at {refusal['start_s']:.2f} s: {what} ({refusal['why']})"
            if refusal["two"]:
                yield from (f"    {line}" for line in resolved_lines(refusal["two"]))
        if not one["takes"] and not one["refused"]:
            yield "  nothing heard"
