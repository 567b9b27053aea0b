"""The three keys: polled, debounced, short or held."""

import time

from machine import Pin

from . import pins

_SETTLE_MS = 20  # contacts bounce for a few milliseconds
_HOLD_MS = 600


class Keys:
    """`poll` may come as seldom as every 100 ms: an interrupt remembers when a key went down."""

    def __init__(self):
        self._keys = [
            _Key("up", pins.KEY_UP),
            _Key("down", pins.KEY_DOWN),
            _Key("do", pins.KEY_DO),
        ]
        self._held = [key.name for key in self._keys if key.pressed()]

    def held_at_start(self, key):
        """Whether `key` was down when the meter started."""
        return key in self._held

    def down(self):
        """Names of the keys that are down just now."""
        return [key.name for key in self._keys if key.pressed()]

    def poll(self):
        """List of (key, press) since the last poll: "up", "down" or "do", and "tap" or "hold"."""
        now = time.ticks_ms()
        presses = []
        for key in self._keys:
            press = key.poll(now)
            if press:
                presses.append((key.name, press))
        return presses


class _Key:
    def __init__(self, name, pin):
        self.name = name
        self._pin = Pin(pin, Pin.IN, Pin.PULL_UP)
        time.sleep_ms(1)  # the pull-up charges the wire
        # A key that is down at the start has done its work there: its release is no press.
        self._held = self.pressed()
        self._down = self._held  # went down, and has not been dealt with as up again
        self._since = time.ticks_ms()
        self._up_since = time.ticks_ms()
        self._pin.irq(self._went_down, Pin.IRQ_FALLING)

    def pressed(self):
        return not self._pin.value()

    def _went_down(self, _):
        now = time.ticks_ms()
        # A bouncing release falls again too; that is not a new press.
        if not self._down and time.ticks_diff(now, self._up_since) > _SETTLE_MS:
            self._down = True
            self._since = now

    def poll(self, now):
        """ "tap" when the key has come up, "hold" once when it stays down, None otherwise."""
        if not self._down:
            return None
        span = time.ticks_diff(now, self._since)
        if span < _SETTLE_MS:
            return None
        if self.pressed():
            if span >= _HOLD_MS and not self._held:
                self._held = True
                return "hold"
            return None
        tapped = not self._held
        self._down = self._held = False
        self._up_since = now
        return "tap" if tapped else None
