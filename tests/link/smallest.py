"""For MicroPython: the smallest main that serves the link, on the desk board, without screen or survey.

Beside the desk's own settings it takes `takes`, how many to journal first, `growing`, whether to journal
another every tenth of a second, and `in_take`.
"""

import json
import sys
from array import array

from boards import desk
from boards.desk import bench

sys.modules["board"] = desk
settings = sys.stdin.read()
bench.set_up(settings)


def main(takes, growing, in_take):
    from board import clock, microphone, port, power, store
    from meter.answers import Answers
    from meter.journal import Journal
    from meter.link import Link
    from meter.settings import Settings
    from meter.shelf import Shelf
    from meter.store import Store
    from quiet import take

    ears = microphone.Microphone()
    files = Store(store.mount(), ears)
    journal = Journal(files, power.entropy)
    for i in range(takes):
        journal.add("take", take(i))
    answers = Answers(
        journal, Shelf(files), Settings(files), clock, power, "0.1.0", lambda: ("waiting", 3, 64, in_take)
    )
    link = Link(port.Port(), answers)
    block = array("i", bytes(4 * 160))
    ears.start()
    while True:
        ears.read(block)
        link.serve()
        if growing and ears.count % 1600 == 0:
            journal.add("take", take(0))


told = json.loads(settings)
main(told["takes"], told["growing"], told["in_take"])
