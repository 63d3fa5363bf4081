#!/usr/bin/env bash
# Runs a command in a Debian trixie root that has Swift 6 in it, with this checkout at /src.
#
#   ios/scripts/linux-swift.sh                    make the root if it is not there yet, and stop
#   ios/scripts/linux-swift.sh swift test …       run the command, in the folder of the checkout
#                                                 that the caller stands in
#
# Debian bookworm has no Swift; trixie has it (package swiftlang). The root is made once by
# debootstrap and kept in $STANDSQUARE_CACHE (standsquare in the user's cache folder when unset). It is
# built under another name and renamed when whole, so a run that was cut off starts over.
# Every mount lives in a mount namespace of the running command, so none outlives it, not even
# when it is killed. Packages come from where the machine's own apt gets its Debian packages.
set -euo pipefail

# What is in the root (swiftlang alone brings no C headers). A change here makes a new root.
packages="swiftlang libc6-dev libstdc++-14-dev"
recipe="trixie, $packages, 1"
suite=trixie

here=$(cd -- "$(dirname -- "${BASH_SOURCE[0]}")" && pwd -P)
checkout=$(cd -- "$here/../.." && pwd -P)
# The same folder as cargo xtask's: shared by every checkout of this user.
cache=${STANDSQUARE_CACHE:-${XDG_CACHE_HOME:-${HOME:?set HOME or STANDSQUARE_CACHE}/.cache}/standsquare}

say() { printf 'linux-swift: %s\n' "$*" >&2; }
stop() {
    say "$*"
    exit 1
}

# 1. Is this a machine on which it can work?

is_debian() {
    [ -r /etc/os-release ] || return 1
    # shellcheck source=/dev/null
    [ "$(. /etc/os-release && echo "${ID:-}")" = debian ]
}
is_debian || stop "this works on Debian only. Elsewhere install Swift 6 and run 'swift test' in ios/ (ios/README.md says what must be built first)."
[ "$(id -u)" = 0 ] || stop "root is needed, to make a Debian root and to mount the checkout in it. Run it as root, or install Swift 6 and run 'swift test' in ios/."
unshare --mount --propagation private true 2>/dev/null || stop "this machine does not let root make a mount namespace (unshare --mount). A container needs the right to mount (CAP_SYS_ADMIN)."

mkdir -p -- "$cache"
cache=$(cd -- "$cache" && pwd -P)
root=$cache/swift-$suite
marker=$root/.standsquare-complete

# 2. Make the root, once.

complete() { [ -r "$marker" ] && [ "$(cat -- "$marker")" = "$recipe" ]; }

# Where the machine's own apt gets Debian itself from (not updates, not other vendors).
# apt answers for every format of its lists, and only after its first update.
mirror() {
    local codename
    # shellcheck source=/dev/null
    codename=$(. /etc/os-release && echo "${VERSION_CODENAME:-}")
    # shellcheck disable=SC2016 # apt fills these in, not the shell
    apt-get indextargets --format '$(REPO_URI) $(CODENAME) $(ORIGIN) $(LABEL) $(COMPONENT)' 'Created-By: Packages' |
        awk -v codename="$codename" '$2 == codename && $3 == "Debian" && $4 == "Debian" && $5 == "main" { print $1; exit }'
}

