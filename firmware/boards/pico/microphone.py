"""The microphone: I2S, 24-bit samples in 32-bit words, left slot, 16 kHz.

The port's driver drops samples without a word when its buffer is full. Clock and samples come from the same
crystal, so what is missing is found by comparing them: a read that had to wait has emptied the buffer and
ends when a block of the driver arrives, so it is always equally late, unless samples were lost before it.
"""

import gc
import io
import time

import machine
from machine import I2S, Pin

from . import pins

RATE = 16000
_FRAME_BYTES = 8  # the driver keeps both slots, also for mono
_BUFFER_MS = 128
_BUFFER_BYTES = RATE * _BUFFER_MS // 1000 * _FRAME_BYTES
_BLOCK = 16  # frames that the driver drops or takes at once
_BLOCK_US = 1_000_000 * _BLOCK // RATE
_WAITED_US = 2000  # a read that takes longer has waited for samples: copying a block takes less
_AWAKE_US = 3500  # the processor rests until so long before a block is complete: its read must be seen to wait
_STILL = RATE  # so many samples without any change are no microphone


def _keep_place():
    """Keeps the driver's place on the heap while it stands still, from the moment this module is loaded.

    The driver takes its buffer anew at each start and needs it in one piece. A BytesIO gives its memory back when
    it is closed; a bytearray would not: the driver still holds the address of its last buffer, which is just
    there, and so the collector would never free it. Garbage is collected before each change of hands: otherwise
    the only room for small objects might be the piece that has just come free.
    """
    return io.BytesIO(_BUFFER_BYTES)


_place = _keep_place()


class Microphone:
    """Write flash only while it is stopped: flash holds up interrupts, and the driver writes past its buffer.

    `rate`: nominal samples per second; `rate_ppb`: how far the clock's divider takes the true one from it.
    `count`: samples read since power-up. `behind`: whether more may have been waiting at the last read.
    `missing`: why there are none, "" if there are.
    """

    rate = RATE

    def __init__(self):
        self.rate_ppb = rate_error_ppb(machine.freq())
        self.running = False
        self.count = 0
        self.behind = False
        self.missing = ""
        self._i2s = None
        self._late_us = 0  # time gone since the first start minus the time that the samples read stand for
        self._usual_us = None  # the same when nothing is lost
        self._then_us = 0
        self._same = 0

    def start(self):
        if self.running:
            return
        gc.collect()
        _place.close()
        self._i2s = I2S(
            0,
            sck=Pin(pins.MICROPHONE_CLOCK),
            ws=Pin(pins.MICROPHONE_SELECT),
            sd=Pin(pins.MICROPHONE_DATA),
            mode=I2S.RX,
            bits=32,
            format=I2S.MONO,
            rate=RATE,
            ibuf=_BUFFER_BYTES,
        )
        if self._usual_us is None:
            self._then_us = time.ticks_us()
        self.running = True

    def stop(self):
        global _place
        if self.running:
            self.running = False
            gc.collect()
            self._i2s.deinit()
            self._i2s = None
            _place = _keep_place()

    def read(self, words):
        """Fills `words`, array("i") of a multiple of 16; returns the samples lost since the last read."""
        self._rest(len(words))
        before_us = time.ticks_us()
        self._i2s.readinto(words)
        now_us = time.ticks_us()
        self.count += len(words)
        self._late_us += time.ticks_diff(now_us, self._then_us) - len(words) * 1000 // (RATE // 1000)
        self._then_us = now_us
        self._notice_silence(words)
        waited = time.ticks_diff(now_us, before_us) > _WAITED_US
        self.behind = not waited
        return self._lost(waited)

    def _rest(self, count):
        """Lets the processor rest while `count` samples come in; the driver's own way to wait keeps it busy."""
        if not self.behind:
            since_us = time.ticks_diff(time.ticks_us(), self._then_us)
            rest_ms = (count * (1_000_000 // RATE) - since_us - _AWAKE_US) // 1000
            if since_us >= 0 and rest_ms > 0:
                time.sleep_ms(rest_ms)

    def _lost(self, waited):
        if self._usual_us is None:
            if waited:
                self._usual_us = self._late_us
            return 0
        over_us = self._late_us - self._usual_us
        if waited:
            self._usual_us = self._late_us = 0  # only apart do they say anything; hours asleep would make them long
        elif over_us > _BUFFER_MS * 1000:
            over_us -= _BUFFER_MS * 1000  # the buffer holds the rest
            self._usual_us += over_us
        else:
            return 0
        return (over_us + _BLOCK_US // 2) // _BLOCK_US * _BLOCK if over_us > _BLOCK_US // 2 else 0

    def _notice_silence(self, words):
        """Without a microphone, or with one set to the right slot, the data line stays at one value."""
        if words[0] == words[len(words) // 2] == words[-1]:
            self._same += len(words)
            if self._same >= _STILL:
                self.missing = "the microphone sends nothing"
        else:
            self._same = 0
            self.missing = ""


def rate_error_ppb(clock_hz):
    """Deviation of the true sample rate from RATE in parts per billion, from the processor's clock.

    The bit clock takes two steps of the state machine per bit, 64 bits per frame; its divider has eight
    fractional bits and is rounded to the nearest (pico-sdk, pio_calculate_clkdiv8_from_float).
    """
    steps = RATE * 64 * 2
    divider = (clock_hz * 256 + steps // 2) // steps
    return (clock_hz * 256 - divider * steps) * 1_000_000_000 // (divider * steps)
