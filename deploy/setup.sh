# Sourced by deploy/demo and deploy/test: makes .venv beside the project and fills it from a lock.
# Sets: root, python. Installs only when the lock has changed since the last time.

root=$(cd -- "$(dirname -- "${BASH_SOURCE[0]}")/.." && pwd)
venv=$root/.venv
python=$venv/bin/python
stamp=$venv/.rootbound-lock

say() { printf '%s\n' "$*" >&2; }

# The name of a Python that is new enough and can make environments, or nothing.
find_python() {
    local name
    for name in python3.13 python3.12 python3.11 python3; do
        if "$name" -c 'import sys, venv, ensurepip; sys.exit(sys.version_info < (3, 11))' \
            >/dev/null 2>&1; then
            printf '%s\n' "$name"
            return
        fi
    done
}

make_venv() {
    if [ -x "$python" ] && "$python" -m pip --version >/dev/null 2>&1; then
        return
    fi
    local base
    base=$(find_python)
    if [ -z "$base" ]; then
        say "Rootbound needs Python 3.11 or newer with its venv module, and found none."
        say "On Debian and Ubuntu: apt-get install python3 python3-venv"
        exit 69
    fi
    say "Making .venv with $("$base" --version)"
    "$base" -m venv --clear "$venv"
}

digest_of() {
    "$python" -c 'import hashlib, pathlib, sys
print(hashlib.sha256(pathlib.Path(sys.argv[1]).read_bytes()).hexdigest())' "$1"
}

# set_up NAME...: fill .venv from deploy/lock-NAME.txt of the first NAME,
# unless it holds that lock, or that of a further NAME, already.
set_up() {
    make_venv
    local name held=
    [ -f "$stamp" ] && held=$(cat "$stamp")
    for name in "$@"; do
        if [ "$held" = "$(digest_of "$root/deploy/lock-$name.txt")" ]; then
            return
        fi
    done
    local lock=$root/deploy/lock-$1.txt
    say "Installing $(grep -c '==' "$lock") packages, each checked by its hash (about a minute)"
    rm -f "$stamp"
    # the lock is whole: left to itself pip looks for the newest of what a package names with an extra
    install_quietly --no-deps --require-hashes -r "$lock"
    (cd "$root" && install_quietly --no-deps --no-build-isolation -e .)
    digest_of "$lock" >"$stamp"
}

# pip prints several lines for each package: say where it is, and on failure show its own words.
install_quietly() {
    local log=$venv/install.log
    if "$python" -m pip install --disable-pip-version-check --no-input "$@" 2>&1 |
        tee "$log" | show_progress; then
        return
    fi
    say "The installation failed:"
    tail -n 40 "$log" >&2
    exit 69
}

show_progress() {
    local line count=0
    while IFS= read -r line; do
        case $line in
            Collecting*) count=$((count + 1)) ;;
            Installing*) [ "$count" = 0 ] || say "  $count packages at hand, unpacking" ;;
        esac
    done
}
