#!/usr/bin/env bash
# Walks deploy/guide.md as an operator on a fresh host: tests/house/walk/walk.sh [FOLDER-FOR-LOGS]
# The commands run are those written in the guide; a throw-away host of namespaces has systemd,
# PostgreSQL and nginx of Debian. Needs root, about 4 GB of memory for its files, and the package registries; 10 minutes on a quiet
# machine. PostgreSQL is the host's own, so that deploy/with-postgres before it changes nothing.
set -euo pipefail

here=$(cd -- "$(dirname -- "${BASH_SOURCE[0]}")" && pwd)
root=$(cd -- "$here/../../.." && pwd)
logs=${1:-$(mktemp -d "${TMPDIR:-/tmp}/rootbound-walk.XXXXXX")}
mkdir -p "$logs"
logs=$(cd -- "$logs" && pwd)
if [ -n "$(ls -A "$logs")" ]; then
    printf '%s holds something already; name an empty folder.\n' "$logs" >&2
    exit 2
fi

# shellcheck source=tests/house/walk/steps.sh
source "$here/steps.sh"

# shellcheck source=tests/house/walk/world.sh
source "$here/world.sh"

start_host
for part in "$here"/part_*.sh; do
    say "== $(sed -n '2s/^# //p' "$part")"
    # shellcheck source=/dev/null
    source "$part"
done
say "Walked from the clone to the end; logs in $logs"
