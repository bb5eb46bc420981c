# Sourced by the tests of the inbox, which count in $passed, $failed and $skipped.

# ok NAME COMMAND...: passes where the command succeeds.
ok() {
    name=$1
    shift
    if "$@" >.said 2>&1; then
        passed=$((passed + 1))
    else
        failed=$((failed + 1))
        echo "not ok: $name"
        head -5 .said
    fi
}

# skip WHY COUNT
skip() {
    skipped=$((skipped + $2))
    echo "SKIPPED: $1"
}

# equal EXPECTED FOUND
equal() {
    [ "$1" = "$2" ] || { echo "expected $1, found $2"; false; }
}

same_site() {
    for file in uploads.ndjson findings.ndjson index.html history.html; do
        cmp "$1/$file" "$2/$file" || return 1
    done
}
