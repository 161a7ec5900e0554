# shellcheck shell=bash
# Sourced by walk.sh: what stands for the outside world on the host: weather, soil and a mail relay.

# Ports of the host's own loopback; nobody else is there.
start_world() {
    local relay # no part of a release
    relay=$(grep -o '^aiosmtpd==[^ ]*' "$root/deploy/lock-demo.txt")
    with=net on_host root 300 sh -ec "python3 -m venv /opt/walk
        /opt/walk/bin/pip install --quiet --disable-pip-version-check $relay"
    as_root install -d -o walker /var/tmp/mail
    as_root systemd-run --quiet --unit=walk-weather --working-directory=/home/walker/rootbound \
        /opt/rootbound/current/bin/python fixtures/loopback/serve.py --port 8321
    as_root systemd-run --quiet --unit=walk-relay --working-directory=/var/tmp \
        /opt/walk/bin/python -m aiosmtpd -n -l 127.0.0.1:25 -c aiosmtpd.handlers.Mailbox /var/tmp/mail/box
}

# The settings that an operator writes: here those that lead to the stand-ins.
write_settings() {
    for pair in NASA_POWER:power GRIDMET:gridmet NCLIMGRID:nclimgrid NWS:nws OPEN_METEO:openmeteo \
        OPEN_METEO_ENSEMBLE:openmeteo SURVEY:sda SOILGRIDS:soilgrids; do
        echo "ROOTBOUND_${pair%:*}_URL=http://127.0.0.1:8321/${pair#*:}"
    done | as_root tee -a /etc/rootbound/rootbound.env >/dev/null
    as_root tee -a /etc/hosts <<<'127.0.0.1 rootbound.example' >/dev/null
}

# mails: how many letters the relay has taken.
mails() { as_root sh -c 'find /var/tmp/mail/box -type f 2>/dev/null | wc -l'; }

# some_mail WORDS: whether one holds them.
some_mail() { as_root grep -rqF "$1" /var/tmp/mail/box; }

# over_https PATH [CURL-OPTION...]: what the proxy answers to a browser that trusts its certificate.
over_https() {
    local path=$1
    shift
    as_root curl --silent --show-error --max-time 60 --cacert /etc/rootbound/tls/fullchain.pem "$@" \
        "https://rootbound.example$path"
}

# posts_to PATH STATUS [CURL-OPTION...]: send a form as our own page would; the answer has this status.
posts_to() {
    local path=$1 status=$2
    shift 2
    over_https "$path" --request POST --header 'Origin: https://rootbound.example' --cookie-jar /root/jar \
        --output /dev/null --write-out '%{http_code}' "$@" | grep -x "$status"
}

both_senders() {
    local one
    for one in 1 2; do
        as_root journalctl --quiet --unit "rootbound-send@$one" --output cat | grep -q 'messages sent' || return 1
    done
}

stays_with_https() { over_https / -D - -o /dev/null | grep -i '^strict-transport-security'; }

here_says() { as_root rootbound-here "$@"; }
