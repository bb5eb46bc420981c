# Sourced by run --figures in its scratch folder, where up/ has 1,000 uploads: uploads a
# second on one core and on two, memory, and sizes of the index. Judges nothing.
peak() {
    # The largest of the processes, and how many seconds it took.
    command time -f '%e %M %U %S' -o took taskset -c "$1" "$drawbar" inbox up --out "$2" --jobs "$3" --quiet
    awk -v what="$4" '{ t = $1; kb = $2; cpu = $3 + $4 } END {
        printf "%-20s %6.2f s, %5.0f uploads/s; %5.2f s of processors; largest process %.1f MiB\n",
            what, t, 1000 / t, cpu, kb / 1024 }' took
}
peak 0 site-1 1 "one core"
peak 0,1 site-2 2 "two cores"
peak 0,1 site-2 2 "again, nothing new"
# One report as ten contents: what an inbox of 10,000 comes to.
mkdir maps
n=0
for report in site-2/reports/*.json; do
    n=$((n + 1))
    for copy in 0 1 2 3 4 5 6 7 8 9; do
        sed "s/\"sha256\":	\"../\"sha256\":	\"$copy$((copy * 7 % 10))/; s/\"path\":	\"/&$copy-/" \
            "$report" >"maps/$n-$copy.json"
    done
done
command time -f '%e %M' -o took "$drawbar" inbox --reports maps --out site-10 --quiet
awk -v n=$((10 * n)) '{ t = $1; kb = $2 } END { printf "reduce of %d reports %13.2f s, %.1f MiB\n", n, t, kb / 1024 }' took
for site in site-1 site-10; do
    for kind in 'index*.html' 'history*.html' '*-rows-*.js'; do
        # shellcheck disable=SC2086  # a pattern
        (cd $site && ls -l $kind 2>/dev/null) | awk -v site=$site -v kind="$kind" '{ n++; if ($5 > most) most = $5 }
            END { if (n) printf "%s: %d %s, the largest %.2f MB\n", site, n, kind, most / 1e6 }'
    done
done
