# Run by trouble in a namespace of mounts: an inbox on a disk of 1 MB, then with room. Leaves
# what was said in said, the files of the full disk in left, the site of the end in after.
mount -t tmpfs -o size=1m none disk || exit 9
"$drawbar" inbox up --out disk/site --jobs 2 >out 2>said
echo "status $?" >>said
find disk -type f >left
mount -o remount,size=200m disk || exit 9
"$drawbar" inbox up --out disk/site >again
cp -r disk/site after
