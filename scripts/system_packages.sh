#!/usr/bin/env bash
# Installs Debian packages: system_packages.sh WHAT-FOR PACKAGE...
# Needs root or sudo; without them it says what is missing and ends with status 1.
set -euo pipefail

what=$1
shift
if [ "$(id -u)" = 0 ]; then
    as_root=()
elif command -v sudo > /dev/null && { sudo -n true 2>/dev/null || [ -t 0 ]; }; then
    as_root=(sudo)
else
    echo "Missing: $what. Neither root nor sudo here to install it; ask for: apt-get install $*" >&2
    exit 1
fi
if ! command -v apt-get > /dev/null; then
    echo "Missing: $what. There is no apt here; install what your system calls: $*" >&2
    exit 1
fi

echo "Installing $what with apt: $*"
"${as_root[@]}" apt-get update -qq
"${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "$@" > /dev/null
