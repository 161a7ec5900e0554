# shellcheck shell=bash
# From SQLite to PostgreSQL
as_root systemctl stop rootbound.target
# A service that began with SQLite: the same data, restored into it.
as_root sh -c 'mv /var/lib/rootbound/forecasts /var/lib/rootbound/forecasts.pg
    echo sqlite:////var/lib/rootbound/rootbound.db >/etc/rootbound/database-url
    rootbound-here restore "$(ls -t /var/backups/rootbound/before-*.tar | head -n 1)"
    sudo -u postgres dropdb rootbound && sudo -u postgres dropdb rootbound_newer && sudo -u postgres dropuser rootbound
    systemctl start rootbound.target'
see "the service runs on SQLite" until_true 120 over_https / --fail
walk 9 1
walk 9 2
see "the service runs on PostgreSQL" until_true 120 over_https / --fail
see "everybody is there" test "$people_before" = "$(here_says people list)"
here_says doctor --here
