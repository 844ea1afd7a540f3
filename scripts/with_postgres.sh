#!/usr/bin/env bash
# Runs a command beside a new, empty PostgreSQL server that ends with it: with_postgres.sh COMMAND...
# The server listens on this machine only. A database named in ONTHREE_TEST_DATABASE_URL is used instead.
set -euo pipefail

if [ -n "${ONTHREE_TEST_DATABASE_URL:-}" ]; then exec "$@"; fi

bin=$(ls -d /usr/lib/postgresql/*/bin 2>/dev/null | sort -V | tail -n 1)
if [ -z "$bin" ] || [ ! -x "$bin/initdb" ]; then
    echo "No PostgreSQL server here: the tests on PostgreSQL cannot run." >&2
    [ -z "${CI:-}" ] || exit 1
    exec "$@"
fi

as_owner=()
folder=$(mktemp -d)
if [ "$(id -u)" = 0 ]; then                         # the server refuses to run as root
    as_owner=(runuser -u postgres --)
    chown postgres: "$folder"
fi
stop() {
    "${as_owner[@]}" "$bin/pg_ctl" -D "$folder/data" -m immediate stop > /dev/null 2>&1 || true
    rm -rf "$folder"
}
trap stop EXIT

port=$(python3 -c 'import socket; s = socket.socket(); s.bind(("127.0.0.1", 0)); print(s.getsockname()[1])')
cd_free=(env -C "$folder")                          # the server's user may not enter the present folder
"${cd_free[@]}" "${as_owner[@]}" "$bin/initdb" -D "$folder/data" -U postgres -A trust -N > /dev/null
"${cd_free[@]}" "${as_owner[@]}" "$bin/pg_ctl" -D "$folder/data" -l "$folder/log" -w -o \
    "-p $port -c listen_addresses=127.0.0.1 -c unix_socket_directories=$folder -c fsync=off" start > /dev/null ||
    { cat "$folder/log" >&2; exit 1; }

export ONTHREE_TEST_DATABASE_URL="postgres://postgres@127.0.0.1:$port/postgres"
"$@"
