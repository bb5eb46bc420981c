# Sourced by run: what may not be read or written. Root may do everything, so that it becomes nobody.
chmod 755 "$work"
cp "$samples/two-faults.log.gz" open.gz
cp "$samples/spreader-rig.json" rig.json
# Counts of branches (tests/coverage) cannot be written by nobody where the build lies.
mkdir counts
chmod 777 counts
export GCOV_PREFIX="$PWD/counts"
if [ "$(id -u)" -ne 0 ]; then
    as_nobody() { "$@"; }
elif setpriv --reuid=65534 --regid=65534 --clear-groups true 2>/dev/null; then
    as_nobody() { setpriv --reuid=65534 --regid=65534 --clear-groups "$@"; }
else
    as_nobody() { return 99; }
fi
as_nobody "$drawbar" --version >/dev/null 2>&1 || {
    cp "$drawbar" program && chmod 755 program && drawbar_there=$PWD/program
}
program=${drawbar_there:-$drawbar}

# closed NAME WORDS COMMAND...: refused for want of permission, and nothing comes of it.
closed() {
    thing=$1 words=$2
    shift 2
    ls . writable >before
    as_nobody "$program" "$@" >out 2>said
    ok "$thing is refused" refused $? said
    ok "$thing: what and why" says said "$words"
    ok "$thing: nothing is left" equal "$(cat before)" "$(ls . writable)"
}

mkdir defs folder writable empty readonly
chmod 777 writable
: >out; : >said; : >before
printf '(1.0) can0 18FEF100#FFFFFFFFFFFFFFFF\n' >closed.log
for form in gz pcap pcapng; do cp closed.log "closed.$form"; done
cp rig.json closed.json
cp "$here/../machine/belt.json" defs/belt.json
chmod 000 closed.*
chmod 555 readonly

if ! as_nobody "$program" --version >/dev/null 2>said; then
    skip "denied: nobody cannot run the program here: $(head -1 said)" 38
else
    for form in log gz pcap pcapng; do
        closed "a recording ($form)" "closed.$form: Permission denied" check "closed.$form"
    done
    closed "a recording to compare with" "closed.log: Permission denied" compare open.gz closed.log
    closed "a recording to print" "closed.log: Permission denied" print closed.log
    closed "a recording to cut" "closed.log: Permission denied" cut -o writable/x.log closed.log
    closed "a rig" "closed.json: Permission denied" check --rig closed.json open.gz
    chmod 000 defs/belt.json
    closed "a definition" "defs/belt.json: Permission denied" check --definitions defs open.gz
    closed "a definition to verify" "defs/belt.json: Permission denied" messages --verify defs/belt.json
    chmod 000 defs
    closed "a folder of definitions" "defs: Permission denied" check --definitions defs open.gz
    chmod 755 defs
    chmod 644 defs/belt.json
    for command in "check --quiet --html" "check --quiet --json" "cut -o"; do
        # shellcheck disable=SC2086  # options of their own
        closed "a folder for what comes out (${command##* })" \
            "cannot be written: Permission denied" $command readonly/x.log open.gz
    done
    closed "a folder for an inbox" "readonly/site: cannot be made: Permission denied" \
        inbox empty --out readonly/site
    closed "a site of somebody else" "cannot be made: Permission denied" inbox empty --out readonly

    as_nobody "$program" inbox empty --out writable/site --quiet
    chmod 000 folder
    closed "a folder of uploads" "folder: cannot be read: Permission denied" \
        inbox folder --out writable/site
    closed "a folder of reports" "folder: cannot be read: Permission denied" \
        inbox --reports folder --out writable/site
    chmod 755 folder

    # Among others what is closed has its row, or is counted; the rest goes on.
    mkdir folder/locked
    cp open.gz folder/a.gz
    cp open.gz folder/locked/b.gz
    cp "$samples/booms-flicker.log.gz" folder/c.gz
    chmod 000 folder/locked folder/c.gz
    as_nobody "$program" inbox folder --out writable/site --quiet >out 2>said
    ok "an inbox goes on beside what is closed" equal \
        "1 drawbar: 1 folders or files that cannot be read, or lie too deep" "$? $(cat said)"
    ok "a closed upload has its row" grep -q \
        '"path":"c.gz".*"error":"cannot be opened: Permission denied"' writable/site/uploads.ndjson
    ok "an open one its report" grep -q '"path":"a.gz",.*"worst":"fault"' writable/site/uploads.ndjson
    chmod 755 folder/locked
    chmod 644 folder/c.gz
    as_nobody "$program" inbox folder --out writable/site --quiet >out 2>said
    as_nobody "$program" inbox folder --out writable/fresh --quiet >out 2>said
    ok "opened, the next run has it all" same_site writable/fresh writable/site
fi
unset GCOV_PREFIX
