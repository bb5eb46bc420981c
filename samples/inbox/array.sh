#!/bin/sh
#SBATCH --job-name=drawbar-inbox
# The map step as a Slurm job array: each task takes its share of a list of uploads.
#     (cd UPLOADS && find . -xtype f -print0) >list
#     MAP=$PWD/samples/inbox/map.sh sbatch --wait --array=0-99 samples/inbox/array.sh UPLOADS list OUT
#     drawbar inbox --reports OUT/maps --out OUT
# Paths must mean the same on all machines. $MAP says where map.sh is: Slurm runs a copy of
# this file, which has nothing beside it.
set -eu
map=${MAP:-$(cd "$(dirname "$0")" && pwd)/map.sh}
[ -r "$map" ] || {
    echo "array.sh: $map is not there: set MAP to the path of map.sh" >&2
    exit 2
}
uploads=$1 list=$(realpath "$2")
mkdir -p "$3"
out=$(realpath "$3")
cd "$uploads"
awk -v 'RS=\0' -v ORS='\0' -v task="$SLURM_ARRAY_TASK_ID" -v least="$SLURM_ARRAY_TASK_MIN" \
    -v count="$SLURM_ARRAY_TASK_COUNT" '(NR - 1) % count == task - least' "$list" |
    xargs -0 -r sh "$map" "$out"
