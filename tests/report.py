"""The class report in a browser: its tables and pictures, no errors, nothing from a network.

Usage: report.py WATERJACKET KEY FOLDER

Grades a small invented class against KEY (the rendered lessons) and opens the page in headless Chromium.
Screenshots at 360 and 1200 pixels and the printed page go to FOLDER, to be looked at.
"""

import re
import shutil
import subprocess
import sys
import tempfile
from html.parser import HTMLParser
from pathlib import Path

# No name resolves: whatever asked for a network would fail, and say so on the console.
OFFLINE = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--hide-scrollbars",
    "--disable-extensions",
    "--no-first-run",
    "--host-resolver-rules=MAP * ~NOTFOUND",
]

SHEETS = {
    "ann-from-the-early-shift": "capture,cylinders,confidence,note\n01-plain-staircase,3,0.9,\n06-long-lag,8,0.8,\n07-big-air-pocket,5,70%,\n",
    "bo": "capture;cylinders;confidence;note\r\n01-plain-staircase;3;0,9;\r\n06-long-lag;4;0,95;zu früh\r\n07-big-air-pocket;five;;\r\n",
}


class Page(HTMLParser):
    """Counts what the page holds as the browser sees it."""

    def __init__(self):
        super().__init__()
        self.tables, self.open, self.svgs, self.ids, self.links, self.loads = [], [], [], [], [], []

    def handle_starttag(self, tag, attributes):
        attributes = dict(attributes)
        if "id" in attributes:
            self.ids.append(attributes["id"])
        if tag == "table":
            self.tables.append({"caption": 0, "col": 0, "row": 0, "rowgroup": 0, "rows": 0})
        elif tag == "svg":
            self.svgs.append(attributes)
        elif tag == "a":
            self.links.append(attributes.get("href", ""))
        elif tag in ("script", "img", "link", "iframe", "object", "embed", "image", "use"):
            self.loads.append(tag)
        if self.tables and tag == "caption":
            self.tables[-1]["caption"] += 1
        if self.tables and tag == "tr":
            self.tables[-1]["rows"] += 1
        if self.tables and tag == "th":
            scope = attributes.get("scope")
            check(scope in ("col", "row", "rowgroup"), f"a head without a scope: {attributes}")
            self.tables[-1][scope] += 1
        for name in ("src", "href", "xlink:href", "srcset", "data", "action"):
            value = attributes.get(name, "")
            check(not re.match(r"\s*([a-z]+:)?//", value or "", re.I), f"{tag} {name}={value}")


def check(holds, problem):
    if not holds:
        sys.exit(f"report.py: {problem}")


def chromium(*arguments):
    program = shutil.which("chromium") or shutil.which("chromium-browser")
    check(program, "chromium is not installed")
    with tempfile.TemporaryDirectory() as profile:
        command = [program, *OFFLINE, f"--user-data-dir={profile}", *arguments]
        run = subprocess.run(command, capture_output=True, text=True, timeout=180)
    check(run.returncode == 0, f"chromium ended with {run.returncode}: {run.stderr}")
    return run


def console(stderr):
    """What the page itself logged; the browser's own complaints about its surroundings are not meant."""
    return [line for line in stderr.splitlines() if ":CONSOLE" in line]


