#!/usr/bin/env bash
# What the browser tests drive Chromium with, as tests/page/package-lock.json pins it,
# into target/page.
set -euo pipefail
cd "$(dirname "$0")/../.."

wanted=tests/page/package-lock.json into=target/page
if cmp -s "$wanted" "$into/.installed"; then exit; fi
mkdir -p "$into"
cp tests/page/package.json "$wanted" "$into/"
npm ci --prefix "$into" --no-audit --no-fund --ignore-scripts --silent
cp "$wanted" "$into/.installed"
