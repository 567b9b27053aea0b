"""A shop's ledger with a tremolo instrument: each reed alone, and six of its pairs heard together.

The player knows what the two of each pair read, and that those of the first pull each other.
"""

import numpy as np
from reedbench.firmware.wire import record
from reedbench.ledger import Ledger, Sender
from reedbench.tuning import raised
from shop import instrument
from two_reeds import RATE, baseband, sound

SENDER = Sender("e6614103e7452d2f", 7, "bench", "0.1.0")
TUNED = instrument("tremolo-24", "Tremolo", reference_hz=440.0, tolerance_cents=2.0)
PARTNERS = [reed for reed in TUNED.reeds if reed.base is not None]
PULLED = 1.5  # cents that each reed of the first pair is drawn towards the other
HEARD = 6  # pairs
BASE_OFF, PARTNER_OFF = {4: 4.0}, {5: 5.0}  # cents, by place among the partners


def survey(sequence, state):
    values = {field: 0 for field, _ in record.SURVEY} | {"reference_mhz": 440_000, "tolerance_cc": 200}
    values |= {"instrument": TUNED.key_id, "name": TUNED.name, "layout": TUNED.layout.id, "reeds": len(TUNED.reeds)}
    return record.pack("survey", sequence, values | {"state": record.state_byte(state)})


def take(sequence, of, ordinal, number, state, hz, flags=()):
    values = {field: 0 for field, _ in record.TAKE} | {"trace_ccent": [0] * 32, "trace_level_qdb": [0] * 32}
    values |= {"survey": of, "ordinal": ordinal, "number": number, "uhz": round(hz * 1e6), "rate": RATE, "span": 9000}
    values |= {"se_mcent": 50, "flags": record.flag_bits(flags), "state": record.state_byte(state)}
    return record.pack("take", sequence, values)


def basebands(sequence, of, ordinal, hertz, rng):
    """Records of what the meter would keep of both reeds of a pair."""
    band = baseband(2000 * sound(rng, hertz, (0, -2), 2.5), hertz[0])
    length = round(band.step_s * RATE)
    records = []
    for h, k in enumerate(band.harmonics):
        points = np.zeros(192)
        points[0 : 2 * band.count : 2], points[1 : 2 * band.count : 2] = band.points[h].real, band.points[h].imag
        values = {"survey": of, "take": sequence + len(band.harmonics), "ordinal": ordinal, "harmonic": k}
        values |= {"count": band.count, "length": length, "rate": RATE, "clock_ppb": 0}
        values |= {"turn": round(band.oscillator_hz * length / RATE * record.BASEBAND_TURN)}
        records.append(record.pack("baseband", sequence + h, values | {"points": [round(4 * p) for p in points]}))
    return records


def true_hz(place):
    """(base, partner) of the pair at that place among the partners, alone."""
    reed = PARTNERS[place]
    base = TUNED.reeds[reed.base]
    return raised(base.target_hz, BASE_OFF.get(place, 0.0)), raised(reed.target_hz, PARTNER_OFF.get(place, 0.0))


def keep(path):
    """Write the ledger at `path`."""
    rng = np.random.default_rng(4)
    records = [survey(0, "assembled")]
    for place, reed in enumerate(PARTNERS):
        for ordinal, hz in zip((reed.base, reed.ordinal), true_hz(place), strict=True):
            for number in (1, 2):
                records.append(take(len(records), 0, ordinal, number, "assembled", hz))
    both = len(records)
    records.append(survey(both, "assembled, both reeds"))
    for place, reed in enumerate(PARTNERS[:HEARD]):
        low, high = true_hz(place)
        if place == 0:
            low, high = raised(low, PULLED), raised(high, -PULLED)
        records += basebands(len(records), both, reed.base, (low, high), rng)
        records.append(take(len(records), both, reed.base, 1, "assembled, both reeds", low, ("two-reeds",)))
    with Ledger.open(path, write=True) as ledger:
        ledger.keep(SENDER, records)
        ledger.keep_instrument(TUNED.key_id, TUNED.name, TUNED.layout.id, TUNED.to_dict())
