#!/usr/bin/env bash
# Start a throw-away PostgreSQL on loopback, as root or any user, and print one
# line to eval. No fsync and no passwords: for tests only. pg_down.sh ends it.
set -euo pipefail

find_bin() {
  { ls /usr/lib/postgresql/*/bin/initdb 2>/dev/null || command -v initdb || true; } |
    sort -V | tail -1 | xargs -r readlink -f | xargs -r dirname
}
free_port() {
  python3 -c 'import socket; s = socket.socket(); s.bind(("127.0.0.1", 0)); print(s.getsockname()[1])'
}
as_postgres() {
  if [ "$(id -u)" = 0 ]; then runuser -u postgres -- "$@"; else "$@"; fi
}

PGBIN=$(find_bin)
if [ -z "$PGBIN" ]; then
  echo "No initdb found: install the PostgreSQL server." >&2
  exit 1
fi
PGROOT=$(mktemp -d)
PGPORT=${PGPORT:-$(free_port)}
if [ "$(id -u)" = 0 ]; then chown postgres "$PGROOT"; fi
cd "$PGROOT"
as_postgres "$PGBIN/initdb" -D "$PGROOT/data" -U postgres -A trust -E UTF8 \
  --locale=C.UTF-8 --no-sync >/dev/null
if ! as_postgres "$PGBIN/pg_ctl" -D "$PGROOT/data" -l "$PGROOT/log" -w -t 60 -o "\
-c listen_addresses=127.0.0.1 -c port=$PGPORT -c unix_socket_directories=$PGROOT \
-c fsync=off -c synchronous_commit=off -c full_page_writes=off" start >/dev/null; then
  cat "$PGROOT/log" >&2
  exit 1
fi
as_postgres "$PGBIN/createdb" -h 127.0.0.1 -p "$PGPORT" -U postgres trochlea
echo "export DATABASE_URL=postgres://postgres@127.0.0.1:$PGPORT/trochlea PGROOT=$PGROOT PGBIN=$PGBIN"
