"""The pages in a real browser: on a phone, on a screen, on paper, with a keyboard and for a screen reader."""

import re

import pytest
from browser import POLICY, axe_faults, browse, looked_at, needs_axe, needs_browser, opened, printed_pages
from reedbench.ledger import Ledger
from reedbench.pages import site
from shop_of_pages import HOSTILE, key_of, write

pytestmark = needs_browser
KINDS = ("index", "record-6", "sheet", "reference", "reeds", "takes-4")
PAPER = {"index": 2, "record-6": 4, "sheet": 4, "reference": 5, "reeds": 6, "takes-4": 9}  # pages at most, for 64 reeds
LONG = "W" * 200 + "\U0001f3b5\u202e<b>"


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    folder = tmp_path_factory.mktemp("seen")
    write(folder / "ledger.db")
    with Ledger.open(folder / "ledger.db") as ledger:
        site.write(ledger, folder / "site")
    return folder / "site"


def page(written, kind, number=0):
    return (written / key_of(number) / f"{kind}.html").read_text(encoding="utf-8")


def first_page(written):
    return (written / "index.html").read_text(encoding="utf-8")


@pytest.mark.parametrize("width", [320, 768])
def test_nothing_is_wider_than_the_screen(tmp_path, written, width):
    """Scrolling regions may hold what is wider; the page itself never scrolls sideways."""
    texts = {kind: page(written, kind) for kind in KINDS} | {"site": first_page(written)}
    texts |= {f"hostile {number}": page(written, "index", number) for number in range(1, 1 + len(HOSTILE))}
    texts["long"] = page(written, "record-6").replace("River tenor", LONG.replace("<", "&lt;"))
    for kind, wide in looked_at(tmp_path, texts, "d.documentElement.scrollWidth", width).items():
        assert wide <= width, kind


def test_the_console_is_silent_and_nothing_is_asked_for(tmp_path, written):
    paths = [written / key_of(0) / f"{kind}.html" for kind in KINDS]
    for path in (*paths, written / key_of(1) / "index.html", written / "index.html"):
        assert opened(tmp_path, path) == ([], []), path
    bad = tmp_path / "bad.html"
    bad.write_text(first_page(written).replace("</body>", "<img src='http://127.0.0.1:9/x.png'></body>"))
    assert any("Content Security Policy" in one for one in opened(tmp_path, bad)[0])
    bad.write_text(POLICY.sub("", bad.read_text()))
    assert opened(tmp_path, bad)[1] == ["http://127.0.0.1:9/x.png"]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("kind", KINDS)
def test_it_prints_on_few_pages(tmp_path, written, kind, paper):
    count = printed_pages(tmp_path, page(written, kind), paper)
    print(f"{kind} on {paper}: {count}")
    assert 1 <= count <= PAPER[kind]


@needs_axe
def test_axe_finds_no_fault_and_would_find_one(tmp_path, written):
    texts = {kind: page(written, kind) for kind in KINDS} | {"site": first_page(written)}
    texts["bad"] = (
        first_page(written).replace('<html lang="en"', "<html").replace('<label for="words">Find</label>', "")
    )
    found = axe_faults(tmp_path, texts)
    assert {"html-has-lang", "label"} <= {rule for rule, _ in found.pop("bad")}
    assert found == {name: [] for name in found}


SEARCH = """
["", "river", "RIVER  Tenor", "tenor 64", "solo-12", "no such thing", "<script>"].map(words => {
    const box = d.getElementById("words");
    box.value = words;
    box.dispatchEvent(new Event("input"));
    const shown = [...d.querySelectorAll("#rows li")].filter(row => !row.hidden).length;
    return [words, shown, d.getElementById("found").textContent];
})
"""


def test_the_search_finds_instruments(tmp_path, written):
    found = looked_at(tmp_path, {"site": first_page(written)}, SEARCH)["site"]
    assert {words: count for words, count, _ in found} == {
        "": 9, "river": 1, "RIVER  Tenor": 1, "tenor 64": 1, "solo-12": 4, "no such thing": 0, "<script>": 1,
    }  # fmt: skip
    assert all(said == (f"{count} of 9" if words else "") for words, count, said in found)


def test_the_search_works_from_a_file_and_the_list_without_it(tmp_path, written):
    out, _ = browse(tmp_path, "--dump-dom", (written / "index.html").as_uri())
    assert re.search(r'<p class="search">', out)
    assert '<p class="search" hidden' in first_page(written)  # until the script shows it


def test_the_keyboard_reaches_every_link_and_what_scrolls(tmp_path, written):
    reached = (
        "[...d.querySelectorAll('a')].every(a => a.tabIndex === 0 && a.getAttribute('href'))"
        "&& [...d.querySelectorAll('.wide')].every(w => w.tabIndex === 0 && w.getAttribute('aria-label'))"
    )
    found = looked_at(tmp_path, {kind: page(written, kind) for kind in KINDS}, reached)
    assert found == dict.fromkeys(KINDS, True)
