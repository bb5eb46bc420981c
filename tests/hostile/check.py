"""check.py - every inlet of a stranger's text against every outlet. Usage: check.py PROGRAM

For each text of strings.py the program makes all it can make of the files of inlets.py, and of
a report that somebody else wrote.
Nothing may leave it that could steer, hide or pass for something else; and what came in must
be there in its harmless form: left out would be no answer either.
"""
import csv
import html.parser
import io
import json
import os
import re
import subprocess
import sys
import tempfile

import inlets
import strings

PROGRAM = os.path.realpath(sys.argv[1])
NUMBER = re.compile(r"-?\d+(\.\d+)?\Z")
FORMULA_MARKS = "=+-@\uff1d\uff0b\uff0d\uff20"
COLOURS = re.compile("\033\\[(?:1|1;31|1;33|2|0)m")  # those of layout.c

# Where what came in is to be seen: an outlet, and the marks of the inlets (inlets.MARKS). All else
# is held to be harmless only. In the terminal report the column of interfaces is too narrow.
SHOWN = {
    "check": "sw co ec pr in dv sp rg se re fi",
    "check in colour": "sw co ec pr in dv sp rg se re fi",
    "check json": "if sw co ec pr in dv dw el da dp un me sp rg se re fi",
    "check page": "if sw co ec pr in dv dw el da dp un me si su st sp rg se re fi",
    "compare": "dv sp re fi",
    "compare json": "dv sp rg se re fi",
    "compare page": "if sw co ec pr in dv dw el da dp un me sp rg se re fi",
    "print": "if sw co ec pr in me si su st sp",
    "print frames": "if sw co ec pr in me si su st sp",
    "print csv": "if sw co ec pr in me si su st sp",
    "print columns": "if su sp",
    "print ndjson": "if sw co ec pr in me si su st sp",
    "messages": "me fi",
    "device": "dv dw el da dp un",
    "draft": "dv",
    "verify": "fi",
    "complaints": "if fi",
    "inbox index": "dv re fi",
    "inbox history": "dv sp re fi",
    "inbox uploads": "dv re fi",
    "inbox findings": "if dv sp se re fi",
    "report html": "if sw co ec pr in dv dw el da dp un me si su st sp rg se re fi",
    "report json": "fi",
}
HEAD = 12  # characters that no column cuts

passed = 0
failed = []


def hold(condition, what):
    global passed
    if condition:
        passed += 1
    else:
        failed.append(what)


def run(*arguments):
    """What the program wrote on both streams; 0, 1 and 2 are its answers."""
    done = subprocess.run([PROGRAM, *arguments], capture_output=True, timeout=60,
                          env={"LC_ALL": "C", "TZ": "UTC"})
    if done.returncode not in (0, 1, 2):
        failed.append(f"{arguments}: status {done.returncode}: {done.stderr[-2000:]}")
    return done.stdout, done.stderr


def contents(path):
    with open(path, "rb") as file:
        return file.read()


