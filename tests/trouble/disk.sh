# Sourced by run: disks that are full. Pages, JSON, excerpts and comparisons on a small disk are in
# tests/machine/trouble, an inbox in tests/inbox/trouble.
dead=$samples/axle-sensor-dead.log
repaired=$samples/axle-sensor-repaired.log

# full WORDS COMMAND...: with the standard output on a full disk. Shells say it of their own too.
full() {
    words=$1
    shift
    "$drawbar" "$@" >/dev/full 2>said
    ok "$*: is refused" refused $? said
    ok "$*: what and why" says said "drawbar: $words cannot be written: No space left on device"
}

full "the report" check "$dead"
full "the report" check --json - "$dead"
full "the report" check --html - "$dead"
full "the rig" check --rig-from "$dead"
full "the report" compare "$dead" "$repaired"
full "the report" compare --json - "$dead" "$repaired"
full "the report" compare --html - "$dead" "$repaired"
full "the messages" print "$dead"
full "the messages" print --format csv "$dead"
full "the messages" print --format ndjson "$dead"
full "the recording" cut -o - "$dead"
full "standard output" messages
full "standard output" messages --verify
full "the report" messages --device "$dead"
full "standard output" help check
full "standard output" --version
full "standard output" inbox "$PWD" --out site
ok "inbox: all but the summary is there" test -s site/index.html -a -s site/uploads.ndjson

# A file that is named says which.
for option in --json --html; do
    "$drawbar" check --quiet $option /dev/full "$dead" >out 2>said
    ok "check $option: is refused" refused $? said
    ok "check $option: which file" says said "drawbar: /dev/full: the report cannot be written: No space left on device"
    "$drawbar" compare --quiet $option /dev/full "$dead" "$repaired" >out 2>said
    ok "compare $option: is refused" refused $? said
    ok "compare $option: which file" says said "drawbar: /dev/full: the report cannot be written: No space left on device"
done

# What could not be read, and cannot be told: both are said, in one line.
"$drawbar" check --quiet --for-inbox --json /dev/full "$here/disk.sh" >out 2>said
ok "check --for-inbox: is refused" refused $? said
ok "check --for-inbox: why there is no report, nor a word of that" grep -q \
    'holds no CAN frames: .*; nor can its report say so: /dev/full: .*No space left on device$' said

# A real disk, with room for the beginning only: what the shell opened stays, and its end is missing.
cat >small.sh <<'S'
mount -t tmpfs -o size=16k none disk || exit 9
try() { "$drawbar" "$@" >disk/out 2>>said; echo "status $?" >>said; rm disk/*; }
try print "$1"
try check --json - "$1"
try compare --html - "$1" "$2"
try cut -o - "$1"
try messages
"$drawbar" compare --quiet --html disk/a.html "$1" "$2" 2>>said; echo "status $?" >>said
"$drawbar" cut -o disk/a.pcapng "$1" 2>>said; echo "status $?" >>said
ls -A disk >left
S
mkdir disk
: >said
if drawbar="$drawbar" unshare --mount sh small.sh "$dead" "$repaired" 2>mount.err; then
    ok "a small disk: each is refused" equal 7 "$(grep -cx 'status 2' said)"
    ok "a small disk: each says why" equal 7 "$(grep -c '^drawbar: .*No space left on device$' said)"
    ok "a small disk: what is named says so" equal 2 "$(grep -c '^drawbar: disk/a\.' said)"
    ok "a small disk: nothing half written is left" equal "" "$(cat left)"
else
    skip "no disk of its own can be mounted: a small disk: $(head -1 mount.err)" 4
fi
