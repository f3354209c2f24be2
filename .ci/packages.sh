# SPDX-License-Identifier: GPL-3.0-or-later
# Sourced by examples/start.sh and tests/run.sh: install the Debian packages named as arguments that are missing.
need_packages() {
    missing=""
    for package in "$@"; do
        dpkg-query -W -f '${Status}' "$package" 2>/dev/null | grep -q "ok installed" || missing="$missing $package"
    done
    [ -z "$missing" ] && return 0
    echo "installing:$missing" >&2
    as_root=""
    if [ "$(id -u)" != 0 ]; then
        command -v sudo >/dev/null 2>&1 || {
            echo "please install these packages first (no sudo here):$missing" >&2
            return 1
        }
        as_root=sudo
    fi
    # A bare system has no package lists yet.
    $as_root env DEBIAN_FRONTEND=noninteractive sh -c "
        apt-get -qq update && apt-get -qq install -y --no-install-recommends $missing" >/dev/null
}

BUILD_PACKAGES="gcc libc6-dev make cmake pkg-config libgsl-dev libcsv-dev libcjson-dev libsleef-dev libcairo2-dev libpango1.0-dev libmd-dev libsqlite3-dev libmicrohttpd-dev libseccomp-dev fonts-dejavu-core"
TEST_PACKAGES="check g++ libmpc-dev libmpfr-dev libgmp-dev libexpat1-dev python3 python3-numpy poppler-utils chromium chromium-driver"
