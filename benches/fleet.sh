#!/usr/bin/env bash
# Judges an invented fleet, and prints how fast that was against only reading it, SQL and a JSON Schema:
#   benches/fleet.sh [SITES [SHARE]]     1,000,000 sites and 0.01 of them faulty without it
# DuckDB comes from PyPI into target/bench-venv; all else is built here.
set -euo pipefail
cd "$(dirname "$0")/.."

sites="${1:-1000000}" share="${2:-0.01}"
target="${CARGO_TARGET_DIR:-target}"
kept="$target/bench-fleet"

cargo build --quiet --release --locked -p cli --bin asleft --example fleet
cargo build --quiet --profile baseline --locked -p cli --example baselines
if [ ! -x "$target/bench-venv/bin/python" ]; then
  python3 -m venv "$target/bench-venv"
fi
"$target/bench-venv/bin/pip" install --quiet --disable-pip-version-check 'duckdb==2.0.1'

mkdir -p "$kept"
"$target/release/examples/fleet" --sites "$sites" --faults "$share" --seed 7 --expect "$kept/expected.json" > "$kept/fleet.ndjson"
"$target/bench-venv/bin/python" benches/fleet/compare.py \
  "$target/release/asleft" "$target/baseline/examples/baselines" "$kept/fleet.ndjson" "$kept/expected.json"
