# shellcheck shell=bash
# Sourced by walk.sh: how to start the host, run blocks of the guide on it, and look at what came.
# Reads: here, root, logs.

guide=$root/deploy/guide.md
base=$logs/host
first= # process 1 of the host, as this machine numbers it
step=0

say() { printf '%s\n' "$*" >&2; }

start_host() {
    if [ "$(id -u)" -ne 0 ] || ! grep -q overlay /proc/filesystems; then
        say "A walk needs root and overlayfs."
        exit 77
    fi
    trap stop_host EXIT
    trap 'exit 143' TERM INT HUP
    mkdir "$base" "$logs/disk"
    mkfifo "$logs/ready"
    in_group join unshare --cgroup --mount --pid --fork --uts --ipc --net --kill-child \
        "$here/host.sh" "$base" "$logs/disk" 9 9<>"$logs/ready" >"$logs/host.log" 2>&1 &
    local outer=$!
    read -r -t 60 _ <>"$logs/ready"
    first=$(pgrep -P "$(pgrep -P "$outer")")
    prepare_host
}

# in_group WHAT [COMMAND...]: join a control group of the walk's own and run a command in it, or leave
# none behind. Its tree is mounted for this one process alone: nothing here can walk into it.
in_group() {
    # shellcheck disable=SC2016  # for the inner shell
    unshare --mount bash -euc 'what=$1; shift
        mount -t cgroup2 cgroup2 /mnt
        own=/mnt/rootbound-walk-$1; shift
        if [ "$what" = join ]; then
            mkdir "$own"; echo $$ >"$own/cgroup.procs"; umount /mnt; exec "$@"
        fi
        [ ! -d "$own" ] || { echo 1 >"$own/cgroup.kill"; sleep 0.5; find "$own" -depth -type d -exec rmdir {} +; }
    ' in_group "$1" "$$" "${@:2}"
}

stop_host() {
    local code=$?
    trap - EXIT
    trap '' TERM INT HUP
    [ -z "$first" ] || kill -KILL "$first" 2>/dev/null || true
    wait || true
    in_group leave || say "A control group of the walk was left."
    rmdir "$base" && rm -rf --one-file-system "$logs/disk"
    rm -f "$logs/ready"
    [ "$code" -eq 0 ] || say "The walk ended at step $step; $logs/$step.log has its words."
    exit "$code"
}

# on_host USER SECONDS COMMAND...: on the host, without network; with=net: with this machine's.
on_host() {
    local user=$1 seconds=$2
    shift 2
    local spaces=(-m -p -u -i -C) kept=()
    if [ "${with:-}" = net ]; then
        mapfile -t kept < <(env | grep -E '^(PIP_|SSL_|[a-zA-Z]*_proxy=|REQUESTS_CA)' || true)
    else
        spaces+=(-n)
    fi
    timeout "$seconds" nsenter -t "$first" "${spaces[@]}" --root \
        env -C / -i TERM=dumb LANG=C.UTF-8 "${kept[@]}" PATH=/usr/local/sbin:/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin \
        runuser -u "$user" -- "$@"
}

# as_root COMMAND...: what a walk does beside the guide.
as_root() { on_host root 300 "$@"; }

# walk SECTION BLOCK [FOLDER]: run a block of the guide as it is written; output goes to a log.
walk() {
    step=$((step + 1))
    local commands
    commands=$(python3 "$here/blocks.py" "$guide" "$1" "$2")
    say "-- $step: section $1, block $2"
    {
        printf '%s\n' "$commands" "-- came to:"
        on_host walker 900 bash -euo pipefail -c "cd ${3:-/home/walker/rootbound}
export HOME=/home/walker
$commands"
    } >"$logs/$step.log" 2>&1 || { tail -n 25 "$logs/$step.log" >&2; exit 1; }
}

# see WHAT COMMAND...: a check of what came; its words are kept, its failure ends the walk.
see() {
    step=$((step + 1))
    local what=$1
    shift
    "$@" >"$logs/$step.log" 2>&1 || { say "-- $step: NOT $what"; tail -n 25 "$logs/$step.log" >&2; exit 1; }
    say "   $step: $what"
}

# until_true SECONDS COMMAND...: wait for what a service does in its own time.
until_true() {
    local left=$1
    shift
    until "$@"; do
        left=$((left - 1))
        [ "$left" -gt 0 ] || return 1
        sleep 1
    done
}

prepare_host() {
    until_true 60 as_root systemctl is-active --quiet multi-user.target 2>/dev/null
    as_root useradd --create-home --shell /bin/bash walker
    # What an operator at a keyboard would answer, and what this machine needs to reach its registries.
    as_root tee /etc/apt/apt.conf.d/90walk <<<'APT::Get::Assume-Yes "true"; APT::Sandbox::User "root";' >/dev/null
    with=net on_host root 300 apt-get update -qq
    with=net on_host root 300 env DEBIAN_FRONTEND=noninteractive apt-get install -qq sudo git curl >/dev/null
    as_root install -m 0440 /dev/stdin /etc/sudoers.d/walker <<<'walker ALL=(ALL) NOPASSWD: ALL
Defaults env_keep += "PIP_CERT PIP_FIND_LINKS PIP_INDEX_URL SSL_CERT_FILE DEBIAN_FRONTEND"'
}

# What is committed as a repository to clone from, with deploy/ as it lies: others may be in the middle
# of their rooms.
make_origin() {
    git clone --quiet "$root" "$logs/origin"
    rm -rf "$logs/origin/deploy"
    cp -a "$root/deploy" "$logs/origin/deploy"
    commit_origin "As it lies"
}

commit_origin() {
    git -C "$logs/origin" add --all
    git -C "$logs/origin" -c user.name=walk -c user.email=walk@example.org commit --quiet --allow-empty -m "$1"
}

# newer_release: commit one that has a further migration, as the next one may.
newer_release() {
    local folder=$logs/origin/service/rootbound_service/store/migrations head
    head=$(sed -n 's/^HEAD = "\(.*\)"/\1/p' "$folder/__init__.py")
    sed -i 's/^HEAD = .*/HEAD = "0999_walk"/' "$folder/__init__.py"
    printf '%s\n' '"""A step of a walk."""' '' 'import sqlalchemy as sa' 'from alembic import op' '' \
        'revision = "0999_walk"' "down_revision = \"$head\"" '' '' 'def upgrade() -> None:' \
        '    """Make a table."""' '    op.create_table("walked", sa.Column("id", sa.Integer, primary_key=True))' \
        >"$folder/versions/0999_walk.py"
    commit_origin "A newer release"
    send_tree
}

# send_tree: hand the repository to the host, whose folders for passing files are its own.
send_tree() {
    as_root rm -rf /srv/origin
    tar -c -C "$logs" origin | on_host_in root tar -x -C /srv --no-same-owner
    as_root chown -R walker: /srv/origin
}

# on_host_in USER COMMAND...: the same with our standard input.
on_host_in() {
    local user=$1
    shift
    nsenter -t "$first" -m -p -u -i -n -C --root env -C / runuser -u "$user" -- "$@"
}
