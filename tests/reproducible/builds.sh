#!/usr/bin/env bash
# Two clean release builds, in folders of different names: whether programs and
# their outputs are the same, how long a build takes, how large the program is.
#   bash tests/reproducible/builds.sh [FOLDER]
# The builds go to FOLDER (default: a temporary one) and are removed again.
set -euo pipefail
cd "$(dirname "$0")/../.."

# Seconds for a clean build on two cores, and bytes of the program.
most_seconds=240
most_bytes=$((15 * 1000 * 1000))

folder=${1:-$(mktemp -d)}
trap 'rm -rf "$folder/one" "$folder/the-other"' EXIT
export SOURCE_DATE_EPOCH=946684800

build() {
    local target=$1 start=$SECONDS
    # Paths of the machine have no place in a program.
    RUSTFLAGS="--remap-path-prefix=$PWD=. --remap-path-prefix=${CARGO_HOME:-$HOME/.cargo}=cargo" \
        CARGO_TARGET_DIR=$target cargo build --release --locked --quiet
    echo "$target: built in $((SECONDS - start)) s, $(stat -c %s "$target/release/borewright") bytes"
    slow=$((SECONDS - start > most_seconds))
}

outputs() {
    local target=$1
    for job in examples/*.toml; do
        "$target/release/borewright" make "$job" --out "$target/out/$(basename "$job")" >"$target/printed" 2>&1
        "$target/release/borewright" picture "$job" --out "$target/out/$(basename "$job").png" >/dev/null
    done
    (cd "$target/out" && find . -type f -print0 | sort -z | xargs -0 sha256sum) >"$target/sums"
}

mkdir -p "$folder"
for target in "$folder/one" "$folder/the-other"; do
    rm -rf "$target"
    build "$target"
    outputs "$target"
done
echo "$(wc -l <"$folder/one/sums") output files"
cmp "$folder/one/sums" "$folder/the-other/sums"
echo "outputs: the same bytes"
cmp "$folder/one/release/borewright" "$folder/the-other/release/borewright"
echo "programs: the same bytes"
[ "$(stat -c %s "$folder/one/release/borewright")" -le "$most_bytes" ] || { echo "too large" >&2; exit 1; }
[ "$slow" -eq 0 ] || { echo "the build takes longer than $most_seconds s" >&2; exit 1; }
