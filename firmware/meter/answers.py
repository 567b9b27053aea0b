"""What the meter answers to each request of wire/messages.py."""

import gc

from wire.errors import WireError
from wire.messages import PROTOCOL, U32

_WRITES = ("instrument-end", "acknowledge", "calibrate", "home")  # they stop the microphone as long as flash takes


class Answers:
    """The handlers behind a meter.link.Link.

    `journal`, `shelf`, `settings`: those of this package. `clock`, `power`: the board's.
    `firmware`: its version. `activity`: function that returns (what the meter is doing, reeds done, reeds in
    the survey, whether it is in the middle of a take, which no write may disturb).
    """

    def __init__(self, journal, shelf, settings, clock, power, firmware, activity):
        self._journal = journal
        self._shelf = shelf
        self._settings = settings
        self._clock = clock
        self._power = power
        self._firmware = firmware
        self._activity = activity
        self._leaving = False

    def answer(self, name, values):
        """Values of the answer to the request `name`; raises WireError to refuse it."""
        if name in _WRITES and self._activity()[3]:
            raise WireError("busy", "the meter is in the middle of a take")
        return getattr(self, "on_" + name.replace("-", "_"))(values)

    def answered(self):
        """Does what can only be done once the answer is on its way."""
        if self._leaving:
            self._power.leave()

    def on_hello(self, values):
        journal = self._journal
        return {
            "protocol": PROTOCOL,
            "firmware": self._firmware,
            "board": self._power.NAME,
            "serial": self._power.serial(),
            "epoch": journal.epoch,
            "first_seq": journal.first_seq,
            "next_seq": journal.next_seq,
            "free": journal.free(),
            "torn": journal.torn,
            "home": journal.home,
        }

    def on_clock(self, values):
        was = self._clock.unix_s()
        self._clock.set_unix(values["unix_s"])
        return {"was_unix_s": was, "meter_ms": self._clock.ticks_ms() & U32}

    def on_ticks(self, values):
        clock = self._clock
        return {"us": clock.ticks_us(), "up_s": clock.up_s(), "boot": self._journal.boot}

    def on_calibrate(self, values):
        if self._journal.home not in ("", values["ledger"]):
            return {"taken": 0}
        self._settings.keep_crystal(values["error_ppb"], values["u_ppb"])
        return {"taken": 1}

    def on_instrument(self, values):
        self._shelf.begin(values)
        return {}

    def on_reed(self, values):
        self._shelf.add(values)
        return {}

    def on_work(self, values):
        self._shelf.add_work(values)
        return {}

    def on_instrument_end(self, values):
        return {"stored": self._shelf.end(values["check"])}

    def on_pull(self, values):
        records, next_seq = self._journal.read(values["from_seq"], values["room"])
        return {"records": records, "next_seq": next_seq}

    def on_acknowledge(self, values):
        """The first ledger that acknowledges becomes home; what any other has frees nothing here."""
        journal = self._journal
        if not values["ledger"]:
            raise WireError("bad", "a ledger that acknowledges must say which it is")
        if values["before_seq"] > journal.next_seq:
            raise WireError("bad", "the journal ends before record %d" % journal.next_seq)
        if not journal.home:
            journal.claim(values["ledger"])
        if values["ledger"] != journal.home:
            return {"freed": 0}
        return {"freed": journal.reclaim(values["before_seq"])}

    def on_home(self, values):
        if not values["ledger"]:
            raise WireError("bad", "a home must be some ledger")
        self._journal.claim(values["ledger"])
        return {}

    def on_status(self, values):
        doing, done, of, _ = self._activity()
        gc.collect()
        return {"doing": doing, "done": done, "of": of, "heap_free": gc.mem_free()}

    def on_leave(self, values):
        self._leaving = True
        return {}
