#!/bin/sh
# The map step of an inbox, for any engine that runs commands on several machines.
# Usage, in the folder of uploads: map.sh OUT UPLOAD...
#
# Each upload leaves OUT/maps/N.json, and a page in OUT/reports where it is a recording.
# OUT is shared by all machines, or brought together afterwards; then
#     drawbar inbox --reports OUT/maps --out OUT
# $DRAWBAR is the program, where it is not in the path; PAGES=no leaves the pages out. A
# name is never a path: that of the JSON comes from the name's digest, that of the page
# from the content's, as drawbar inbox would call it.
set -u
out=$1
shift
mkdir -p "$out/maps" "$out/reports"
missed=0
for upload; do
    upload=${upload#./} # as drawbar inbox names it
    [ "$upload" != - ] || upload=./- # "-" would be standard input
    name=$(printf %s "$upload" | sha256sum | cut -c1-32)
    id=$(sha256sum <"./$upload" | cut -c1-16)
    set -- --json "$out/maps/$name.json"
    [ "${PAGES:-}" = no ] || set -- "$@" --html "$out/reports/${id:-unread}.html"
    "${DRAWBAR:-drawbar}" check --quiet --for-inbox "$@" -- "$upload" 2>/dev/null
    # Status 2 is an upload that cannot be used: its JSON says why.
    [ -f "$out/maps/$name.json" ] || missed=$((missed + 1))
done
[ "$missed" -eq 0 ] || echo "$missed uploads left no report" >&2
[ "$missed" -eq 0 ]
