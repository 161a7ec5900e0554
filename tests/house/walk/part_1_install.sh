# shellcheck shell=bash
# From a clone to an installed release
make_origin
send_tree
on_host walker 60 git clone --quiet /srv/origin /home/walker/rootbound
with=net walk 2 1
see "a release that runs" on_host walker 30 /opt/rootbound/current/bin/rootbound --help
