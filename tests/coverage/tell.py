"""Adds up what gcov counted: branches taken, by file and by folder of src/.

Usage: tell.py BUILD SOURCE FLOOR [--open FILE...]

A function in a header is counted once, with what all its users took of it. Branches
that unwind (C has none of its own) and the generated sources are left out. With --open,
each branch that was never taken is told with its line, of the files given or of all.
The last lines are the count for tests/run: one check, that the sum is no less than FLOOR.
"""
import collections
import gzip
import json
import os
import subprocess
import sys


def counters(build):
    """The counts of our own sources; tests and samples have theirs in folders of their own."""
    for folder, _, names in os.walk(build):
        if os.sep + "src" in folder.split(".dir")[-1] and "/tests/" not in folder[len(build):]:
            yield from (os.path.join(folder, name) for name in names if name.endswith(".gcda"))


def branches(build, source):
    """{file: {line: [count, ...]}}, file relative to the root of the source."""
    found = collections.defaultdict(dict)
    files = list(counters(build))
    if not files:
        sys.exit("tell.py: nothing was counted in " + build)
    said = subprocess.run(["gcov", "--json-format", "--stdout", "--branch-probabilities"] + files,
                          check=True, capture_output=True, cwd=build)
    for text in said.stdout.splitlines():
        for entry in json.loads(text)["files"]:
            name = os.path.relpath(os.path.join(build, entry["file"]), source)
            if not name.startswith(("src/", "include/")):
                continue
            for line in entry["lines"]:
                counts = [b["count"] for b in line["branches"] if not b["throw"]]
                key = (line["line_number"], line.get("function_name"))
                before = found[name].get(key)
                if before and len(before) == len(counts):
                    counts = [a + b for a, b in zip(before, counts)]
                found[name][key] = counts
    return found


def tally(found):
    """[(file, taken, all)] and {folder: (taken, all)}; "src" is the sum."""
    files, folders = [], collections.defaultdict(lambda: [0, 0])
    for name in sorted(found):
        counts = [count for line in found[name].values() for count in line]
        taken = sum(1 for count in counts if count)
        files.append((name, taken, len(counts)))
        for folder in (os.path.dirname(name), "src"):
            folders[folder][0] += taken
            folders[folder][1] += len(counts)
    return files, folders


def tell_open(found, source, wanted):
    for name in sorted(found):
        if wanted and name not in wanted:
            continue
        lines = open(os.path.join(source, name), encoding="utf-8").read().splitlines()
        for (line, _), counts in sorted(found[name].items(), key=lambda item: item[0][0]):
            missing = sum(1 for count in counts if not count)
            if missing:
                print(f"{name}:{line}: {missing} of {len(counts)}: {lines[line - 1].strip()}")


def share(taken, count):
    return f"{100 * taken / count:5.1f} % {taken:6} of {count:6}"


def main():
    build, source, floor = os.path.abspath(sys.argv[1]), os.path.abspath(sys.argv[2]), float(sys.argv[3])
    found = branches(build, source)
    if sys.argv[4:5] == ["--open"]:
        return tell_open(found, source, sys.argv[5:])
    files, folders = tally(found)
    for name, taken, count in sorted(files, key=lambda row: row[1] - row[2]):
        if count:
            print(share(taken, count), name)
    for folder, (taken, count) in sorted(folders.items()):
        if count:
            print("figure:", share(taken, count), "branches", folder)
    taken, count = folders["src"]
    if 100 * taken < floor * count:
        print(f"not ok: less than {floor:g} % of the branches")
        print("0 passed, 1 failed")
        sys.exit(1)
    print("1 passed, 0 failed")


main()