def main(waterjacket, key, folder):
    folder = Path(folder).resolve()
    shutil.rmtree(folder, ignore_errors=True)
    (folder / "sheets").mkdir(parents=True)
    for name, text in SHEETS.items():
        (folder / "sheets" / f"{name}.csv").write_text(text, encoding="utf-8")
    page = folder / "class.html"
    command = [waterjacket, "grade", folder / "sheets", "--key", key, "--report", page]
    graded = subprocess.run(command, capture_output=True, text=True)
    check(graded.returncode == 2, f"one cell cannot be read: {graded}")

    url = page.as_uri()
    logging = ["--enable-logging=stderr", "--v=0"]
    # A page that must complain, or the silence of the report would prove nothing.
    bad = folder / "bad.html"
    bad.write_text("<script src='http://nowhere.invalid/x.js'></script><script>nothing()</script>")
    check(console(chromium(*logging, "--dump-dom", bad.as_uri()).stderr), "errors are not seen")
    bad.unlink()

    run = chromium(*logging, "--dump-dom", url)
    check(not console(run.stderr), f"the console says {console(run.stderr)}")
    dom = Page()
    dom.feed(run.stdout)
    check(not dom.loads, f"it loads {dom.loads}")
    check("http:" not in run.stdout and "https:" not in run.stdout, "it names an address")

    # Glance, students, verdicts, confidence, places, difficulty (if the key tells it), captures, and
    # one for each student.
    check(len(dom.tables) in (8, 9), f"{len(dom.tables)} tables")
    for table in dom.tables:
        check(table["caption"] == 1 and table["col"] > 1 and table["row"] > 0, f"{table}")
    check(dom.tables[1]["row"] == len(SHEETS), "a row for each student")
    check(len(dom.svgs) == 4, f"{len(dom.svgs)} pictures, each for light and dark")
    for svg in dom.svgs:
        check(svg.get("role") == "img" and len(svg.get("aria-label", "")) > 30, f"{svg}")
    check(len(dom.ids) == len(set(dom.ids)), "an id stands twice")
    for link in dom.links:
        check(link.startswith("#") and link[1:] in dom.ids, f"{link} leads nowhere")
    check("1 cell could not be read; the rest is graded." in run.stdout, "the note is missing")
    check("line 4, column cylinders" in run.stdout, "the cell is not named")

    for width, height in ((360, 5200), (1200, 3200)):
        picture = folder / f"report-{width}.png"
        chromium(f"--window-size={width},{height}", f"--screenshot={picture}", url)
        check(picture.stat().st_size > 50_000, f"{picture} shows nothing")
    paper = folder / "report.pdf"
    chromium("--no-pdf-header-footer", f"--print-to-pdf={paper}", url)
    check(paper.read_bytes().startswith(b"%PDF"), "it does not print")
    overflow(folder, page)
    print(f"report.py: {len(dom.tables)} tables, {len(dom.svgs)} pictures, a quiet console")


def overflow(folder, page):
    """At 360 pixels nothing is wider than the page: a frame of that width measures it."""
    probe = folder / "probe.html"
    inner = page.read_text(encoding="utf-8")
    # The page's own policy forbids scripts, so the measuring copy goes without it.
    inner = re.sub(r"<meta http-equiv=\"Content-Security-Policy\"[^>]*>", "", inner)
    measure = (
        "<script>onload = () => { const d = document.documentElement;"
        "const wide = [...document.querySelectorAll('.wide')].filter(e => e.scrollWidth > e.clientWidth + 1);"
        "d.dataset.overflow = d.scrollWidth - innerWidth;"
        "d.dataset.scrolling = wide.map(e => e.getAttribute('aria-label')).join('|');"
        "parent.postMessage([d.dataset.overflow, d.dataset.scrolling], '*') }</script></body>"
    )
    (folder / "inner.html").write_text(inner.replace("</body>", measure), encoding="utf-8")
    probe.write_text(
        "<iframe src='inner.html' width='360' height='800' style='border:0'></iframe><p id='told'></p>"
        "<script>onmessage = e => { told.textContent = 'overflow ' + e.data.join(' scrolling ') }</script>"
    )
    run = chromium("--allow-file-access-from-files", "--virtual-time-budget=5000", "--dump-dom", probe.as_uri())
    told = re.search(r"overflow (-?\d+) scrolling ([^<]*)", run.stdout)
    check(told, f"the page was not measured: {run.stdout[:500]}")
    check(int(told[1]) <= 0, f"the page is {told[1]} pixels wider than 360")
    check(not told[2], f"these tables must be scrolled at 360 pixels: {told[2]}")
    probe.unlink()
    (folder / "inner.html").unlink()


if __name__ == "__main__":
    main(*sys.argv[1:])
