# Sourced by samples/run and tests/run, never run by itself: installs the Debian
# packages named in $packages that are missing. Needs root or sudo only then. Those that
# are named in $services as well bring a service of the same name, which is not wanted.

missing=
for package in $packages; do
    status=$(dpkg-query -W -f '${db:Status-Status}' "$package" 2>/dev/null || true)
    [ "$status" = installed ] || missing="$missing $package"
done

if [ -n "$missing" ]; then
    echo "Installing:$missing" >&2
    as_root=
    if [ "$(id -u)" -ne 0 ]; then
        as_root=sudo
        command -v sudo >/dev/null || {
            echo "Please install as root: apt-get install$missing" >&2
            exit 2
        }
    fi
    export DEBIAN_FRONTEND=noninteractive
    $as_root apt-get -q update >&2
    # A package may bring a service. None is started by this: tests start their own, apart.
    policy=/usr/sbin/policy-rc.d
    if [ -e "$policy" ]; then
        policy=
    else
        printf '#!/bin/sh\nexit 101\n' | $as_root tee "$policy" >/dev/null
        $as_root chmod 755 "$policy"
    fi
    status=0
    # shellcheck disable=SC2086  # one argument a package
    $as_root apt-get -q -y --no-install-recommends install $missing >&2 || status=$?
    [ -z "$policy" ] || $as_root rm -f "$policy"
    [ "$status" -eq 0 ] || exit "$status"
    # Nor does it start with the machine, where it came for the tests alone.
    for package in ${services:-}; do
        case "$missing " in
        *" $package "*) [ ! -d /run/systemd/system ] || $as_root systemctl --quiet disable "$package" >&2 ;;
        esac
    done
fi
