# shellcheck shell=bash
# Watching, backups and a drill
walk 7 1
walk 7 2
with=net walk 8 1
see "the scraper has our figures" until_true 120 as_root sh -c \
    'curl -s "http://127.0.0.1:9090/api/v1/query?query=rootbound_fields_computed" | grep -q "\"value\""'
see "alerts are known and quiet" as_root sh -c \
    'curl -s http://127.0.0.1:9090/api/v1/rules | grep -c RootboundNightLate'
with=net walk 8 2
as_root sh -c 'date +%s >/root/objects-since; systemctl restart rootbound.target' # what ended was still plain
see "the worker is there again" until_true 120 as_root sh -c 'systemctl is-active --quiet rootbound-worker &&
    journalctl -q -u rootbound-worker -o cat --since "@$(cat /root/objects-since)" | grep -q worker_started'
as_root systemctl start rootbound-backup.service
as_root systemctl start rootbound-send@1.service
see "every line of every process is an object" as_root sh -c 'journalctl --sync
    for unit in worker web send@1 backup; do
        journalctl -q -o cat "_SYSTEMD_UNIT=rootbound-$unit.service" --since "@$(cat /root/objects-since)" >"/root/$unit.log"
        jq -e -s "length > 0 and all(.[]; has(\"time\") and has(\"level\") and has(\"event\"))" "/root/$unit.log" || exit 1
    done'
