#!/usr/bin/env bash
# Stop the server that pg_up.sh started and remove its files.
set -euo pipefail

stop=("$PGBIN/pg_ctl" -D "$PGROOT/data" -m fast -w stop)
cd /
if [ "$(id -u)" = 0 ]; then
  runuser -u postgres -- "${stop[@]}" >/dev/null
else
  "${stop[@]}" >/dev/null
fi
rm -rf -- "$PGROOT"
