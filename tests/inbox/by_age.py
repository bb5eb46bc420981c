#!/usr/bin/env python3
"""The second question of samples/inbox/questions.sql, answered without a database.

Usage: by_age.py SITE. Lines: section|days since the machine was first seen, in steps of
90|times|machines.
"""
import json
import sys
from collections import defaultdict
from datetime import datetime


def lines(name):
    with open(f"{sys.argv[1]}/{name}.ndjson", encoding="utf-8") as file:
        return [json.loads(line) for line in file]


def when(stamp):
    return datetime.fromisoformat(stamp.replace("Z", "+00:00"))


uploads = {u["upload"]: u for u in lines("uploads") if u["start_utc"] and u["machine"]
           and not u["duplicate_of"]}
first = {}
for upload in uploads.values():
    at = when(upload["start_utc"])
    first[upload["machine"]] = min(at, first.get(upload["machine"], at))

times, machines = defaultdict(int), defaultdict(set)
for finding in lines("findings"):
    upload = uploads.get(finding["upload"])
    if finding["code"] == "harness-section-silent" and upload:
        age = when(upload["start_utc"]) - first[upload["machine"]]
        key = finding["section"] or "not placed: no rig", age.days // 90 * 90
        times[key] += 1
        machines[key].add(upload["machine"])
for section, day in sorted(times):
    print(section, day, times[section, day], len(machines[section, day]), sep="|")
