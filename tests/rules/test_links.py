"""Every page: what it links to and what it shows is there."""

import re
from pathlib import Path
from urllib.parse import unquote

import pytest
from test_house import files
from tree import ROOT, shown

PAGES = [path for path in files() if path.suffix == ".md"]
LINK = re.compile(r"\]\(([^)\s]+)\)")
FENCE = re.compile(r"^```.*?^```$", re.MULTILINE | re.DOTALL)


def prose(page: Path) -> str:
    """The page without the blocks it quotes."""
    return FENCE.sub("", page.read_text(encoding="utf-8"))


def anchors(page: Path) -> set[str]:
    """What a link to one of the page's headings ends with, by the rule of the sites that show such pages."""
    heads = re.findall(r"^#+ (.+)$", prose(page), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", head.lower()).replace(" ", "-") for head in heads}


def test_there_are_pages() -> None:
    assert {"README.md", "docs/README.md"} <= {shown(page) for page in PAGES}


@pytest.mark.parametrize("page", PAGES, ids=shown)
def test_links_lead_somewhere(page: Path) -> None:
    for link in LINK.findall(prose(page)):
        if link.startswith(("https://", "mailto:")):
            continue
        name, _, anchor = unquote(link).partition("#")
        target = (page.parent / name).resolve() if name else page
        assert target.is_relative_to(ROOT), f"{shown(page)} links to {link}, outside the house"
        assert target.exists(), f"{shown(page)} links to {link}, which is not there"
        if anchor:
            assert anchor in anchors(target), f"{shown(page)} links to {link}, a heading that is not there"


def test_every_page_in_docs_is_in_the_index() -> None:
    index = prose(ROOT / "docs" / "README.md")
    for page in (ROOT / "docs").glob("*.md"):
        assert page.name == "README.md" or f"]({page.name})" in index, f"docs/README.md does not list {page.name}"


def test_every_picture_is_shown_and_small() -> None:
    seen = "".join(prose(page) for page in PAGES)
    for picture in (ROOT / "docs" / "pictures").glob("*.png"):
        assert f"pictures/{picture.name})" in seen, f"no page shows {picture.name}"
        assert picture.stat().st_size < 150_000, f"{picture.name} is too large"
