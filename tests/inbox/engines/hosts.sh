#!/bin/sh
# Two hosts of our own: network namespaces with an ssh server each, joined by a bridge. GNU
# parallel divides the map step over them. Usage: hosts.sh OUT, in the namespaces of run.
#
# The servers are dropbear from a package that brings no service. Accounts have their home in
# the scratch folder (a passwd of our own, seen in this namespace only): no key and no known
# host of this machine is read or changed.
set -u
out=$1
home=$work/ssh
cannot() {
    echo "$1" >"$work/$out.skip"
    exit 0
}

mkdir -m 700 "$home" "$home/.ssh"
mount -t tmpfs none /run && mkdir /run/netns || cannot "nothing can be mounted"
echo "root:x:0:0::$home:/bin/sh" >"$home/passwd"
chmod 755 "$work"
chmod 644 "$home/passwd"
mount --bind "$home/passwd" /etc/passwd || cannot "nothing can be mounted"

ip link add bridge type bridge && ip addr add 10.77.0.1/24 dev bridge && ip link set bridge up ||
    cannot "no bridge in its namespace"

# add_host NAME ADDRESS
add_host() {
    ip netns add "$1" &&
        ip link add "$1" type veth peer name eth0 netns "$1" &&
        ip link set "$1" master bridge up &&
        ip -n "$1" addr add "$2/24" dev eth0 &&
        ip -n "$1" link set eth0 up &&
        ip -n "$1" link set lo up || cannot "no host of its own can be made"
    dropbearkey -t ed25519 -f "$home/$1.key" >/dev/null || cannot "no key can be made"
    ip netns exec "$1" unshare --uts sh -c "hostname $1 && exec dropbear -R -F -E -s -r '$home/$1.key' \
        -P '$home/$1.pid' -p $2:22" 2>"$home/$1.log" &
    dropbearkey -y -f "$home/$1.key" | sed -n "s/^ssh-/$2 &/p" >>"$home/.ssh/known_hosts"
    echo "$2" >>"$home/hosts"
}
add_host north 10.77.0.2
add_host south 10.77.0.3

ssh-keygen -q -t ed25519 -N '' -f "$home/.ssh/id_ed25519"
cp "$home/.ssh/id_ed25519.pub" "$home/.ssh/authorized_keys"
export HOME="$home" PARALLEL_SSH="ssh -F $home/config"
printf 'StrictHostKeyChecking yes\nUserKnownHostsFile %s\nIdentityFile %s\nBatchMode yes\n' \
    "$home/.ssh/known_hosts" "$home/.ssh/id_ed25519" >"$home/config"
tries=50
for host in $(cat "$home/hosts"); do
    until $PARALLEL_SSH "$host" hostname; do
        tries=$((tries - 1))
        [ "$tries" -gt 0 ] || cannot "no ssh to a host of its own: $(tail -1 "$home"/*.log)"
        sleep 0.1
    done
done

# From here on a failure is a failure of the recipe.
cd share || exit 1
parallel --will-cite --quote --null --jobs 2 --max-args 5 --sshloginfile "$home/hosts" --workdir . \
    --env DRAWBAR --joblog "$home/jobs" sh "$recipes/map.sh" "../$out" <../list
status=$?
cat "$home/jobs"
[ "$(awk 'NR > 1 { print $2 }' "$home/jobs" | sort -u | wc -l)" -eq 2 ] || {
    echo "not both hosts had a share"
    status=1
}
exit "$status"
