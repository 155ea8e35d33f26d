#!/usr/bin/env bash
# Puts on a Debian machine what `make test` needs: a PostgreSQL server, Chromium, a library of the browser's
# driver, and Python's venv.
# What is there already is left alone, so a second run takes no time. The tests start their own
# throwaway server; nothing of the machine's databases is touched.
set -euo pipefail

missing=()
command -v initdb >/dev/null || compgen -G '/usr/lib/postgresql/*/bin/initdb' >/dev/null || missing+=(postgresql)
command -v chromium >/dev/null || command -v chromium-browser >/dev/null || missing+=(chromium)
compgen -G '/usr/lib*/*/libatomic.so.1' >/dev/null || compgen -G '/usr/lib*/libatomic.so.1' >/dev/null || missing+=(libatomic1)
"${PY:-python3}" -c 'import ensurepip' 2>/dev/null || missing+=(python3-venv)
[ ${#missing[@]} -gt 0 ] || exit 0

if ! command -v apt-get >/dev/null; then
    echo "The tests need ${missing[*]}, and this machine has no apt-get." \
        "Install them with the machine's own package manager, so that initdb and chromium are on the PATH," \
        "then type: make test" >&2
    exit 1
fi
if [ "$(id -u)" -ne 0 ]; then
    echo "The tests need ${missing[*]}, and only the administrator can install them." \
        "Type: sudo $0 && make test" >&2
    exit 1
fi

# Lists may be absent or too old to fetch from; they are read anew only when the first try fails.
install() {
    DEBIAN_FRONTEND=noninteractive apt-get install -qq -y --no-install-recommends \
        -o DPkg::Lock::Timeout=120 -o Acquire::Retries=3 "${missing[@]}" </dev/null
}
echo "Installing ${missing[*]} for the tests."
if ! install >/dev/null 2>&1; then
    apt-get update -qq -o DPkg::Lock::Timeout=120
    install >/dev/null
fi
