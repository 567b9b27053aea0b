"""A real browser without a window, to look at pages with: Chromium from the system's packages."""

import html
import importlib.util
import json
import re
import shutil
import subprocess
from pathlib import Path

import pytest

BROWSER = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
    "--host-resolver-rules=MAP * ~NOTFOUND",  # nothing leaves the computer, whoever asks
]
POLICY = re.compile(r'<meta http-equiv="Content-Security-Policy"[^>]*>')  # forbids the scripts that look at the page
needs_browser = pytest.mark.skipif(BROWSER is None, reason="no chromium: install it to look at the pages")
_AXE = importlib.util.find_spec("axe_core_python")
needs_axe = pytest.mark.skipif(_AXE is None, reason="no axe-core: pip install axe-core-python to check accessibility")


def browse(folder, *arguments):
    """(standard output, standard error) of one run of the browser, with a profile of its own in `folder`."""
    command = [BROWSER, *FLAGS, f"--user-data-dir={folder / 'profile'}", *map(str, arguments)]
    done = subprocess.run(command, capture_output=True, timeout=90)
    return done.stdout.decode(errors="replace"), done.stderr.decode(errors="replace")


def looked_at(folder, pages, script, width=1000):
    """What `script`, a JavaScript expression of `d` and `w`, comes to on each of `pages` (HTML by name) that wide.

    `d` and `w` are the document and window of a page.
    """
    frames = "".join(
        f'<iframe style="border:0;width:{width}px;height:900px" srcdoc="{html.escape(page)}"></iframe>'
        for page in pages.values()
    )
    ask = (
        "<pre id=out></pre><script>onload = async () => { const out = [];"
        "for (const f of document.querySelectorAll('iframe')) { const d = f.contentDocument, w = f.contentWindow;"
        f"out.push(await ({script})); }}"
        "document.getElementById('out').textContent = JSON.stringify(out);}</script>"
    )
    path = folder / "frames.html"
    path.write_text("<!doctype html>" + frames + ask, encoding="utf-8")
    out, _ = browse(folder, "--dump-dom", "--virtual-time-budget=60000", "--window-size=1400,1000", path.as_uri())
    found = json.loads(html.unescape(re.search(r"<pre id=\"out\">(.*?)</pre>", out, re.S)[1]))
    return dict(zip(pages, found, strict=True))


def opened(folder, path):
    """(what the console says, addresses that were asked for) while the page in a file is shown."""
    log = folder / "net.json"
    _, err = browse(folder, "--dump-dom", "--enable-logging=stderr", f"--log-net-log={log}", path.as_uri())
    said = re.findall(r"CONSOLE[^\"]*\"(.*?)\", source", err)
    events = [line.rstrip(",\n") for line in log.read_text(encoding="utf-8").splitlines() if '"initiator"' in line]
    asked = [json.loads(event)["params"] for event in events]
    # What the browser asks for on its own account has no origin.
    return said, sorted({one["url"] for one in asked if one["initiator"] != "not an origin"})


def printed_pages(folder, page, paper):
    """How many pages of a paper ("A4", "Letter") the page (HTML) takes, as a PDF."""
    path, pdf = folder / "page.html", folder / "page.pdf"
    path.write_text(re.sub(r"size: (portrait|landscape)", rf"size: {paper} \1", page), encoding="utf-8")
    browse(folder, "--no-pdf-header-footer", f"--print-to-pdf={pdf}", path.as_uri())
    return len(re.findall(rb"/Type\s*/Page\b", pdf.read_bytes()))


def has_a_face_of(page):
    """Whether this computer has one of the faces that the page's style names for its text, or one made like it."""
    named = re.search(r"font: [^;]*?((?:\"[^\"]+\"|Arial)[^;]*);", page)[1]
    faces = [name.strip(' "') for name in named.split(",")]
    installed = subprocess.run(["fc-list", ":", "family"], capture_output=True, text=True, check=False).stdout
    return any(face in installed for face in faces[:-1])


def axe_faults(folder, pages):
    """What axe-core finds wrong with each of `pages` (HTML by name): (rule, elements) each."""
    script = (Path(_AXE.origin).parent / "axe.min.js").read_text(encoding="utf-8")
    run = (
        "w.axe.run(d, {resultTypes: ['violations']})"
        ".then(r => r.violations.map(v => [v.id, v.nodes.map(n => n.html.slice(0, 160)).slice(0, 4)]))"
    )
    closed = script.replace("</script", "<\\/script")
    bare = {
        name: POLICY.sub("", page).replace("</body>", f"<script>{closed}</script></body>")
        for name, page in pages.items()
    }
    return looked_at(folder, bare, run)
