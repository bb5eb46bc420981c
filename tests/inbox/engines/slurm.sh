#!/bin/sh
# A cluster of one host, in the namespaces that run has made: the job array of the recipe.
# Usage: slurm.sh OUT. Munge, slurmctld and slurmd with a key, sockets and folders of their
# own in the scratch folder; they end with this process, which is the first of its namespace.
set -u
out=$1
home=$work/cluster
cannot() {
    echo "$1" >"$work/$out.skip"
    tail -n 5 "$home"/*.log 2>/dev/null
    exit 0
}

# until SECONDS COMMAND...: waits for something that a daemon does.
until_true() {
    tries=$(($1 * 10))
    shift
    while ! "$@" >/dev/null 2>&1; do
        tries=$((tries - 1))
        [ "$tries" -gt 0 ] || return 1
        sleep 0.1
    done
}

mkdir -m 755 "$home" "$home/state" "$home/spool"
chmod 755 "$work"
# A host with nothing but a loopback finds no address of any name (getaddrinfo, AI_ADDRCONFIG).
ip link set lo up && ip link add wire type bridge && ip addr add 10.77.0.1/24 dev wire &&
    ip link set wire up || cannot "no network in its namespace"
hostname drawbar-host || cannot "no host name of its own"
printf '127.0.0.1 localhost\n10.77.0.1 drawbar-host\n' >"$home/hosts"
mount --bind "$home/hosts" /etc/hosts || cannot "nothing can be mounted"

mungekey --create --keyfile "$home/munge.key" || cannot "no key of munge can be made"
munged --force --key-file "$home/munge.key" --socket "$home/munge.socket" \
    --pid-file "$home/munge.pid" --log-file "$home/munge.log" --seed-file "$home/munge.seed" ||
    cannot "munged does not start"

export SLURM_CONF="$home/slurm.conf"
cat >"$SLURM_CONF" <<END
ClusterName=drawbar
SlurmctldHost=drawbar-host(10.77.0.1)
SlurmUser=root
SlurmdUser=root
AuthType=auth/munge
AuthInfo=socket=$home/munge.socket
CredType=cred/munge
CommunicationParameters=NoInAddrAny,NoCtldInAddrAny
StateSaveLocation=$home/state
SlurmdSpoolDir=$home/spool
SlurmctldPidFile=$home/slurmctld.pid
SlurmdPidFile=$home/slurmd.pid
SlurmctldLogFile=$home/slurmctld.log
SlurmdLogFile=$home/slurmd.log
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
MpiDefault=none
SelectType=select/cons_tres
SelectTypeParameters=CR_Core
AccountingStorageType=accounting_storage/none
JobAcctGatherType=jobacct_gather/none
ReturnToService=2
NodeName=drawbar-host NodeAddr=10.77.0.1 CPUs=$(nproc) State=UNKNOWN
PartitionName=all Nodes=ALL Default=YES MaxTime=10 State=UP
END

slurmctld -i || cannot "slurmctld does not start"
slurmd || cannot "slurmd does not start"
until_true 30 sh -c 'sinfo -h -o %T | grep -qx idle' || cannot "its host does not become idle: $(sinfo -h -o '%T %E')"

# From here on a failure is a failure of the recipe.
MAP=$recipes/map.sh timeout 120 sbatch --wait --array=3-6 --output="$home/task-%a.out" \
    "$recipes/array.sh" share list "$out"
status=$?
cat "$home"/task-*.out
[ "$(ls "$home"/task-*.out | wc -l)" -eq 4 ] || status=1
exit "$status"