build() {
    local partial=$root.partial from keyring

    if ! command -v debootstrap >/dev/null; then
        say "debootstrap is missing: installing it (apt-get)"
        apt-get update -qq
        DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends debootstrap >/dev/null
    fi
    from=$(mirror)
    if [ -z "$from" ]; then
        apt-get update -qq
        from=$(mirror)
    fi
    [ -n "$from" ] || stop "apt has no Debian 'main' source to take $suite from. Put one in /etc/apt/sources.list.d, run 'apt-get update' and try again."
    keyring=/usr/share/keyrings/debian-archive-keyring.gpg
    [ -r "$keyring" ] || stop "$keyring is missing: apt-get install debian-archive-keyring"

    # A run that was cut off: everything it left goes. Nothing is mounted there (see the top).
    rm -rf --one-file-system -- "$partial" "$root"
    mkdir -p -- "$partial"

    say "making the $suite root with Swift in $root (once; about 600 MB to fetch, 2.5 GB on the disk)"
    (
        # In the partial root: apt with the proxy, if any, that the machine's apt has.
        proxy=$(apt-config dump --format '%f "%v";%n' Acquire::http::Proxy Acquire::https::Proxy)
        export from suite partial keyring proxy packages
        # shellcheck disable=SC2016 # expanded by the inner shell
        unshare --mount --propagation private --pid --fork --kill-child bash -euo pipefail -c '
            mount -t proc proc /proc
            debootstrap --variant=minbase --keyring="$keyring" "$suite" "$partial" "$from"
            printf "%s\n" "$proxy" >"$partial/etc/apt/apt.conf.d/99standsquare-proxy"
            # Manuals and translations are of no use here.
            printf "path-exclude=/usr/share/%s/*\n" doc man locale info >"$partial/etc/dpkg/dpkg.cfg.d/99standsquare"
            # No service is started in the root.
            printf "#!/bin/sh\nexit 101\n" >"$partial/usr/sbin/policy-rc.d"
            chmod 755 "$partial/usr/sbin/policy-rc.d"
            mount -t proc proc "$partial/proc"
            mount --rbind /dev "$partial/dev"
            in_root() { env -i HOME=/root PATH=/usr/sbin:/usr/bin:/sbin:/bin LANG=C.UTF-8 DEBIAN_FRONTEND=noninteractive chroot "$partial" "$@"; }
            in_root apt-get install -y -q --no-install-recommends $packages
            in_root swiftc --version
            in_root apt-get clean
            rm -rf "$partial"/var/lib/apt/lists/*
        '
    ) >"$cache/swift-$suite.log" 2>&1 || {
        tail -n 20 -- "$cache/swift-$suite.log" >&2
        stop "the root could not be made; the whole log is $cache/swift-$suite.log. Running this again starts over."
    }
    printf '%s\n' "$recipe" >"$partial/.standsquare-complete"
    sync -f "$partial"
    mv -- "$partial" "$root"
    say "the root is ready: $(du -sh -- "$root" | cut -f1)"
}

if ! complete; then
    # One maker at a time; the second finds the root ready.
    exec 9>"$cache/swift-$suite.lock"
    flock 9
    complete || build
    exec 9>&-
fi

[ $# -gt 0 ] || exit 0

# 3. Run the command in it.

case $PWD/ in
"$checkout"/*) inside=/src${PWD#"$checkout"} ;;
*) inside=/src ;;
esac

# Only what is named goes in: what a command finds there should not hang on the caller's shell.
keep=(HOME=/root PATH=/usr/sbin:/usr/bin:/sbin:/bin LANG=C.UTF-8 "TERM=${TERM:-dumb}")
while IFS= read -r name; do
    keep+=("$name=${!name}")
done < <(compgen -e | grep -E '^(STANDSQUARE_|SWIFT_|LD_LIBRARY_PATH$|CI$)' | grep -v '^STANDSQUARE_CACHE$' || true)

# A process namespace, so that nothing the command left running outlives it; bash stays in it as
# its first process, to take in what is orphaned there.
export root checkout inside
# shellcheck disable=SC2016 # expanded by the inner shell
exec unshare --mount --propagation private --pid --fork --kill-child bash -euo pipefail -c '
    mount -t proc proc "$root/proc"
    mount --rbind /dev "$root/dev"
    # A /tmp of its own: SwiftPM keeps its lock there by the path of the build, which is the same
    # for every checkout, so that one would wait for the other.
    mount -t tmpfs tmpfs "$root/tmp"
    mkdir -p "$root/src"
    mount --bind "$checkout" "$root/src"
    kept=("${@:2:$1}")
    shift "$(($1 + 1))"
    status=0
    env -i "${kept[@]}" chroot "$root" /bin/sh -c '\''cd "$1" && shift && exec "$@"'\'' sh "$inside" "$@" || status=$?
    exit "$status"
' linux-swift "${#keep[@]}" "${keep[@]}" "$@"
