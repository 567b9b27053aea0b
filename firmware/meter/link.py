"""The meter's end of the link: it listens for lines and answers them, and never speaks first."""

from wire import frames, messages
from wire.errors import WireError

_NOTHING = (-1, "", b"")  # number, body and answer of the request carried out last


class Link:
    """`port`: has `read()` and `write(data)`. `handlers`: meter.answers.Answers, or its like.

    `handlers.answer(name, values)` returns the values of an answer or raises WireError; `handlers.answered()`
    is told that an answer is on its way.
    """

    def __init__(self, port, handlers):
        self._port = port
        self._handlers = handlers
        self._reader = frames.LineReader()
        self._last = _NOTHING

    def serve(self):
        """Answers the requests that have come in; returns how many. A line that fails a check is dropped."""
        served = 0
        for line in self._reader.feed(self._port.read()):
            try:
                number, body = frames.unpack(line)
            except WireError:
                continue
            self._port.write(self._answer(number, body))
            self._handlers.answered()
            served += 1
        return served

    def _answer(self, number, body):
        if (number, body) == self._last[:2]:
            return self._last[2]
        try:
            name, values = messages.read_ask(body)
            line = frames.pack(number, messages.answer(name, self._handlers.answer(name, values)))
        except WireError as error:
            return frames.pack(number, messages.refusal(error))  # nothing was done that could be done twice
        # `hello` begins a conversation, perhaps under the very number the one before it ended with.
        self._last = _NOTHING if name == "hello" else (number, body, line)
        return line
