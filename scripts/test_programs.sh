#!/usr/bin/env bash
# Installs the programs that some tests drive, where they are missing: Chromium with a font, a PostgreSQL
# server, and what turns a PDF into pictures.
# Where they cannot be installed, their tests are left out and pytest says so; on CI that is a failure.
set -euo pipefail
cd "$(dirname "$0")"

is_there() {
    case $1 in
        postgresql) ls /usr/lib/postgresql/*/bin/initdb ;;
        chromium) command -v chromium ;;
        poppler-utils) command -v pdftoppm ;;
        fonts-dejavu-core) ls /usr/share/fonts/truetype/dejavu/DejaVuSans.ttf ;;
    esac > /dev/null 2>&1
}

missing=()
for package in postgresql chromium fonts-dejavu-core poppler-utils; do
    is_there "$package" || missing+=("$package")
done
if [ ${#missing[@]} -gt 0 ] && ! ./system_packages.sh "programs for the tests" "${missing[@]}"; then
    [ -z "${CI:-}" ] || exit 1
    echo "Going on without: ${missing[*]}."
fi
