#!/usr/bin/env bash
# A year of five-minute rows of many sites through `asleft behaves --fleet`, against only reading the same columns and
# against a vectorised sketch of the same bands, in one run: `benches/behaves/ratios.sh [SITES]`.
# Needs Python with numpy and pyarrow (PYTHON), and a release build with `--features parquet`, which it makes.
set -euo pipefail
cd "$(dirname "$0")/../.."
sites=${1:-100}
python=${PYTHON:-python3}
bin=${BIN:-target/release}
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT

if [ -z "${BIN:-}" ]; then
  cargo build --quiet --release -p cli --features parquet --bin asleft --example only_read_parquet
fi
"$python" benches/behaves/made.py "$folder" "$sites"
echo "$sites sites, $((sites * 105120)) rows, $(($(stat -c %s "$folder/logs.parquet") >> 20)) MB of Parquet; processor seconds, best of three"

judge() { # FORMAT
  { /usr/bin/time -q -f '%U %S %M' "$bin/asleft" behaves --fleet "$folder/sites.ndjson" "$folder/logs.parquet" --measured-at terminals \
      --q-positive supplies --accuracy "V 0.5 %, P 1 %, Q 1.5 %" --as-of 2026-11-25 --format ndjson > "$folder/said" || test $? -eq 1; } 2>> "$folder/judged"
}
for _ in 1 2 3; do
  { /usr/bin/time -q -f '%U %S' "$bin/examples/only_read_parquet" "$folder/logs.parquet" > /dev/null; } 2>> "$folder/read"
  judge
  { /usr/bin/time -q -f '%U %S' "$python" benches/behaves/with_numpy.py "$folder/logs.parquet" > "$folder/sketch"; } 2>> "$folder/numpy"
done
best() { awk '{ print $1 + $2 }' "$1" | sort -g | head -1; }
awk -v r="$(best "$folder/read")" -v j="$(best "$folder/judged")" -v n="$(best "$folder/numpy")" -v rows="$((sites * 105120))" \
  -v m="$(awk '{ print $3 }' "$folder/judged" | sort -g | tail -1)" 'BEGIN {
  printf "  only reading the same columns   %7.2f s  %6.0f ns a row\n", r, 1e9 * r / rows
  printf "  asleft behaves --fleet          %7.2f s  %6.0f ns a row, peak memory %.0f MB\n", j, 1e9 * j / rows, m / 1024
  printf "  numpy, the same bands           %7.2f s  %6.0f ns a row\n", n, 1e9 * n / rows
  printf "  of reading                      %7.2f\n  times numpy                     %7.2f\n", r / j, n / j }'
python3 - "$folder/said" "$sites" <<'PY'
import json, sys
lines = [json.loads(line) for line in open(sys.argv[1])]
made = {f"orchard-{n:05}" for n in range(int(sys.argv[2])) if n % 50 == 0 or n % 70 == 0}
departs = {line["site"] for line in lines if line["answer"] == "departs"}
print(f"  depart: {len(departs & made)} of {len(made)} whose volt-var or volt-watt is off, {len(departs - made)} others")
sys.exit(bool(departs - made))
PY
