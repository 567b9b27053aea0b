"""The whole ledger as a small static site that works from a stick: no server, no request to anywhere."""

import base64
import hashlib
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
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
from reedbench.pages.links import Links, folder_of
from reedbench.pages.record import record
from reedbench.pages.reeds import reeds
from reedbench.pages.reference import reference
from reedbench.pages.takes import takes
from reedbench.planning import read_and_planned
from reedbench.surveys import day
from reedbench.terminal import kind

MANY = 50  # instruments, from which on it is worth while to share the work among processes ...
LOT = 10  # ... so many at a time
MARK = '<meta name="generator" content="reedbench">'  # on the first page: tells a site of ours from other files


@dataclass(frozen=True)
class Row:
    """An instrument on the first page; `address` is empty where no pages could be made of it."""

    key: str
    name: str
    kind: str
    words: str
    address: str


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
    size += _write(folder / "index.html", _index(rows))
    return Site(len(rows), pages + 1, size)


def _instruments(ledger: Ledger, folder: Path, shop: Shop, keys: list[str]) -> Iterator[tuple[Row, list[int]]]:
    """(its row on the first page, sizes of its pages) of each instrument; many are shared out among processes."""
    if len(keys) < MANY:
        yield from _lot_of(ledger, folder, shop, keys)
        return
    with ProcessPoolExecutor(mp_context=get_context("spawn")) as helpers:
        lots = [keys[start : start + LOT] for start in range(0, len(keys), LOT)]
        for found in helpers.map(partial(_lot, ledger.path, folder, shop), lots):
            yield from found


def _lot(path: Path, folder: Path, shop: Shop, keys: list[str]) -> list[tuple[Row, list[int]]]:
    with Ledger.open(path) as ledger:
        return list(_lot_of(ledger, folder, shop, keys))


def _lot_of(ledger: Ledger, folder: Path, shop: Shop, keys: list[str]) -> Iterator[tuple[Row, list[int]]]:
    settling = SettlingRecord(Heard(ledger))
    yield from (_instrument(ledger, folder, shop, settling, key) for key in keys)


def _instrument(ledger: Ledger, folder: Path, shop: Shop, settling: SettlingRecord, key: str) -> tuple[Row, list[int]]:
    """Write the pages of one instrument; one that the ledger cannot tell about has none, and its row says why."""
    surveys = ledger.surveys(key)
    try:
        past = past_of(ledger, key, record=settling)
    except BadInput as error:
        return Row(key, surveys[-1].name, surveys[-1].layout, f"no pages: {clean(str(error))}", ""), []
    place = folder / folder_of(key)
    sizes = [_write(place / name, text) for name, text in _pages(ledger, past, surveys, shop)]
    return _row(key, past), sizes


def _refuse_other_files(folder: Path) -> None:
    try:
        first = folder / "index.html"
        ours = first.is_file() and MARK in first.read_text(encoding="utf-8", errors="replace")[:4096]
        if folder.exists() and not ours and any(folder.iterdir()):
            raise BadInput(f"{folder} holds other files than a site: name a new folder")
    except OSError as error:
        raise Failed(f"{folder} cannot be written: {error.strerror}") from error


def _write(path: Path, text: str) -> int:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise Failed(f"{path.parent} cannot be made: {error.strerror}") from error
    files.write(path, text)
    return len(text.encode())


def _pages(ledger: Ledger, past: Past, surveys: list[StoredSurvey], shop: Shop) -> Iterator[tuple[str, str]]:
    """(name of the file, page) of everything about one instrument."""
    last = past.chapters[-1]
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
        yield links.takes(chapter.survey.number), takes(ledger, chapter, links)
    for one in others:
        yield links.takes(one.number), takes(ledger, Chapter(*read_and_planned(ledger, one.number)), links)


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
