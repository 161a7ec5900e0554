# shellcheck shell=bash
# First people, fields, night, mail
walk 5 1
link=$(grep -o 'https://rootbound.example/[^ ]*' "$logs/$step.log" | tail -n 1)
see "the link's page comes through the proxy" over_https "${link#https://rootbound.example}" --fail
see "its button signs in" posts_to "${link#https://rootbound.example}" 303
see "the signed-in page" over_https /today --fail --cookie /root/jar
see "a cookie for https alone" as_root grep -q '__Host-' /root/jar
see "a letter with a link is asked for" posts_to /sign-in 200 --data-urlencode email=ann@rootbound.example
see "it is in the mailbox" until_true 150 some_mail 'To: Ann Miller'

# Fields that grow on whatever day this is: the demo's, planted fifty days ago.
planted=$(date -u -d '-50 days' +%F)
sed -E "s/,[0-9]{4}-[0-9]{2}-[0-9]{2},/,$planted,/" "$root/fixtures/demo/fields.csv" |
    as_root tee /home/walker/rootbound/fields.csv >/dev/null
walk 5 2
walk 5 3
see "fields were computed" as_root sh -c 'rootbound-here fields | grep -cE "(VE|V[0-9]+) .*no dig"'
see "both senders ran" until_true 150 both_senders
see "healthz is 200 after a night" over_https /healthz --fail
see "figures" as_root sh -c \
    'curl -s http://127.0.0.1:8040/metrics | grep -E "^rootbound_(night_seconds_ago|fields_computed)"'
see "no path in the proxy's log" as_root sh -c \
    'test -s /var/log/nginx/rootbound.log && ! grep -F / /var/log/nginx/rootbound.log'
see "no address in the journal" as_root sh -c \
    'test "$(journalctl -q -u "rootbound*" -o cat | grep -c started)" -ge 1 &&
     ! journalctl -q -u "rootbound*" -o cat | grep -F @'
