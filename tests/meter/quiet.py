"""For scripts on MicroPython: a microphone that only notes what is done to it, and ready-made takes."""

from wire import record


class Microphone:
    def __init__(self, running=False):
        self.running = running
        self.done = []

    def start(self):
        self.running = True
        self.done.append("start")

    def stop(self):
        self.running = False
        self.done.append("stop")


def take(ordinal):
    """Values of a take that differ from record to record."""
    values = {name: 0 for name, _ in record.TAKE}
    values.update(
        ordinal=ordinal % 480,
        number=1,
        uhz=440000000 + ordinal,
        rate=16000,
        trace_ccent=[ordinal % 100 - i for i in range(record.TRACE_POINTS)],
        trace_level_qdb=[i % 7 for i in range(record.TRACE_POINTS)],
    )
    return values
