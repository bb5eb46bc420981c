#!/bin/sh
# Makes an inbox of 1,000 small uploads. Usage: make.sh DRAWBAR SAMPLES FOLDER
#
# 920 recordings cut out of the samples, each of another moment and of one of 37 machines
# (the identity number in all NAMEs; ISO 11783-5), 50 damaged, 20 with names that bite,
# 10 empty. Always the same.
set -eu
drawbar=$1 samples=$2 folder=$3
mkdir -p "$folder"
cuts=$(mktemp -d)
trap 'rm -rf "$cuts"' EXIT INT TERM

n=0
for cut in "axle-sensor-dead.log --from 13 --to 24" "axle-message-stops.log --from 24 --to 36" \
    "address-conflict.log --to 9" "healthy.log --from 20 --to 26" \
    "booms-drop-out.pcapng --around harness-section-silent --seconds 5" \
    "recorder-bus-off.log --from 20 --to 32"; do
    # shellcheck disable=SC2086  # options of their own
    set -- $cut
    recording=$1
    shift
    # Claims and requests for them, speeds, process data, and what the booms send.
    "$drawbar" cut --quiet --claims "$@" -o "$cuts/$n.log" \
        --pgn 60928,59904,65096,65097,51968,65310,65037,65036 "$samples/$recording"
    n=$((n + 1))
done

# copies COUNT PATTERN FIRST: recordings number FIRST .. into files named by the pattern.
copies() {
    awk -v count="$1" -v pattern="$2" -v first="$3" -v kinds="$n" -v cuts="$cuts" 'BEGIN {
        for (i = first; i < first + count; i++) {
            from = cuts "/" i % kinds ".log"
            to = sprintf(pattern, i % 12, i)
            machine = sprintf("%02X", i % 37)
            while ((getline line < from) > 0) {
                at = index(line, ".")
                stamp = substr(line, 2, at - 2) + i * 50021
                line = "(" stamp substr(line, at)
                if ((claim = index(line, " 18EEFF")))
                    line = substr(line, 1, claim + 9) machine substr(line, claim + 12)
                print line > to
            }
            close(from); close(to)
        } }'
}

for month in 0 1 2 3 4 5 6 7 8 9 10 11; do mkdir -p "$folder/month $month/new"; done
copies 920 "$folder/month %d/new/upload-%d.log" 0

# Damaged: no CAN traffic at all, broken lines, a gzip that ends early, ...
mkdir "$folder/damaged"
copies 50 "$folder/damaged/%d-%d" 2000
i=0
for file in "$folder"/damaged/*; do
    case $((i % 5)) in
    0) head -c 700 /dev/zero | tr '\0' '\253' >"$file" ;;
    1) sed -i '3s/#/?/; 7s/(/[/; 9d' "$file" ;;
    2) gzip -n -c "$file" | head -c 600 >"$file.gz" && rm "$file" ;;
    3) head -c 5001 "$file" >"$file.cut" && rm "$file" ;;
    4) echo "letter number $i from the field" >"$file" ;;
    esac
    i=$((i + 1))
done

# Names that bite: each an upload of its own.
mkdir "$cuts/bite"
copies 20 "$cuts/bite/%d-%d" 3000
set -- "$cuts"/bite/*
mkdir "$folder/names" "$folder/names/reports"
for name in - -rf --help '<svg onload=alert(1)>.log' '<img src=x onerror=alert(2)>' \
    '$(touch pwned)' '`touch pwned`' '; touch pwned' "'\"quotes\"'" '%s%n%d' '&amp;&lt;' \
    "$(printf 'line\nfeed')" "$(printf 'escape\033[31m')" "$(printf 'no\377utf8')" \
    "$(printf 'turn\342\200\256gol')" ' blank ' '*?[a]' '\back\slash' '{{table}}' \
    "$(printf '%0200d' 7)"; do
    mv "$1" "$folder/names/$name"
    shift
done

mkdir "$folder/empty"
for i in 0 1 2 3 4 5 6 7 8 9; do : >"$folder/empty/$i.log"; done
