#!/usr/bin/env bash
# Runs the office's tests on a real PostgreSQL of their own: makes a cluster in a
# temporary folder, starts it on a socket there, and takes it away again. Needs
# Debian's `postgresql` (any version from 14 on). Arguments go to cargo; after `--run` they
# are another command to run instead of the tests.
set -euo pipefail
cd -- "$(dirname -- "${BASH_SOURCE[0]}")/../../.."

bin=$(ls -d /usr/lib/postgresql/*/bin 2>/dev/null | sort -V | tail -n 1)
if [ -z "$bin" ]; then
    echo "PostgreSQL is not here: apt-get install postgresql" >&2
    exit 1
fi

dir=$(mktemp -d)
as=()
if [ "$(id -u)" = 0 ]; then
    # PostgreSQL does not run as root.
    chown postgres "$dir"
    as=(runuser -u postgres --)
fi
stop() {
    "${as[@]}" "$bin/pg_ctl" -D "$dir/data" -m immediate -w stop >/dev/null 2>&1 || true
    rm -rf -- "$dir"
}
trap stop EXIT

"${as[@]}" "$bin/initdb" -D "$dir/data" -U office -A trust --locale=C --encoding=UTF8 \
    >"$dir/initdb.log" 2>&1 || { cat "$dir/initdb.log" >&2; exit 1; }
"${as[@]}" "$bin/pg_ctl" -D "$dir/data" -l "$dir/log" -w \
    -o "-c listen_addresses='' -c unix_socket_directories='$dir' -c max_connections=200 -c recovery_init_sync_method=syncfs" \
    start >/dev/null || { cat "$dir/log" >&2; exit 1; }

# A restart in the middle of the tests takes its time on a busy disk.
export PGCTLTIMEOUT=300
export STANDSQUARE_TEST_POSTGRES="host=$dir user=office dbname=postgres"
export STANDSQUARE_TEST_POSTGRES_DATA="$dir/data"
export STANDSQUARE_TEST_POSTGRES_CTL="${as[*]} $bin/pg_ctl"
if [ "${1:-}" = --run ]; then
    shift
    "$@"
else
    cargo test -p standsquare-office "$@"
fi
