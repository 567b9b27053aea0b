"""A ledger with a past and with names that mean no good, for tests of pages."""

from dataclasses import replace

from record_book import SENDER, RecordBook
from reedbench.firmware.wire import record
from reedbench.ledger import Ledger
from reedbench.planning import planned
from shop import instrument as made

HOSTILE = {
    "html": "<script>alert(1)</script>\"'></title><b>&amp;{{ 7 * 7 }}",
    "turned": "\u202eneirt\u202c \u05d0\u05d1\u05d2 \u2067x",
    "faces": "\U0001f3b5\U0001f1e9\U0001f1ea" * 13,
    "long": "Wolfgangsdonaudampfschifffahrtsgesellschaftskapitaenswitwenrentenauszahlungsstelle"[:80],
}
LAYOUTS = ("solo-12", "richter-10", "tremolo-24", "melodica-37")
STRANGERS = ("../../../etc/evil", "<img src=x onerror>", "CON", "\u202egnp.exe")  # keys that a hostile meter sends


def key_of(number):
    return f"{number:016x}"


def one_job(book, days=0):
    """A survey, a pass, a survey after it, one a day later."""
    number = book.survey(days=days, spoiled=(3,))
    with Ledger.open(book.path) as ledger:
        plan = planned(ledger, number)[1]
    strokes = book.work(plan.items)
    with Ledger.open(book.path, write=True) as ledger:
        ledger.keep_strokes(number, strokes)
    book.survey(1)
    book.survey(1, days=1)


def write(path):
    """A ledger at `path`: an instrument of 64 reeds with two years, four hostile names, four strangers."""
    book = RecordBook(path, replace(made("solo-16", name="River tenor"), key_id=key_of(0)))
    one_job(book)
    book.cents[8] -= 4
    one_job(book, days=360)
    book.survey(1, state="assembled", days=1)
    for number, (name, layout) in enumerate(zip(HOSTILE.values(), LAYOUTS, strict=True), start=1):
        one_job(RecordBook(path, replace(made(layout), key_id=key_of(number), name=name), seed=number))
    for key in STRANGERS:
        survey_of_a_stranger(path, key)


def survey_of_a_stranger(path, key):
    """A survey whose instrument this ledger does not know."""
    head = {field: 0 for field, _ in record.SURVEY} | {"instrument": key, "name": key, "layout": "solo-12", "reeds": 48}
    with Ledger.open(path, write=True) as ledger:
        number = ledger.next_sequence(SENDER.serial, SENDER.epoch)
        ledger.keep(SENDER, [record.pack("survey", number, head)])
