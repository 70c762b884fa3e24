#!/bin/sh
# Everything scripts/demo and scripts/test need before they can start; they call it, nobody else has to.
#
#   sh scripts/set-up.sh runtime    .venv/ with the locked packages, benchseal itself, the PDF libraries
#   sh scripts/set-up.sh test       the same, and what the tests add
#
# Quick when nothing has changed. It writes in .venv/ only and removes nothing. System packages are installed
# with apt-get where that needs no password (as root, or by sudo); elsewhere one line says what is missing.
#   BENCHSEAL_PYTHON=PATH   use this Python for a new .venv/
#   BENCHSEAL_NO_APT=1      never use apt-get
set -eu
unset CDPATH
cd "$(dirname -- "$0")/.."

say() { printf 'set-up: %s\n' "$*" >&2; }
stop() {
    say "$*"
    exit 1
}

may_use_apt() {
    [ -z "${BENCHSEAL_NO_APT:-}" ] && command -v apt-get >/dev/null || return 1
    [ "$(id -u)" -eq 0 ] || { command -v sudo >/dev/null && sudo -n true 2>/dev/null; }
}

apt_get() {
    if [ "$(id -u)" -eq 0 ]; then as_root=; else as_root='sudo -n'; fi
    # shellcheck disable=SC2086  # as_root is meant to be split
    $as_root env DEBIAN_FRONTEND=noninteractive apt-get -qq -o DPkg::Lock::Timeout=300 "$@" </dev/null 2>&1
}

# system_packages PURPOSE PACKAGE...: installs them, or stops with the line that says what to do.
system_packages() {
    purpose=$1
    shift
    may_use_apt || stop "$purpose: missing here. On Debian or Ubuntu: apt-get install $*   Then run this again."
    say "$purpose: installing with apt-get: $*"
    # Package lists may be absent or old; only then is the update needed.
    apt_get install -y --no-install-recommends "$@" >/dev/null && return
    log=$(apt_get update && apt_get install -y --no-install-recommends "$@") && return
    printf '%s\n' "$log" >&2
    stop "$purpose: apt-get could not install $*"
}

serves() { "$1" -c 'import sys; sys.exit(not (3, 11) <= sys.version_info < (3, 15))' >/dev/null 2>&1; }

find_python() {
    if [ -n "${BENCHSEAL_PYTHON:-}" ]; then
        serves "$BENCHSEAL_PYTHON" || stop "BENCHSEAL_PYTHON=$BENCHSEAL_PYTHON is no Python 3.11 to 3.14"
        python=$BENCHSEAL_PYTHON
        return
    fi
    for python in python3 python3.13 python3.12 python3.11 python3.14; do
        serves "$python" && return
    done
    stop "no Python 3.11 to 3.14 found. On Debian 12 or later, Ubuntu 24.04 or later: apt-get install python3 python3-venv"
}

make_environment() {
    find_python
    version=$("$python" -c 'import sys; print("%d.%d" % sys.version_info[:2])')
    "$python" -c 'import ensurepip, venv' 2>/dev/null || system_packages "virtual environments" "python$version-venv"
    say "making .venv/ with Python $version"
    "$python" -m venv .venv
}

in_environment() { .venv/bin/python "$@"; }

usable_environment() {
    if [ ! -e .venv ]; then
        make_environment
    elif ! serves .venv/bin/python; then
        stop ".venv/ has no working Python 3.11 to 3.14. Remove it (rm -r .venv) and run this again."
    elif ! in_environment -m pip --version >/dev/null 2>&1; then
        make_environment # an earlier attempt was interrupted
    fi
}

pip_install() { in_environment -m pip install -qq --no-input --disable-pip-version-check "$@"; }

install_packages() {
    usable_environment
    say "installing the locked packages into .venv/ (a minute or two the first time)"
    # shellcheck disable=SC2086  # locks is a list
    pip_install --no-compile --require-hashes --only-binary :all: $locks
    pip_install --no-deps --no-index --no-build-isolation --editable .
    # Byte code once, on every core: a start is twice as quick, and some machines forbid writing it later. Packages may
    # ship files for other Pythons, so complaints about those count for nothing.
    in_environment -m compileall -q -j 0 .venv/lib pipeline >/dev/null 2>&1 || true
}

pdf_libraries_load() {
    in_environment - <<'EOF'
import ctypes
import sys

if sys.platform == "linux":
    for library in (
        "libgobject-2.0.so.0",
        "libpango-1.0.so.0",
        "libpangoft2-1.0.so.0",
        "libharfbuzz.so.0",
        "libharfbuzz-subset.so.0",
        "libfontconfig.so.1",
    ):
        try:
            ctypes.CDLL(library)
        except OSError:
            sys.exit(1)
EOF
}

case ${1:-} in
    runtime) locks='-r requirements/runtime.lock' ;;
    test) locks='-r requirements/runtime.lock -r requirements/test.lock' ;;
    *) stop "usage: sh scripts/set-up.sh runtime|test" ;;
esac

# The stamp tells whether anything changed since the last complete installation; it is no safeguard,
# the hashes in the lock files are. The folder is in it because a moved .venv/ keeps its old paths.
stamp=.venv/set-up-$1
key=$({ pwd && cat pyproject.toml requirements/runtime.lock requirements/test.lock; } | cksum)
installed=$(cat "$stamp" 2>/dev/null || true)
if [ "$key" != "$installed" ] || ! serves .venv/bin/python; then
    install_packages
    printf '%s\n' "$key" >"$stamp"
    # The packages of the tests include those of the demo.
    [ "$1" = runtime ] || printf '%s\n' "$key" >.venv/set-up-runtime
fi

pdf_libraries_load ||
    system_packages "PDF libraries" libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0 fontconfig
if [ "$1" = test ]; then
    command -v pdftotext >/dev/null && command -v qpdf >/dev/null ||
        system_packages "PDF programs the tests use" poppler-utils qpdf
    # A token in software, for seal keys in tokens.
    command -v softhsm2-util >/dev/null || system_packages "a token in software the tests use" softhsm2
    # Without strace the tests that stop a command at any write are skipped, and say so.
    [ "$(uname)" != Linux ] || command -v strace >/dev/null || ! may_use_apt ||
        apt_get install -y --no-install-recommends strace >/dev/null || say "strace could not be installed"
fi
