#!/usr/bin/env bash
# Mutants of `src/section`, `src/solid` and `src/checks`, some ten seconds each:
#
#     bash tests/mutation/run.sh engine 1/80 [FOLDER]
#     bash tests/mutation/run.sh checks 5/50 [FOLDER]
#
# The whole crate takes minutes to build. So the folders are copied, each set with its tests, to
# small crates in FOLDER (outside the repository; /tmp/mutation if none is given): the engine
# beside three names of `measure`, the checks upon a crate of the layers below them. Left out:
# the adapter of truck, tests that need jobs or the command line, and the slowest tests. The
# second word is the share of the mutants, taken round robin from all files. Needs cargo-mutants
# 27 and cargo-nextest; answers are in FOLDER/out-SET.
set -euo pipefail
cd "$(dirname "$0")/../.."
set=$1 share=$2 to=${3:-/tmp/mutation}
from=$PWD

# A crate with its tests inside is built once for each mutant, not once for each test binary.
head_of() {
    cat <<TOML
[package]
name = "$1"
version = "0.1.0"
edition = "2024"
[dependencies]
nalgebra = { version = "0.35", default-features = false, features = ["std"] }
thiserror = "2"
TOML
}
profiles() {
    cat <<'TOML'
[profile.dev]
opt-level = 1
debug = false
[profile.dev.package."*"]
opt-level = 2
debug = false
TOML
}
# Tests of a folder of tests/ become a module.
tests_inside() {
    cp -r "tests/$1" "$2/$1_tests"
    mv "$2/$1_tests/main.rs" "$2/$1_tests/mod.rs"
    sed -i "s/crate::\(cases\|random\|shapes\|speed\|build\)/crate::$1_tests::\1/g" "$2/$1_tests"/*.rs
}

engine() {
    rm -rf "$to/engine/src"
    mkdir -p "$to/engine/src/measure"
    cd "$from"
    local src=$to/engine/src
    cp -r src/section src/solid "$src/"
    cp src/measure/frame.rs "$src/measure/"
    rm "$src/solid/truck.rs"
    sed -i '/^mod truck;/d; /TruckError/d' "$src/solid/mod.rs"
    for tests in engine solids; do tests_inside "$tests" "$src"; done
    rm "$src/solids_tests/truck.rs"
    sed -i '/^mod truck;/d' "$src/solids_tests/mod.rs"
    { echo 'pub mod frame;'; grep '^pub type' src/measure/mod.rs; } > "$src/measure/mod.rs"
    cat > "$src/lib.rs" <<'RUST'
#![allow(warnings)]
#[cfg(test)]
extern crate self as borewright;
pub mod measure;
pub mod section;
pub mod solid;
#[cfg(test)]
mod engine_tests;
#[cfg(test)]
mod solids_tests;
RUST
    { head_of borewright; printf '[dev-dependencies]\nfastrand = "2"\n[workspace]\n'; profiles; } \
        > "$to/engine/Cargo.toml"
}

checks() {
    rm -rf "$to/checks/core/src" "$to/checks/checks/src"
    mkdir -p "$to/checks/core/src/export" "$to/checks/checks/src"
    cd "$from"
    local core=$to/checks/core src=$to/checks/checks/src
    for layer in measure trade section solid mesh sight survey parts; do
        cp -r "src/$layer" "$core/src/"
    done
    cp src/parallel.rs "$core/src/"
    cp -r profiles "$core/"
    cp src/export/stl.rs "$core/src/export/"
    printf 'mod stl;\npub use stl::*;\n' > "$core/src/export/mod.rs"
    # What the checks use of the other crate has to be public, and enums whole.
    find "$core/src" -name '*.rs' -exec sed -i 's/pub(crate)/pub/g; /#\[non_exhaustive\]/d' {} +
    echo '#![allow(warnings)]' > "$core/src/lib.rs"
    for layer in export measure mesh parallel parts section sight solid survey trade; do
        echo "pub mod $layer;" >> "$core/src/lib.rs"
    done
    cp -r src/checks "$src/checks"
    tests_inside checks "$src"
    cp tests/engine/random.rs "$src/checks_tests/"
    cd "$src/checks_tests"
    rm formats.rs large.rs own_parts.rs speed.rs telling.rs bad_meshes.rs
    sed -i '/^use borewright::job/d' components.rs
    perl -0pi -e 's/fn made\(.*?\n}\n//s; s/#\[test\]\nfn the_examples.*?\n}\n//s' components.rs
    perl -pi -e 's/tried == 200/tried == 8/' random_stacks.rs
    perl -0pi -e 's/#\[test\]\nfn cones_by_their.*?\n}\n//s' accuracy.rs
    { echo '#![allow(warnings)]'
      for tests in random accuracy components fit random_stacks shapes standing undersides verdicts
      do echo "mod $tests;"; done; } > mod.rs
    cat > "$src/lib.rs" <<'RUST'
#![allow(warnings)]
#[cfg(test)]
extern crate self as borewright;
pub use layers::{export, measure, mesh, parts, section, sight, solid, survey, trade};
pub mod checks;
#[cfg(test)]
mod checks_tests;
RUST
    cd "$from"
    local needs='annotate-snippets|fastrand|flate2|quick-xml|serde|serde_json|sha2|spade|stl_io|toml|truck-modeling|zip'
    { head_of layers; grep -E "^($needs) = " Cargo.toml; } > "$core/Cargo.toml"
    { head_of borewright
      printf 'layers = { path = "../core" }\n'
      grep -E '^(serde|fastrand|toml) = ' Cargo.toml; } > "$to/checks/checks/Cargo.toml"
    { printf '[workspace]\nmembers = ["core", "checks"]\nresolver = "3"\n'; profiles; } \
        > "$to/checks/Cargo.toml"
}

mkdir -p "$to/tmp"
case $set in
    engine | checks) "$set" ;;
    *) echo "no set of mutants: $set" >&2; exit 2 ;;
esac
cp "$from/Cargo.lock" "$to/$set/"
cd "$to/$set"
export CARGO_TARGET_DIR="$to/target-$set" TMPDIR="$to/tmp" BOREWRIGHT_CASES=1 CARGO_BUILD_JOBS=1
# The copy is mutated itself, so that each build is small.
cargo mutants --in-place -p borewright -e '**/*_tests/**' -e '**/measure/**' \
    --shard "$share" --sharding round-robin --timeout 120 --test-tool nextest \
    --output "$to/out-$set" --colors never --no-times -C=--lib
