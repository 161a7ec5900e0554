# shellcheck shell=bash
# Watching, backups and a drill
walk 7 1
walk 7 2
with=net walk 8 1
see "the scraper has our figures" until_true 120 as_root sh -c \
    'curl -s "http://127.0.0.1:9090/api/v1/query?query=rootbound_fields_computed" | grep -q "\"value\""'
see "alerts are known and quiet" as_root sh -c \
    'curl -s http://127.0.0.1:9090/api/v1/rules | grep -c RootboundNightLate'
