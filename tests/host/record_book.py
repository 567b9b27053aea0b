"""A ledger with a past: surveys of an instrument over years, written as a meter's records make them."""

import numpy as np
from reedbench.firmware.wire import record
from reedbench.ledger import Ledger, Sender
from reedbench.planning import planned
from reedbench.tuning import raised

SENDER = Sender("e6614103e7452d2f", 1, "bench", "0.1.0")
BEGIN_S = 1_767_600_000  # a day in January 2026
DAY_S = 86_400
TAKE_S = 6  # from one take to the next
TIRED = 8  # reed that loses ...
LOST = 3.0  # ... so many cents from one time in the shop to the next


class RecordBook:
    """Writes surveys into the ledger at `path`; `cents` is what each reed of the instrument truly reads."""

    def __init__(self, path, one, seed=1):
        self.path, self.one, self.next, self.now_s = path, one, 0, BEGIN_S
        self.rng = np.random.default_rng(seed)
        self.cents = self.rng.normal(-1, 5, len(one.reeds))
        with Ledger.open(path, write=True) as ledger:
            ledger.keep_instrument(one.key_id, one.name, one.layout.id, one.to_dict())
            self.next = ledger.next_sequence(SENDER.serial, SENDER.epoch)

    def survey(self, pass_number=0, state="covers off", days=0.0, spoiled=(), celsius=21.5):
        """A survey after so many days; `spoiled`: ordinals whose first take has no figure. Returns its number."""
        self.now_s += int(days * DAY_S)
        self.began_s = self.now_s
        first, order = self.next, self.one.order
        head = {"instrument": self.one.key_id, "name": self.one.name[:30], "layout": self.one.layout.id}
        head |= {"reeds": len(self.one.reeds), "state": record.state_byte(state), "pass_number": pass_number}
        head |= {"reference_mhz": round(order.reference_hz * 1e3), "tolerance_cc": round(order.tolerance_cents * 100)}
        records = [record.pack("survey", first, head | {"unix_s": self.now_s})]
        for ordinal in self.one.sounding_order():
            flags = [("unsteady",), ()] if ordinal in spoiled else [()]
            for number, against in enumerate([*flags, ()], start=1):
                take = self._take(first, ordinal, number, state, against, celsius)
                records.append(record.pack("take", first + len(records), take))
        records.append(record.pack("end", first + len(records), {"survey": first, "unix_s": self.now_s}))
        self.next += len(records)
        with Ledger.open(self.path, write=True) as ledger:
            ledger.keep(SENDER, records)
            return ledger.survey(None).number

    def _take(self, survey, ordinal, number, state, flags, celsius):
        rng = self.rng
        self.now_s += TAKE_S
        cents = self.cents[ordinal] + rng.normal(0, 0.25)
        hz = 0 if flags else raised(self.one.reeds[ordinal].target_hz, cents)
        steps = np.cumsum(rng.normal(0, 2.5, record.TRACE_POINTS))
        values = {field: 0 for field, _ in record.TAKE} | {"survey": survey, "ordinal": ordinal, "number": number}
        values |= {"state": record.state_byte(state), "unix_s": self.now_s, "rate": 16000, "span": 12800}
        values |= {"boot": survey, "up_s": self.now_s - self.began_s, "scatter_mcent": 350}
        values |= {"uhz": round(hz * 1e6), "se_mcent": 50, "clock_u_ppb": 2000, "flags": record.flag_bits(flags)}
        values |= {"level_cdb": round(rng.normal(-2400, 150)), "drift_ccent_s": round(rng.normal(0, 30))}
        values |= {"board_dc": round(celsius * 10), "trace_ccent": [round(one) for one in steps - steps.mean()]}
        return values | {"trace_level_qdb": [round(rng.normal(0, 3)) for _ in range(record.TRACE_POINTS)]}

    def work(self, items, minutes_each=3.0, cents_per_stroke=1.0):
        """Work plan items as a shop does: near where each is to stop; returns the strokes by ordinal and action."""
        strokes = {}
        for item in items:
            if item.zone is None:
                continue
            move = item.stop_cents - item.reading.cents
            way = cents_per_stroke * (1 if item.action == "raise" else 3)
            strokes[item.reed.ordinal, item.action] = max(1, round(abs(move) / way))
            self.cents[item.reed.ordinal] += move * self.rng.normal(1, 0.08)
            self.now_s += int(minutes_each * 60)
        return strokes


def plan_now(book):
    with Ledger.open(book.path) as ledger:
        return planned(ledger, None)[1]


def years(book, jobs=3):
    """An instrument that comes in every year: a pass, the next day, two weeks later; one of its reeds tires."""
    for job in range(jobs):
        number = book.survey(days=350 if job else 0, spoiled=(3,))
        strokes = book.work(plan_now(book).items)
        with Ledger.open(book.path, write=True) as ledger:
            ledger.keep_strokes(number, strokes)
        book.survey(1)
        up = [ordinal for ordinal, action in strokes if action == "raise"]
        book.cents[up] -= 0.8  # overnight
        book.survey(1, days=0.6)
        book.survey(1, days=10)
        book.cents += 0.7  # a warmer year
        book.cents[TIRED] -= LOST + 0.7
