#!/usr/bin/env bash
# All benchmarks in one run, written to README.md beside this script:
# `bash tests/bench/run.sh`. Needs what tests/run.sh installs; takes some ten
# minutes and wants a machine that does nothing else.
set -euo pipefail
cd "$(dirname "$0")/../.."

table=$(mktemp)
trap 'rm -f "$table"' EXIT
busy=$(cut -d' ' -f1 /proc/loadavg)
cargo bench --quiet --bench engine | tee "$table"

model=$(sed -n 's/^model name[^:]*: //p' /proc/cpuinfo | head -n 1)
# A run that measured nothing must not replace the table.
grep -q '^| cradle | borewright' "$table"
{
    cat <<HEAD
# Benchmarks

One run of \`bash tests/bench/run.sh\`, which writes this file: $(date -u +%F),
$(rustc --version), ${model:-unknown processor}, $(nproc) cores, load $busy at the
start. The other libraries run in Python, which adds microseconds to calls that
take milliseconds; versions in \`tests/reference/requirements.txt\`.

HEAD
    cat "$table"
} > tests/bench/README.md
