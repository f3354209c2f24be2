#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# package.sh [ROOT]: build the Debian packages, install them in a bare Debian 12, and use them there as an ordinary user.
# As root, with debootstrap and dpkg-dev. The bare system is made in ROOT if there is none yet; the test works in a copy.
# shellcheck disable=SC2016 # what stands in quotes is for the shells in there
set -eu
root=$(cd "$(dirname "$0")/.." && pwd)
bare=${1:-/var/tmp/bare-bookworm}
[ "$(id -u)" = 0 ] || { echo "package.sh: only root can make a Debian root" >&2; exit 1; }
[ -d "$bare" ] || debootstrap --variant=minbase bookworm "$bare" >/dev/null
work=$(mktemp -d /var/tmp/package.XXXXXX)
system=$work/system
trap 'rm -rf "$work"' EXIT

cmake -S "$root" -B "$work/build" -DCMAKE_INSTALL_PREFIX=/usr -DBC_TESTS=OFF >/dev/null
cmake --build "$work/build" -j "$(nproc)" >/dev/null
(cd "$work/build" && cpack -G DEB >cpack.txt) || { cat "$work/build/cpack.txt" >&2; exit 1; }
cp -a "$bare" "$system"
cp "$work"/build/*.deb "$system/tmp"
cp /etc/resolv.conf "$system/etc/resolv.conf"

# in_bare COMMAND: a shell's line in the bare system, as root
in_bare() {
    chroot "$system" /usr/bin/env -i PATH=/usr/sbin:/usr/bin:/sbin:/bin DEBIAN_FRONTEND=noninteractive sh -euc "$1"
}
in_bare 'apt-get -qq update && cd /tmp && apt-get -qq install -y ./bloomcoat_*.deb >/dev/null'
for page in "$root"/src/man/*.[1-8]; do
    [ -e "$page" ] || continue
    gzip -dc "$system/usr/share/man/man${page##*.}/$(basename "$page").gz" | cmp - "$page"
done
in_bare 'useradd --create-home optician'
echo "== the program, as an ordinary user in an empty folder"
in_bare 'su - optician -c "
    set -eu
    bloomcoat --version
    demo=/usr/share/doc/bloomcoat/examples
    bloomcoat draft --callouts \$demo/objective-callouts.csv --substrate 620603 --materials MgF2,Al2O3,Ta2O5 --quiet \
        -o stack.csv --plot stack.png
    bloomcoat check stack.csv --callouts \$demo/objective-callouts.csv --quiet --plot check.svg --report check.pdf
    bloomcoat inspect \$demo/window-witness-8.txt --stack \$demo/window-stack.csv -o inspected.txt \
        --callouts \$demo/window-callouts.csv --column 2 --aoi 8 --uncertainty-percent 0.05 --from-fit --quiet
    grep ^Verdict inspected.txt
    ls -l"'
echo "== the library"
in_bare 'cd /tmp && apt-get -qq install -y --no-install-recommends ./libbloomcoat*.deb gcc libc6-dev pkg-config >/dev/null'
in_bare 'su - optician -c "
    set -eu
    demo=/usr/share/doc/bloomcoat/examples
    cc -std=c11 \$demo/reflectance.c -o reflectance \$(pkg-config --cflags --libs bloomcoat)
    ./reflectance \$demo/window-stack.csv \$(pkg-config --variable=materialsdir bloomcoat)"'
echo "== and away again"
in_bare 'apt-get -qq purge -y bloomcoat libbloomcoat0 libbloomcoat-dev >/dev/null
    ! find / -xdev -name "*bloomcoat*" -not -path "/tmp/*" -not -path "/proc/*" | grep . >&2'
echo "installed, used and removed: $(cd "$work/build" && echo *.deb)"
