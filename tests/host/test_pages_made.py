"""The pages and the site: self-contained, escaped, every link leads somewhere, every figure to its takes."""

import json
import os
import re
import time
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest
from reedbench.__main__ import run
from reedbench.hand.past import past_of
from reedbench.hand.shop import shop_of
from reedbench.heard import Heard
from reedbench.ledger import Ledger
from reedbench.pages import site
from reedbench.pages.figures import Axis, lines, mark, scale_for
from reedbench.pages.links import Links, folder_of
from reedbench.pages.record import record
from reedbench.pages.reeds import reeds
from reedbench.pages.reference import reference
from reedbench.pages.takes import takes
from shop_of_pages import HOSTILE, STRANGERS, key_of, write

VOID = ("meta", "link", "br", "input")
NOT_ON_A_PAGE = {"img", "iframe", "object", "embed", "form", "base"}


@pytest.fixture(scope="module")
def ledger_path(tmp_path_factory):
    path = tmp_path_factory.mktemp("pages") / "ledger.db"
    write(path)
    return path


@pytest.fixture(scope="module")
def written(ledger_path):
    """Folder of the site."""
    folder = ledger_path.parent / "site"
    with Ledger.open(ledger_path) as ledger:
        site.write(ledger, folder)
    return folder


class Page(HTMLParser):
    """Tags, links and names of places of a page, and that all elements close."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.links, self.places, self.open = [], [], [], []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        for name, value in attrs:
            if name == "id":
                self.places.append(value)
            if name == "href" and tag == "a":
                self.links.append(value)
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


def pages(folder):
    return {path: path.read_text(encoding="utf-8") for path in sorted(folder.rglob("*.html"))}


def test_every_page_is_self_contained_and_well_formed(written):
    for path, text in pages(written).items():
        page = Page(text)
        assert page.open == [], path
        scripts = [tag for tag, _ in page.tags if tag == "script"]
        assert len(scripts) == (path == written / "index.html") and not NOT_ON_A_PAGE & {tag for tag, _ in page.tags}
        for tag, attributes in page.tags:
            assert not any(name.startswith("on") for name in attributes), path
            assert "src" not in attributes and (tag != "link" or attributes["href"] == "data:,")
        assert not re.search(r"url\(|@import|https?://", text), path
        assert "default-src 'none'" in text and len(page.places) == len(set(page.places))


def test_every_link_leads_to_a_page_and_a_place_on_it(written):
    found = {path: Page(text) for path, text in pages(written).items()}
    count = 0
    for path, page in found.items():
        for link in page.links:
            name, _, place = link.partition("#")
            target = (path.parent / name).resolve()
            assert target in found, f"{path}: {link}"
            assert not place or place in found[target].places, f"{path}: {link}"
            count += 1
    assert count > 2000
    linked = {(path.parent / link.partition("#")[0]).resolve() for path, page in found.items() for link in page.links}
    assert set(found) - linked <= {written / "index.html"}  # nothing lies there that no page leads to


def test_files_have_plain_names_whatever_instruments_are_called(written):
    names = [part for path in written.rglob("*") for part in path.relative_to(written).parts]
    assert all(re.fullmatch(r"[a-z0-9-]+(\.html)?", name) for name in names)
    assert not list(written.parent.glob("*evil*"))
    for key in (*STRANGERS, *HOSTILE.values(), "0" * 15 + "G", "", "\ud800"):
        assert re.fullmatch("x[0-9a-f]{16}", folder_of(key))
    assert folder_of(key_of(1)) == key_of(1)


def test_hostile_names_are_text(written):
    texts = "".join(pages(written).values())
    assert "<script>alert" not in texts and "<img" not in texts and "&lt;script&gt;alert(1)" in texts
    assert "{{ 7 * 7 }}" in texts
    index = (written / "index.html").read_text(encoding="utf-8")
    for stranger in ("../../../etc/evil", "&lt;img src=x on"):
        assert stranger in index
    for shown in re.findall(r"[^>]*\u202e[^<]*", texts):
        assert f"<bdi>{shown}</bdi>" in texts or f"<title>{shown}" in texts or shown.strip() == ""


def test_a_stranger_stands_on_the_first_page_with_the_reason(written):
    index = (written / "index.html").read_text(encoding="utf-8")
    assert index.count("no pages: there is no instrument") == len(STRANGERS)


def single_pages(path):
    """(kind, page) of each page about the instrument of 64 reeds, made by itself, and the seconds it took."""
    with Ledger.open(path) as ledger:
        shop = shop_of(ledger)
        past = past_of(ledger, key_of(0), "covers off")
        makers = {
            "record": lambda: record(past, past.jobs[-1], shop),
            "reference": lambda: reference(past.chapters[-1]),
            "reeds": lambda: reeds(past),
            "takes": lambda: takes(Heard(ledger), past.chapters[0]),
        }
        for kind, make in makers.items():
            start = time.perf_counter()
            page = make()
            yield kind, page, time.perf_counter() - start


def test_a_page_of_64_reeds_is_small_and_quickly_made(ledger_path):
    for kind, page, spent in single_pages(ledger_path):
        print(f"{kind}: {len(page.encode()) / 1e3:.0f} kB, {1e3 * spent:.0f} ms")
        assert len(page.encode()) < 300_000 and spent < 1.0
        assert Page(page).links == []  # standing alone it leads nowhere


def test_the_largest_page_of_the_site_is_small(written):
    largest = max(pages(written / key_of(0)).values(), key=len)
    print(f"{len(largest.encode()) / 1e3:.0f} kB")
    assert len(largest.encode()) < 300_000


def test_every_reading_of_the_record_names_takes_that_there_are(ledger_path, written):
    text = (written / key_of(0) / "record-6.html").read_text(encoding="utf-8")
    with Ledger.open(ledger_path) as ledger:
        known = {(n, one.ordinal, one.number) for n in (4, 6) for one in ledger.takes(n)}
    traced = re.findall(r'<a href="takes-(\d+)\.html#reed-(\d+)">takes? ([\d, ]+) of survey (\d+)</a>', text)
    assert len(traced) == 2 * 64
    for survey, ordinal, numbers, again in traced:
        assert survey == again
        for number in numbers.split(", "):
            assert (int(survey), int(ordinal), int(number)) in known


def test_the_bench_sheet_of_a_site_leads_back_and_to_the_takes(written):
    text = (written / key_of(0) / "sheet.html").read_text(encoding="utf-8")
    links = Page(text).links
    assert links[:2] == ["../index.html", "index.html"] and "survey 6" in text
    readings = re.findall(r"reads? \S+ ± \d+\.\d(.{60})", text)
    assert len(readings) > 5
    assert all(re.match(r' \(<a href="takes-6\.html#reed-\d+">takes? \d', said) for said in readings)


def test_the_take_view_says_what_was_left_out_and_why(written):
    text = (written / key_of(0) / "takes-1.html").read_text(encoding="utf-8")
    assert "1 of them left out" in text and "the pitch would not settle" in text
    assert text.count('class="take out"') == 1 and text.count('class="trace"') == 129
    assert len(set(re.findall(r'class="trace" d="([^"]*)"', text))) == 129


def test_the_record_tells_before_and_after(ledger_path):
    (text,) = (page for kind, page, _ in single_pages(ledger_path) if kind == "record")
    for words in ("A = 440 Hz", "21.5 °C", "Pass 1", "What to expect", "tolerance", "Before", "After"):
        assert words in text
    assert text.count('class="mark"') == 64 and text.count('class="was"') == 64


def test_a_reeds_past_stands_at_its_reed(ledger_path):
    (text,) = (page for kind, page, _ in single_pages(ledger_path) if kind == "reeds")
    figures = re.findall(r"<figure.*?</figure>", text, re.S)
    assert len(figures) == 64
    for figure in figures:
        assert figure.count('class="mark"') == 6
        assert re.search(r"Survey 1, \S+: \S+ ± \d\.\d, takes \d", figure)
    assert text.count("<b>Tires.</b>") <= 1


def test_the_marks_lie_where_the_figures_say():
    axis = Axis(10.0, 80)
    assert (axis.y(0), axis.y(10), axis.y(-5), axis.y(99)) == (40, 0, 60, 0)
    assert mark(axis, 20, 2.5, 1.25) == "M15 30h10M20 25V35"
    assert lines(axis, 3, np.array([[0, 10, -20], [0, 0, 5]])) == ["M0 40l3 -40 3 80", "M0 40l3 0 3 -20"]
    assert axis.band(2) == (32, 16)
    assert [scale_for(values, 4) for values in ([], [1, 2], [7.5], [5000])] == [5, 5, 10, 1000]


@pytest.mark.parametrize("kind", ["record", "reference", "reeds", "takes"])
def test_a_single_page_is_written(ledger_path, tmp_path, capsys, kind):
    out = tmp_path / "page.html"
    line = ["sheet", "4", "--page", kind, "--out", str(out), "--ledger", str(ledger_path), "--json"]
    assert run(line) == 0
    assert json.loads(capsys.readouterr().out)["sheet"] == str(out)
    text = out.read_text(encoding="utf-8")
    assert "River tenor" in text and "urvey 4" in text and "urvey 5" not in text


def test_the_site_is_written_from_the_command_line_and_again(ledger_path, tmp_path, capsys):
    for _ in range(2):
        assert run(["sheet", "--site", str(tmp_path / "site"), "--ledger", str(ledger_path), "--json"]) == 0
        found = json.loads(capsys.readouterr().out)
        assert found["instruments"] == 9 and found["pages"] == len(pages(tmp_path / "site"))
        assert Path(found["site"]).is_file()


def test_many_instruments_are_shared_out_and_come_out_alike(ledger_path, written, tmp_path, monkeypatch):
    monkeypatch.setattr(site, "MANY", 1)
    monkeypatch.setattr(site, "LOT", 2)
    done = []
    with Ledger.open(ledger_path) as ledger:
        site.write(ledger, tmp_path / "site", done.append)
    assert done == list(range(1, 10))
    alike = {path.relative_to(tmp_path / "site"): text for path, text in pages(tmp_path / "site").items()}
    assert alike == {path.relative_to(written): text for path, text in pages(written).items()}


def dies(*_):
    """Stands where a process that helps begins."""
    os._exit(1)


def test_where_no_process_helps_the_work_is_done_all_the_same(ledger_path, written, tmp_path, monkeypatch):
    monkeypatch.setattr(site, "MANY", 1)
    monkeypatch.setattr(site, "_begin", dies)
    with Ledger.open(ledger_path) as ledger:
        site.write(ledger, tmp_path / "site")
    alike = {path.relative_to(tmp_path / "site"): text for path, text in pages(tmp_path / "site").items()}
    assert alike == {path.relative_to(written): text for path, text in pages(written).items()}


def test_a_site_that_was_stopped_can_be_written_again(ledger_path, tmp_path):
    def stop(done):
        if done > len(STRANGERS):
            raise KeyboardInterrupt

    with Ledger.open(ledger_path) as ledger:
        for _ in range(2):
            with pytest.raises(KeyboardInterrupt):
                site.write(ledger, tmp_path / "site", stop)
    assert [one.name for one in (tmp_path / "site").iterdir()] == [folder_of(key_of(4))]


def test_other_files_are_left_alone(ledger_path, tmp_path, capsys):
    (tmp_path / "mine").mkdir()
    for name in ("index.html", "letter.txt"):
        (tmp_path / "mine" / name).write_text("mine")
        assert run(["sheet", "--site", str(tmp_path / "mine"), "--ledger", str(ledger_path)]) == 2
        assert "holds other files than a site" in capsys.readouterr().err
        assert (tmp_path / "mine" / name).read_text() == "mine"
    (tmp_path / "file").write_text("mine")
    assert run(["sheet", "--site", str(tmp_path / "file"), "--ledger", str(ledger_path)]) == 1
    assert capsys.readouterr().err.count("\n") == 1


@pytest.mark.parametrize("more", [["3"], ["--page", "takes"], ["--out", "x.html"], ["--state", "plucked"]])
def test_site_stands_alone(ledger_path, tmp_path, capsys, more):
    assert run(["sheet", *more, "--site", str(tmp_path / "site"), "--ledger", str(ledger_path)]) == 2
    assert "--site writes every page" in capsys.readouterr().err and not (tmp_path / "site").exists()


def test_links_of_a_page_that_stands_alone_are_empty():
    alone = Links()
    assert alone.takes(3, 4) == alone.reeds(4) == alone.record(3) == "" and alone.trail == ()
    there = Links(True, frozenset({3}), 3)
    assert there.takes(3, 4) == "takes-3.html#reed-4" and there.takes(9) == ""