def outlets(files, folder):
    """All that the program makes of a set of files: name, bytes; and what it complains of."""
    use = ["--definitions", files["rules"], "--rig", files["rig"]]
    rules = use[:2]
    recording, later = files["recording"], files["later"]
    site = os.path.join(folder, b"site")
    calls = {
        "check": ["check", "--color", "never", *use, recording],
        "check in colour": ["check", "--color", "always", *use, recording],
        "check json": ["check", "--json", "-", *use, recording],
        "check page": ["check", "--html", "-", *use, recording],
        "compare": ["compare", "--color", "never", *use, recording, later],
        "compare json": ["compare", "--json", "-", *use, recording, later],
        "compare page": ["compare", "--html", "-", *use, recording, later],
        "print": ["print", *rules, recording],
        "print frames": ["print", "--frames", *rules, recording],
        "print csv": ["print", "--format", "csv", *rules, recording],
        "print columns": ["print", "--signals", "4000,measured,DDI 7", *rules, recording],
        "print ndjson": ["print", "--format", "ndjson", *rules, recording],
        "messages": ["messages", *rules],
        "device": ["messages", "--device", *rules, recording],
        "draft": ["check", "--rig-from", recording],
        "cut": ["cut", "-o", "-", recording],
        "verify": ["messages", "--verify", *rules, files["broken"]],
        "inbox": ["inbox", files["uploads"], "--out", site, *use],
    }
    complaints = b""
    for name, arguments in calls.items():
        out, err = run(*arguments)
        complaints += err
        yield name, out
    for arguments in (["check", files["missing"]], ["check", files["unusable"]],
                      ["check", "--rig", files["broken"], recording],
                      ["check", "--definitions", files["missing"], recording],
                      ["check", "--interface", b"x" + files["interface"], recording],
                      ["check", "--from", files["interface"], recording],
                      ["check", b"--" + files["interface"], recording],
                      ["print", "--signal", b"x" + files["interface"], recording],
                      ["cut", "--around", files["interface"], recording, "-o", "out.log"],
                      ["cut", recording, "-o", recording], [b"x" + files["interface"]],
                      ["inbox", files["missing"], "--out", site]):
        complaints += run(*arguments)[1]
    yield "complaints", complaints
    for name, path in (("inbox index", "index.html"), ("inbox history", "history.html"),
                       ("inbox uploads", "uploads.ndjson"), ("inbox findings", "findings.ndjson")):
        yield name, contents(os.path.join(site, path.encode()))
    for path in sorted(os.listdir(os.path.join(site, b"reports"))):
        yield "report " + path.decode()[-4:], contents(os.path.join(site, b"reports", path))


def replaced(value, text, key=""):
    """A report in which every text is a stranger's, as far as it still is a report."""
    if isinstance(value, dict):
        return {k: replaced(v, text, k) for k, v in value.items()}
    if isinstance(value, list):
        return [replaced(v, text, key) for v in value]
    keeps = key in ("schema", "severity", "sha256", "time_base")
    return text if isinstance(value, str) and not keeps else value


def foreign(files, raw, folder):
    """What the inbox makes of a report that somebody else wrote."""
    reports, site = os.path.join(folder, b"reports"), os.path.join(folder, b"other")
    os.mkdir(reports)
    out, _ = run("check", "--for-inbox", "--json", "-", files["recording"])
    report = replaced(json.loads(out), strings.characters(raw))
    with open(os.path.join(reports, b"1.json"), "wb") as file:
        file.write(json.dumps(report, ensure_ascii=False).encode("utf-8", "surrogateescape"))
    out, err = run("inbox", "--reports", reports, "--out", site)
    yield "foreign complaints", out + err
    for name in ("index.html", "history.html", "uploads.ndjson", "findings.ndjson"):
        yield "foreign " + name, contents(os.path.join(site, name.encode()))


class Page(html.parser.HTMLParser):
    """The words of a page, what it consists of, and its data."""

    def __init__(self, text):
        super().__init__()
        self.words, self.data, self.tags, self.inside = [], [], [], None
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attributes):
        self.inside = (tag, dict(attributes).get("type"))
        self.tags.append((tag, sorted(name for name, _ in attributes)))
        self.words += [value for name, value in attributes if value and name != "content"]

    def handle_endtag(self, tag):
        self.inside = None

    def handle_data(self, text):
        if self.inside == ("script", "application/json"):
            self.data.append(text)
        elif not self.inside or self.inside[0] not in ("script", "style"):
            self.words.append(text)

    def handle_comment(self, text):
        self.tags.append(("comment", []))

    def unknown_decl(self, text):
        self.tags.append(("declaration", []))


def strings_of(value):
    if isinstance(value, dict):
        for key, item in value.items():
            yield key
            yield from strings_of(item)
    elif isinstance(value, list):
        for item in value:
            yield from strings_of(item)
    elif isinstance(value, str):
        yield value


