#!/usr/bin/env bash
# All tests, with everything that they need, on a Debian machine that has a
# Rust toolchain and Python 3: `bash tests/run.sh`
set -euo pipefail
cd "$(dirname "$0")/.."

# Packages of Debian that the referees' Python wheels and the browser tests need.
need() {
    local missing=()
    python3 -c 'import ensurepip, venv' 2>/dev/null || missing+=(python3-venv)
    ldconfig -p | grep -q 'libGL\.so\.1' || missing+=(libgl1)
    ldconfig -p | grep -q 'libX11\.so\.6' || missing+=(libx11-6)
    if ! command -v cc >/dev/null; then missing+=(gcc libc6-dev); fi
    if ! command -v valgrind >/dev/null; then missing+=(valgrind); fi
    for program in chromium firefox-esr node npm; do
        if ! command -v "$program" >/dev/null; then missing+=("${program/%node/nodejs}"); fi
    done
    [ ${#missing[@]} -eq 0 ] && return
    local sudo=()
    [ "$(id -u)" -eq 0 ] || sudo=(sudo)
    echo "installing ${missing[*]}" >&2
    "${sudo[@]}" apt-get update -q
    "${sudo[@]}" apt-get install -qy --no-install-recommends "${missing[@]}"
}

# The referees: general-purpose libraries from PyPI, pinned, in .venv.
referees() {
    local wanted=tests/reference/requirements.txt stamp=.venv/.requirements
    if [ -n "${BOREWRIGHT_PYTHON:-}" ] || cmp -s "$wanted" "$stamp"; then return; fi
    python3 -m venv .venv
    .venv/bin/python -m pip install --quiet --disable-pip-version-check -r "$wanted"
    cp "$wanted" "$stamp"
}

# Seconds on processors of a command. What it prints goes to standard error.
on_processors() {
    local TIMEFORMAT='%U %S'
    { { time "$@" >&3 2>&3; } 2>&1 | awk '{ printf "%d", $1 + $2 }'; } 3>&2
}

# How slow the machine is: some packages of Cargo.lock are built anew, which takes
# 35 s on processors that have nothing else to do. In percent of that, 100 at least.
slowness() {
    local at percent
    at=$(mktemp -d)
    percent=$(on_processors env CARGO_TARGET_DIR="$at" cargo build --release --quiet \
        -p clap_builder -p pdf-writer -p toml_edit -p zip) || return
    rm -rf "$at"
    percent=$((percent * 100 / 35))
    echo $((percent > 100 ? percent : 100))
}

# A release build: stated, and kept within bounds if nothing was built before.
release() {
    local clean=1 wall cpu bytes before after
    # Four minutes on two cores, as time on processors: others may use them too.
    local most_cpu=480 most_bytes=15000000
    if [ -e target/release/borewright ]; then clean=0; fi
    before=$(slowness)
    SECONDS=0
    cpu=$(on_processors cargo build --release)
    wall=$SECONDS
    bytes=$(stat -c %s target/release/borewright)
    echo "release build (clean: $clean): $wall s, $cpu s on processors; program of $bytes bytes"
    if [ "$cpu" -gt "$most_cpu" ]; then
        # The same instructions take longer where other machines share the cores' units.
        after=$(slowness)
        most_cpu=$((most_cpu * (before > after ? before : after) / 100))
        echo "pinned packages took $before % of their usual time before it, $after % after it"
    fi
    if [ "$bytes" -gt "$most_bytes" ] || [ "$cpu" -gt "$most_cpu" ]; then
        echo "at most $most_cpu s and $most_bytes bytes" >&2
        return 1
    fi
}

need
referees
bash tests/page/install.sh

if cargo fmt --version >/dev/null 2>&1; then cargo fmt --check; fi
if cargo clippy --version >/dev/null 2>&1; then
    cargo clippy --quiet --all-targets -- -D warnings
fi
release
cargo test
# Speed is only worth stating of a release build; its tests are linked side by side.
cargo test --release --no-run --test speed --test checks --test batch --test instructions
cargo test --release --test speed -- --nocapture --test-threads=1
cargo test --release --test checks -- --nocapture --test-threads=1 speed large components
cargo test --release --test batch scale -- --nocapture
cargo test --release --test instructions -- --nocapture
