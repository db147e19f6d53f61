#!/usr/bin/env bash
# All tests, with everything that they need, on a Debian machine that has a
# Rust toolchain and Python 3: `bash tests/run.sh`
set -euo pipefail
cd "$(dirname "$0")/.."

# Packages of Debian that the referees' Python wheels need.
need() {
    local missing=()
    python3 -c 'import ensurepip, venv' 2>/dev/null || missing+=(python3-venv)
    ldconfig -p | grep -q 'libGL\.so\.1' || missing+=(libgl1)
    ldconfig -p | grep -q 'libX11\.so\.6' || missing+=(libx11-6)
    if ! command -v cc >/dev/null; then missing+=(gcc libc6-dev); fi
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

need
referees

if cargo fmt --version >/dev/null 2>&1; then cargo fmt --check; fi
if cargo clippy --version >/dev/null 2>&1; then
    cargo clippy --quiet --all-targets -- -D warnings
fi
cargo build --release
cargo test
# Speed is only worth stating of a release build.
cargo test --release --test speed -- --nocapture
cargo test --release --test checks speed -- --nocapture