def words_of(name, text, what):
    """The texts of an outlet as whoever takes it sees them; a list, or one running text."""
    if name.endswith(("json", "uploads", "findings")):
        by_line = name.endswith(("ndjson", "uploads", "findings"))
        lines = text.splitlines() if by_line else [text]
        return [s for line in lines if line for s in strings_of(json.loads(line))]
    if name == "draft":
        return list(strings_of(json.loads(text)))
    if name in ("print csv", "print columns"):
        for delimiter in ",;\t":
            rows = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
            bad = [cell for row in rows for cell in row
                   if cell.strip()[:1] in FORMULA_MARKS and cell and not NUMBER.match(cell)]
            hold(not bad, f"{what}: formulas in cells between {delimiter!r}: {bad[:3]}")
        return [cell for row in csv.reader(io.StringIO(text, newline="")) for cell in row]
    if name.endswith(("page", "index", "history", "html")):
        page = Page(text)
        tags = {tag for tag, _ in page.tags}
        hold(not tags & {"img", "comment", "declaration", "x"} and
             sum(tag == "script" for tag, _ in page.tags) == 1 + len(page.data) and
             not any(a.startswith("on") for _, names in page.tags for a in names),
             f"{what}: markup: {sorted(tags)}")
        data = [s for block in page.data for s in strings_of(json.loads(block))]
        hold(not any(ord(c) in strings.HARMFUL for s in data for c in s), f"{what}: its data")
        return page.words + data
    return [" ".join(text.split())]


def own(name, text):
    """Without what the outlet itself may have: line feeds, its colours, the blanks of a style."""
    if name == "check in colour":
        text = COLOURS.sub("", text)
    if name.endswith(("json", "draft", "html")):
        return text.replace("\n", "").replace("\t", "")
    return text.replace("\n", "")


def forms_of(inlet, raw, name, formula):
    """What of an inlet's text an outlet may show: the whole, or its head where columns are short."""
    mark = inlets.MARKS[inlet]
    sent = raw + mark if formula else mark + raw
    if inlet == "file":
        sent = sent.replace(b"/", b"|")
    if inlet == "information":
        sent = sent.split(b"\xff")[0]  # ends a text of fixed width
    by_ecu = inlet in ("software", "component", "ecu", "product", "information")
    form = strings.told(sent) if by_ecu else strings.neutral(sent)
    return " ".join(form.split())


def is_there(head, words):
    """A label of an ECU stands in quotes, and has none of its own: words.c."""
    label = head.replace('"', "'")
    return any(head in w or label in w for w in words)


def check_outlet(key, raw, formula, name, out):
    what = f"{key}: {name}"
    try:
        text = out.decode()
    except UnicodeDecodeError as error:
        return hold(False, f"{what}: not UTF-8: {error}")
    raw_ones = sorted({f"U+{ord(c):04X}" for c in own(name, text) if ord(c) in strings.HARMFUL})
    hold(not raw_ones, f"{what}: raw {raw_ones}")
    try:
        words = words_of(name, text, what)
    except ValueError as error:
        return hold(False, f"{what}: malformed: {error}")
    words = [" ".join(w.split()) for w in words]
    for inlet, mark in inlets.MARKS.items():
        if formula or mark.decode() not in SHOWN.get(name, "").split():
            continue
        head = forms_of(inlet, raw, name, formula)[:HEAD]
        hold(is_there(head, words), f"{what}: {inlet} is not there as {head!r}")


def main():
    with tempfile.TemporaryDirectory() as scratch:
        sets = inlets.write_all(scratch)
        os.chdir(scratch)
        for key, files in sets.items():
            formula = key in strings.FORMULAS
            raw = strings.FORMULAS[key] if formula else strings.HOSTILE[key]
            folder = os.path.dirname(files["rules"])
            for name, out in [*outlets(files, folder), *foreign(files, raw, folder)]:
                check_outlet(key, raw, formula, name, out)
    for line in failed[:200]:
        print("not ok:", line)
    print(f"{passed} passed, {len(failed)} failed")
    sys.exit(1 if failed or passed == 0 else 0)


main()
