"""Follows the recipes of DEVELOPERS.md to the letter, in a copy of the tree, and sees that
the commands which README.md shows print what stands there.

    python3 follow.py TREE

A recipe is a section that begins with "## To add". What it asks for stands in fenced
blocks: files to write ("File `PATH`:"), lines to add ("In `PATH`, after `TEXT`:",
"before `TEXT`:", "at the end:"), and commands with what they print ("console"), where
"..." stands for whatever comes. TEXT is the beginning of a line that the file has once.
"""
import re
import subprocess
import sys
import time
from pathlib import Path

PLACE = re.compile(r"^(?:File `(?P<file>[^`]+)`|In `(?P<into>[^`]+)`, "
                   r"(?:(?P<side>after|before) `(?P<mark>[^`]+)`|at the end)):$")
COMMAND_LIMIT_S = 1200


class Broken(Exception):
    pass


def recipes(text):
    """Yields title and body of each recipe."""
    for section in re.split(r"^(?=## )", text, flags=re.M):
        title, _, body = section.partition("\n")
        if title.startswith("## To add") and "```console" in body:
            yield title[3:], body


def steps(body):
    """Yields (line before the block, language, content) of each fenced block."""
    for match in re.finditer(r"^(?P<before>[^\n]*)\n*^```(?P<language>\w+)\n(?P<content>.*?)^```$",
                             body, flags=re.M | re.S):
        yield match["before"], match["language"], match["content"]


def write(tree, place, content):
    path = tree / (place["file"] or place["into"])
    if place["file"]:
        if path.exists():
            raise Broken(f"{path} is there already")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(content)
        return
    lines = path.read_text().splitlines(keepends=True)
    path.write_text("".join(put(lines, place, content)))


def put(lines, place, content):
    if not place["side"]:
        return lines + [content]
    found = [i for i, line in enumerate(lines) if line.startswith(place["mark"])]
    if len(found) != 1:
        raise Broken(f"{place['into']} has {len(found)} lines that begin with {place['mark']!r}")
    at = found[0] + (place["side"] == "after")
    return lines[:at] + [content] + lines[at:]


def commands(content):
    """Yields each command of a console block with the output that is told of it."""
    for part in re.split(r"^\$ ", content, flags=re.M)[1:]:
        command, _, told = part.partition("\n")
        yield command, told


def as_told(told, printed):
    pattern = ".*".join(re.escape(piece) for piece in told.rstrip("\n").split("..."))
    return re.fullmatch(pattern, printed.rstrip("\n"), flags=re.S)


def play(tree, content, accepted=(0,)):
    for command, told in commands(content):
        result = subprocess.run(["sh", "-c", command], cwd=tree, text=True, timeout=COMMAND_LIMIT_S,
                                stdout=subprocess.PIPE, stderr=subprocess.STDOUT, check=False)
        if result.returncode not in accepted or not as_told(told, result.stdout):
            raise Broken(f"$ {command}\nexit status {result.returncode}, told:\n{told}"
                         f"printed:\n{result.stdout[-3000:]}")


def follow(tree, body):
    for before, language, content in steps(body):
        place = PLACE.match(before)
        if language == "console":
            play(tree, content)
        elif place:
            write(tree, place, content)
        else:
            raise Broken(f"nothing says where this block goes: {content[:60]!r}")


def show(tree, body):
    """A report that found something ends with 1."""
    for _, language, content in steps(body):
        if language == "console":
            play(tree, content, accepted=(0, 1))


def tasks(tree):
    for title, body in recipes((tree / "DEVELOPERS.md").read_text()):
        yield title, follow, body
    yield "README.md", show, (tree / "README.md").read_text()


def main(tree):
    failed, passed = 0, 0
    for title, act, body in tasks(tree):
        began = time.monotonic()
        try:
            act(tree, body)
            passed += 1
            print(f"followed: {title}, {time.monotonic() - began:.0f} s")
        except Broken as broken:
            failed += 1
            print(f"not ok: {title}: {broken}")
    print(f"{passed} passed, {failed} failed")
    return failed > 0 or passed < 2


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1])))
