"""The whole ledger as a small static site that works from a stick: no server, no request to anywhere."""

import base64
import gc
import hashlib
import os
import signal
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from functools import partial
from importlib.resources import files as resources
from multiprocessing import get_context
from pathlib import Path

from markupsafe import Markup

from reedbench import files, sheet
from reedbench.errors import BadInput, Failed
from reedbench.hand.counting import counted_out
from reedbench.hand.past import Chapter, Past, past_of
from reedbench.hand.settled import SettlingRecord
from reedbench.hand.shop import Shop, shop_of
from reedbench.heard import Heard
from reedbench.ledger import Ledger, StoredSurvey
from reedbench.output import clean
from reedbench.pages.bench import survey_info
from reedbench.pages.engine import render
from reedbench.pages.instrument import instrument
from reedbench.pages.links import Links, folder_of, is_folder
from reedbench.pages.record import record
from reedbench.pages.reeds import reeds
from reedbench.pages.reference import reference
from reedbench.pages.takes import takes
from reedbench.planning import read_and_planned
from reedbench.surveys import day
from reedbench.terminal import kind

MANY = 50  # instruments, from which on it is worth while to share the work among processes ...
LOT = 10  # ... so many at a time
YOUNG = 50_000  # objects made until Python looks for garbage in circles, of which pages leave little
MARK = '<meta name="generator" content="reedbench">'  # on the first page: tells a site of ours from other files


@dataclass(frozen=True)
class Row:
    """An instrument on the first page; `address` is empty where no pages could be made of it."""

    key: str
    name: str
    kind: str
    words: str
    address: str


Written = tuple[Row, list[int]]  # the row of an instrument on the first page, and the sizes of its pages in bytes


@dataclass(frozen=True)
class Site:
    """What was written."""

    instruments: int
    pages: int
    size_bytes: int


def write(ledger: Ledger, folder: Path, step: Callable[[int], None] = lambda done: None) -> Site:
    """Write the site of `ledger` into `folder`, which must be new, empty or an earlier site.

    `step` hears how many instruments are done. BadInput where other files lie in the folder; Failed where it cannot be
    written.
    """
    _refuse_other_files(folder)
    shop = shop_of(ledger)
    keys = list(dict.fromkeys(survey.instrument for survey in reversed(ledger.surveys())))
    rows, pages, size = [], 0, 0
    for done, (row, written) in enumerate(_instruments(ledger, folder, shop, keys), start=1):
        rows.append(row)
        pages, size = pages + len(written), size + sum(written)
        step(done)
    _make(folder)
    size += files.write(folder / "index.html", _index(rows))
    return Site(len(rows), pages + 1, size)


def _instruments(ledger: Ledger, folder: Path, shop: Shop, keys: list[str]) -> Iterator[Written]:
    """Each instrument, written; many are shared out among processes, as far as these can be had."""
    done = 0
    if len(keys) >= MANY and (os.cpu_count() or 1) > 1:
        with suppress(BrokenProcessPool, OSError, ImportError, NotImplementedError):
            for found in _shared_out(ledger.path, folder, shop, keys):
                done += len(found)
                yield from found
    maker = _Maker(ledger, folder, shop)
    yield from map(maker.instrument, keys[done:])


def _shared_out(path: Path, folder: Path, shop: Shop, keys: list[str]) -> Iterator[list[Written]]:
    lots = [keys[start : start + LOT] for start in range(0, len(keys), LOT)]
    begun = partial(_begin, path, folder, shop)
    with ProcessPoolExecutor(mp_context=get_context("spawn"), initializer=begun) as helpers:
        with _uninterrupted():
            found = helpers.map(_lot, lots)  # starts the processes, too
        yield from found


@contextmanager
def _uninterrupted() -> Iterator[None]:
    """Ctrl-C waits for the end of the block, and processes that are started in it never hear of it."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, [signal.SIGINT])
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


_helper: "_Maker"  # of a process that helps


def _begin(path: Path, folder: Path, shop: Shop) -> None:
    """Make this process one that helps: it reads the ledger by itself."""
    global _helper
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # for where it could not be kept from hearing of Ctrl-C before
    gc.set_threshold(YOUNG)
    _helper = _Maker(Ledger.open(path), folder, shop)


def _lot(keys: list[str]) -> list[Written]:
    return [_helper.instrument(key) for key in keys]


class _Maker:
    """Writes the pages of one instrument after the other."""

    def __init__(self, ledger: Ledger, folder: Path, shop: Shop) -> None:
        self._heard, self._folder, self._shop = Heard(ledger), folder, shop
        self._settling = SettlingRecord(self._heard)

    def instrument(self, key: str) -> Written:
        """Write the pages; of one that the ledger cannot tell about there are none, and its row says why."""
        surveys = self._heard.ledger.surveys(key)
        try:
            past = past_of(self._heard.ledger, key, record=self._settling)
        except BadInput as error:
            return Row(key, surveys[-1].name, surveys[-1].layout, f"no pages: {clean(str(error))}", ""), []
        place = self._folder / folder_of(key)
        _make(place)
        sizes = [files.write(place / name, text) for name, text in self._pages(past, surveys)]
        return _row(key, past), sizes

    def _pages(self, past: Past, surveys: list[StoredSurvey]) -> Iterator[tuple[str, str]]:
        """(name of the file, page) of everything about one instrument."""
        last, shop = past.chapters[-1], self._shop
        known = {chapter.survey.number for chapter in past.chapters}
        others = [one for one in surveys if one.number not in known and one.layout == past.instrument.layout.id]
        links = Links(True, frozenset(known | {one.number for one in others}), last.survey.number)
        yield "index.html", instrument(past, others, shop, links)
        for job in past.jobs:
            yield links.record(job[-1].survey.number), record(past, job, shop, links)
        yield "reference.html", reference(last, links)
        yield "reeds.html", reeds(past, links)
        yield "sheet.html", sheet.render(counted_out(last.plan, shop.hand), survey_info(last.survey), links=links)
        for chapter in past.chapters:
            yield links.takes(chapter.survey.number), takes(self._heard, chapter, links)
        for one in others:
            chapter = Chapter(*read_and_planned(self._heard.ledger, one.number, record=self._settling))
            yield links.takes(one.number), takes(self._heard, chapter, links)


def _refuse_other_files(folder: Path) -> None:
    try:
        first = folder / "index.html"
        ours = first.is_file() and MARK in first.read_text(encoding="utf-8", errors="replace")[:4096]
        # Folders of instruments alone are what is left of a site that was stopped before its first page.
        if folder.exists() and not ours and not all(is_folder(one.name) for one in folder.iterdir()):
            raise BadInput(f"{folder} holds other files than a site: name a new folder")
    except OSError as error:
        raise Failed(f"{folder} cannot be written: {error.strerror}") from error


def _make(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise Failed(f"{folder} cannot be made: {error.strerror}") from error


def _row(key: str, past: Past) -> Row:
    last = past.chapters[-1]
    reeds_good = f"{last.verdicts('good')} of {len(last.plan.items)} reeds good"
    words = f"last surveyed {day(last.survey)}, {last.survey.state}, {reeds_good}; {len(past.chapters)} surveys"
    return Row(key, past.instrument.name, kind(past.instrument), words, f"{folder_of(key)}/index.html")


def _index(rows: list[Row]) -> str:
    script = resources("reedbench.pages").joinpath("templates", "search.js").read_text(encoding="utf-8")
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    return render(
        "index.html",
        links=Links(),
        rows=rows,
        written=time.strftime("%Y-%m-%d"),
        script=Markup(script),  # our own file
        digest=f"sha256-{digest}",
    )
