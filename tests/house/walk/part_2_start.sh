# shellcheck shell=bash
# Database, secrets, units, proxy
walk 3 1
as_root stat -c '%U:%G %a %n' /etc/rootbound/secret /etc/rootbound/database-url
start_world
write_settings
walk 4 1
walk 4 2
see "worker, pages and two senders' timers run" as_root systemctl is-active rootbound-worker rootbound-web \
    rootbound-send@1.timer rootbound-send@2.timer rootbound-backup.timer
walk 4 3
walk 4 4
see "a page over https" until_true 120 over_https / --fail
see "plain http leads to https" as_root sh -c \
    'curl -sI http://rootbound.example/ | grep -i "^location: https://rootbound.example/"'
see "browsers are told to stay with https" stays_with_https
see "figures are for this host alone" test "$(over_https /metrics -o /dev/null -w '%{http_code}')" = 404
