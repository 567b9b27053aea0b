"""A ledger for tests, filled with surveys whose pitches are known."""

import numpy as np
from reedbench.firmware.wire import record
from reedbench.ledger import Ledger, Sender
from reedbench.planning import planned
from reedbench.tuning import raised

SENDER = Sender("e6614103e7452d2f", 1, "bench", "0.1.0")


class Book:
    """A ledger into which surveys are written one after the other, as a meter's records make them."""

    def __init__(self, path, one):
        self.path, self.one, self.next = path, one, 0
        with Ledger.open(path, write=True) as ledger:
            ledger.keep_instrument(one.key_id, one.name, one.layout.id, one.to_dict())

    def survey(self, cents, pass_number=0, state="covers off", scatter=0.0, seed=1, takes=2, **given):
        """So many takes of each reed of `cents`, by ordinal. `given`: fields of its takes as a record has them."""
        rng = np.random.default_rng(seed)
        first, order = self.next, self.one.order
        head = {field: 0 for field, _ in record.SURVEY} | {"instrument": self.one.key_id, "name": self.one.name}
        head |= {"layout": self.one.layout.id, "reeds": len(self.one.reeds), "state": record.state_byte(state)}
        head |= {"pass_number": pass_number, "reference_mhz": round(order.reference_hz * 1e3)}
        head |= {"tolerance_cc": round(order.tolerance_cents * 100), "unix_s": 1_700_000_000 + first}
        records = [record.pack("survey", first, head)]
        for ordinal, error in cents.items():
            for number in range(1, takes + 1):
                hz = raised(self.one.reeds[ordinal].target_hz, error + scatter * rng.normal())
                values = {field: 0 for field, _ in record.TAKE} | {"survey": first, "ordinal": ordinal}
                values |= {"number": number, "state": record.state_byte(state), "rate": 16000, "span": 12000}
                values |= {"uhz": round(hz * 1e6), "se_mcent": 50, "board_dc": record.NO_TEMPERATURE, "boot": first}
                values |= {"scatter_mcent": 350}
                values |= {"trace_ccent": [0] * 32, "trace_level_qdb": [0] * 32} | given
                records.append(record.pack("take", first + len(records), values))
        self.next += len(records)
        with Ledger.open(self.path, write=True) as ledger:
            ledger.keep(SENDER, records)

    def plan(self, number=None, **asked):
        with Ledger.open(self.path) as ledger:
            return planned(ledger, number, **asked)[1].by_ordinal()

    def said(self, number=None, **asked):
        """What the plan remarks about its surveys."""
        with Ledger.open(self.path) as ledger:
            return planned(ledger, number, **asked)[1].remarks


def all_at(cents, reeds=48, **others):
    """Cents of all reeds by ordinal, but for some: reed4=-6.0."""
    return {n: others.get(f"reed{n}", cents) for n in range(reeds)}
