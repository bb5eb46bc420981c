# Sourced by run: a recording that grows, is cut short or is removed while it is read.

# Ten times the sample, one behind the other: more than the reader holds at once, in every form.
awk 'BEGIN { for (i = 0; i < 10; i++) { file = ARGV[1]
    while ((getline line < file) > 0) { at = index(line, ".")
        print "(" substr(line, 2, at - 2) + i * 60 substr(line, at) }
    close(file) } }' "$samples/healthy.log" >whole.log
gzip -c whole.log >whole.log.gz
for form in pcap pcapng; do "$drawbar" cut --quiet -o "whole.$form" whole.log; done
sed 's/ can0 / can1 /' "$samples/healthy.log" >other.log

change() {
    case $1 in
        grows) cat "$2" >>"victim.$3" ;;
        cut) truncate -s "$(($(wc -c <"$2") / 2))" "victim.$3" ;;
        emptied) : >"victim.$3" ;;
        removed) rm "victim.$3" ;;
    esac
}

frames() {
    sed -n 's/^\t\t"frames":\t\([0-9]*\),$/\1/p' "$1" | head -1
}

# held FORM CHANGE: a check of two inputs, of which one is a pipe that stays open until the other
# one, which is open by then and read in part, has changed.
held() {
    rm -f victim.* hold report.json
    cp "whole.$1" "victim.$1"
    mkfifo hold
    "$drawbar" check --quiet --json report.json - "victim.$1" <hold >out 2>said &
    running=$!
    exec 9>hold
    head -n 2000 other.log >&9
    looks=0 # each file is opened for a moment at first, to see when it begins
    while [ $looks -lt 5 ] && kill -0 "$running" 2>/dev/null; do
        ls -l "/proc/$running/fd" 2>/dev/null | grep -q "victim.$1" && looks=$((looks + 1)) || looks=0
        sleep 0.02
    done
    change "$2" "whole.$1" "$1"
    tail -n +2001 other.log >&9
    exec 9>&-
    wait "$running"
    status=$?
    running=
}

for form in log log.gz pcap pcapng; do
    held $form not
    ok "$form: undisturbed" test "$status" -le 1
    undisturbed=$status
    mv report.json undisturbed.json
    all=$(frames undisturbed.json)
    held $form removed
    ok "$form: one that is removed is read to its end" equal "$undisturbed " "$status $(cat said)"
    ok "$form: with the same result" cmp undisturbed.json report.json
    held $form grows
    ok "$form: one that grows gives a result" test "$status" -le 1
    ok "$form: of no less than what was there" test "$(frames report.json)" -ge "$all"
    held $form cut
    ok "$form: one that is cut short gives a result" test "$status" -le 1
    ok "$form: of what was left" test "$(frames report.json)" -lt "$all"
    held $form emptied
    ok "$form: so does one that is emptied" test "$status" -le 1
    ok "$form: and nothing is left half written" equal "" "$(ls | grep 'report.json.')"
done

# whole_or_refused STATUS FILE...: every file is there with its end, or none, and the reason is told.
whole_or_refused() {
    status=$1
    shift
    if [ "$status" -gt 1 ]; then
        refused "$status" said || return 1
        for file in "$@"; do [ ! -e "$file" ] || { echo "$file is there"; return 1; }; done
        return
    fi
    for file in "$@"; do
        case $file in
            *.html) tail -1 "$file" | grep -q '</html>' || return 1 ;;
            *.json) python3 -m json.tool "$file" >/dev/null || return 1 ;;
            *) "$drawbar" check --quiet "$file" >/dev/null 2>&1 || [ $? -eq 1 ] || return 1 ;;
        esac
    done
}

# What reads a recording more than once, at any moment: there is no telling which one it meets.
for form in log log.gz pcap pcapng; do
    for what in grows cut emptied removed; do
        wrong=
        for wait in 0.02 0.07; do
            for command in "check --quiet --json made.json --html made.html" "cut --quiet -o made.pcapng"; do
                rm -f made.* victim.*
                cp "whole.$form" "victim.$form"
                # shellcheck disable=SC2086  # options of their own
                "$drawbar" $command "victim.$form" >out 2>said &
                running=$!
                sleep "$wait"
                change $what "whole.$form" $form
                wait "$running"
                status=$?
                running=
                files=$(echo "$command" | grep -oE 'made\.[a-z]*')
                # shellcheck disable=SC2086  # names without blanks
                whole_or_refused $status $files >wrong 2>&1 || wrong="$wrong [$command after $wait s: $status, $(head -3 wrong)]"
                [ -z "$(ls | grep -E 'made\.[a-z]*\.')" ] || wrong="$wrong [$command: halves]"
            done
        done
        ok "$form: $what while it is read twice: whole or refused" equal "" "$wrong"
    done
done

# An upload that changes meanwhile: never a report of something between two states.
mkdir up
cp "$samples/two-faults.log.gz" up/quiet
for what in grows cut emptied removed; do
    wrong=
    for wait in 0.02 0.2; do
        rm -rf site up/victim.log
        cp whole.log up/victim.log
        "$drawbar" inbox up --out site --quiet 2>said &
        running=$!
        sleep "$wait"
        (cd up && change $what ../whole.log log)
        wait "$running"
        [ $? -le 1 ] || wrong="$wrong [after $wait s: $(cat said)]"
        running=
        "$drawbar" inbox up --out site --quiet 2>said
        rm -rf again
        "$drawbar" inbox up --out again --quiet 2>>said
        same_site site again >differs 2>&1 || wrong="$wrong [after $wait s: $(cat differs)]"
    done
    ok "inbox: an upload that ${what}: the next run has it as it is" equal "" "$wrong"
done
