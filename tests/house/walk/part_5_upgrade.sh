# shellcheck shell=bash
# A newer release that migrates, and back
people_before=$(here_says people list)
walk 6 1
newer_release
with=net walk 6 2
walk 6 3
see "the database was migrated" as_root sh -c 'sudo -u postgres psql -Atc "SELECT version_num FROM alembic_version" rootbound | grep -x 0999_walk'
see "a page of the newer release" until_true 120 over_https / --fail
walk 6 4
as_root systemctl start rootbound.target || true
see "the older release says why it does not start" until_true 120 as_root sh -c \
    'journalctl -q -u rootbound-worker -o cat -n 20 | grep "cannot migrate the database"'
as_root systemctl stop rootbound.target
walk 6 5
see "the older release runs again" until_true 120 over_https / --fail
see "everybody is there" test "$people_before" = "$(here_says people list)"
