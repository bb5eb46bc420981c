# Sourced by run: folders of hundreds of definitions.
mkdir defs
i=0
while [ $i -lt 300 ]; do
    printf '{ "schema": "drawbar-messages/1", "subject": "belt %d", "source": "invented",
  "messages": [ { "pgn": %d, "name": "Belt %d", "length": 8, "when": {"address": %d},
      "signals": [ {"name": "Belt speed %d", "byte": 1, "bits": 16, "scale": 0.001, "unit": "m/s"} ],
      "examples": [ {"data": "B80BFFFFFFFFFFFF", "expect": {"Belt speed %d": 3.0}, "source": "by hand"} ]
  } ] }\n' $i $((65280 + i % 100)) $i $((i % 250)) $i $i >"defs/$i.json"
    i=$((i + 1))
done
: >defs/README.md
printf '(1.0) can0 18FF0B0B#B80BFFFFFFFFFFFF\n(1.1) can0 18FF0B6F#B80BFFFFFFFFFFFF\n' >belt.log
"$drawbar" print --definitions defs belt.log >out 2>said
ok "300 files are in force" equal "0 2 " "$? $(grep -c 'Belt speed \(11\|111\) 3.000 m/s' out) $(cat said)"
"$drawbar" messages --verify --definitions defs >out 2>said
ok "300 files are proven" equal "0 300 messages, 300 signals, 300 examples: sound" "$? $(cat out)"

# One bad among them, wherever it stands in the order of names: the error names it, and its place.
for bad in 0 157 299; do
    cp "defs/$bad.json" good
    sed -i 's/"bits": 16/"bits": 65/' "defs/$bad.json"
    "$drawbar" check --quiet --definitions defs "$samples/healthy.log" >out 2>said
    ok "one bad file of 300: status" equal "2 " "$? $(cat out)"
    ok "one bad file of 300: which, and where" grep -q "^drawbar: defs/$bad\.json:3:[0-9]*: " said
    "$drawbar" messages --verify --definitions defs >out 2>said
    ok "one bad file of 300: verified" equal "1 defs/$bad.json" "$? $(grep -oE '^defs/[0-9]+\.json' out | sort -u)"
    mv good "defs/$bad.json"
done

# More messages than a run holds: which file was one too many is told.
rm -rf defs
mkdir defs
for i in 0 1 2 3 4 5 6 7 8; do
    awk -v from="$i" 'BEGIN {
        print "{ \"schema\": \"drawbar-messages/1\", \"subject\": \"b\", \"source\": \"invented\", \"messages\": ["
        for (i = 0; i < 1000; i++)
            printf "%s{ \"pgn\": %d, \"name\": \"B\", \"when\": {\"address\": %d}, \"signals\": [" \
                "{\"name\": \"S\", \"byte\": 1, \"bits\": 8}] }\n", i ? "," : "", 65280 + i % 250, from * 4 + int(i / 250)
        print "] }" }' >"defs/$i.json"
done
"$drawbar" check --quiet --definitions defs "$samples/healthy.log" >out 2>said
ok "too many messages: status" equal 2 $?
ok "too many messages: which file" grep -q '^drawbar: defs/[78]\.json' said
