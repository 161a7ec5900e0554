#!/usr/bin/env bash
# Becomes a throw-away host: this machine's own files under a layer in memory, systemd as process 1,
# no network but loopback. Started by walk.sh with unshare; nothing it changes outlasts it.
set -euo pipefail

base=$1
disk=$2
ready=$3
mount -t tmpfs -o size=10G walk "$base"
mkdir "$base/up" "$base/work" "$base/root"
mount -t overlay overlay -o "lowerdir=/,upperdir=$base/up,workdir=$base/work" "$base/root"
cd "$base/root"

mount -t proc proc proc
mount -o bind,ro proc/sys proc/sys # the kernel's settings are the real machine's
mount -t sysfs -o ro sysfs sys
mount -t cgroup2 cgroup2 sys/fs/cgroup
for folder in run tmp dev var/tmp; do
    mount -t tmpfs tmpfs "$folder"
done
chmod 1777 tmp var/tmp
chmod 0755 run dev
for device in null zero full random urandom tty; do
    touch "dev/$device"
    mount --bind "/dev/$device" "dev/$device"
done
mkdir dev/pts dev/shm
mount -t devpts -o newinstance,ptmxmode=0666 devpts dev/pts
mount -t tmpfs -o mode=1777 tmpfs dev/shm
ln -s pts/ptmx dev/ptmx
ln -s /proc/self/fd dev/fd
for end in in:0 out:1 err:2; do
    ln -s "fd/${end#*:}" "dev/std${end%:*}"
done
touch dev/console

# Memory is no place for what must outlast a start: the data folder lies on the real disk.
mkdir -p var/lib/rootbound
mount --bind "$disk" var/lib/rootbound

# What a fresh host has not: another's identity, and what keeps packages from starting their services.
: >etc/machine-id
rm -f usr/sbin/policy-rc.d
for unit in systemd-udevd.service systemd-udevd-control.socket systemd-udevd-kernel.socket \
    console-getty.service avahi-daemon.service avahi-daemon.socket apt-daily.timer apt-daily-upgrade.timer; do
    ln -sf /dev/null "etc/systemd/system/$unit"
done
ip link set lo up
ip address add 192.0.2.1/32 dev lo # so that network-online.target has an address to speak of
mkdir before
pivot_root . before
umount -l /before
rmdir /before
mount --make-rshared / # as systemd itself does where it is not in a container: credentials need it
echo ready >"/proc/self/fd/$ready"
exec env -i container=lxc PATH=/usr/local/sbin:/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin \
    /lib/systemd/systemd --system --unit=multi-user.target --log-level=warning </dev/null
