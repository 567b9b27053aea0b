"""Writes what happens into the journal: surveys, takes, redos, ends. The only place that fills records."""

import math

from wire import record
from wire.frames import crc32


def bounded(value, low, high):
    """`value` rounded to a whole number and brought within `low` and `high`."""
    return max(low, min(high, int(value + 0.5 if value >= 0 else value - 0.5)))


class Scribe:
    """`journal`, `settings`: those of this package. `clock`: the board's. `temperature_dc`: tells its temperature.

    `rate` and `rate_ppb`: the microphone's nominal sample rate and what the clock's divider makes it deviate from that.
    """

    def __init__(self, journal, settings, clock, temperature_dc, rate, rate_ppb):
        self._journal = journal
        self._settings = settings
        self._clock = clock
        self._temperature_dc = temperature_dc
        self._rate = rate
        self._rate_ppb = rate_ppb
        self.begin()

    def begin(self):
        """The next take opens a new survey."""
        self.survey = None  # sequence number of the survey being written, None before its first take
        self.ended = False  # whether its end is written; another take of it opens it again

    def keep(self, survey, outcome, tone):
        """Writes the take that `outcome` speaks of; returns its sequence number. Raises WireError when full."""
        instrument = survey.instrument
        if self.survey is None:
            self.survey = self._journal.add("survey", self._survey(survey))
        if outcome.redo:
            values = {"survey": self.survey, "ordinal": instrument.ordinal(outcome.index)}
            self._journal.add("redo", values)
        self.ended = False
        if tone.band:
            self._keep_band(instrument.ordinal(outcome.index), tone.band)
        return self._journal.add("take", self._take(self.survey, survey.state, instrument, outcome, tone))

    def _keep_band(self, ordinal, band):
        """Ahead of the take: one that is there is then whole. Without it these records mean nothing."""
        take = self._journal.next_seq + len(band.harmonics)
        for points, harmonic in zip(band.points, band.harmonics):
            used = 2 * band.count
            values = {
                "survey": self.survey,
                "take": take,
                "ordinal": ordinal,
                "harmonic": harmonic,
                "count": band.count,
                "length": band.length,
                "turn": band.turn,
                "rate": self._rate,
                "clock_ppb": self._rate_ppb,
                "points": [points[i] if i < used else 0 for i in range(2 * record.BASEBAND_POINTS)],
            }
            self._journal.add("baseband", values)

    def end(self):
        """Writes that the survey is complete; nothing if none was begun or it has been written."""
        if self.survey is not None and not self.ended:
            self._journal.add("end", {"survey": self.survey, "unix_s": self._clock.unix_s()})
            self.ended = True

    def sit(self, doing, instrument):
        """Opens a sitting, of record.SITTINGS, at a shelf.Instrument; its number. Raises WireError, as all below."""
        values = self._of(instrument)
        values["doing"] = record.SITTINGS.index(doing)
        return self._journal.add("sitting", values)

    def keep_beside(self, sitting, state, instrument, outcome, tone):
        """Writes a take of that sitting and state: `outcome` has its reed and number."""
        self._journal.add("take", self._take(sitting, state, instrument, outcome, tone))

    def note(self, kind, sitting, values):
        """Writes what else came of a sitting: a record of that kind."""
        values.update(sitting=sitting, unix_s=self._clock.unix_s())
        self._journal.add(kind, values)

    def _corrected(self, uhz, clock_ppb):
        """Microhertz by the true sample rate; 0, no figure, above what the record can hold."""
        true = uhz + uhz * clock_ppb // 1000000000
        return true if true <= 0xFFFFFFFF else 0

    def _survey(self, survey):
        values = self._of(survey.instrument)
        values["state"] = survey.state
        return values

    def _of(self, instrument):
        return {
            "instrument": instrument.key,
            "name": instrument.name,
            "layout": instrument.layout,
            "reeds": instrument.reeds(),
            "pass_number": instrument.pass_number,
            "reference_mhz": instrument.reference_mhz,
            "tolerance_cc": instrument.tolerance_cc,
            "unix_s": self._clock.unix_s(),
        }

    def _take(self, home, state, instrument, outcome, tone):
        clock_ppb = self._rate_ppb + self._settings.crystal_ppb
        temperature = self._temperature_dc()
        return {
            "survey": home,
            "layout": crc32(instrument.layout.encode()),
            "ordinal": instrument.ordinal(outcome.index),
            "number": outcome.number,
            "state": state,
            "unix_s": self._clock.unix_s(),
            "start": tone.start & 0xFFFFFFFF,
            "span": tone.span,
            "uhz": self._corrected(tone.uhz, clock_ppb),
            "clock_ppb": clock_ppb,
            "clock_u_ppb": self._settings.crystal_u_ppb,
            "se_mcent": min(65535, math.ceil(tone.se_cents * 1000)),
            "check_ccent": bounded(tone.check_cents * 100, -32768, 32767),
            "drift_ccent_s": bounded(tone.drift_cents_s * 100, -32768, 32767),
            "level_cdb": bounded(tone.level_db * 100, -32768, 32767),
            "flags": record.flag_bits(tone.flags),
            "board_dc": record.NO_TEMPERATURE if temperature is None else temperature,
            "harmonics": tone.harmonics,
            "strongest": tone.strongest,
            "rate": self._rate,
            "trace_ccent": [bounded(c * 100, -32768, 32767) for c in tone.trace_cents],
            "trace_level_qdb": [bounded(d * 4, -128, 127) for d in tone.trace_level_db],
            "boot": self._journal.boot,
            "up_s": self._clock.up_s(),
            "role": instrument.role(outcome.index),
            "scatter_mcent": bounded(outcome.scatter_cents * 1000, 0, 65535),
        }
