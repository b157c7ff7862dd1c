#!/usr/bin/env bash
# A year of one-second data through `asleft events`, against only reading it, against pandas, and
# against the reference model, in one run: `benches/log/ratios.sh [ROWS]`.
# Needs a release build; pandas and opender are left out where PYTHON (python3) does not have them.
set -euo pipefail
cd "$(dirname "$0")/../.."
rows=${1:-31536000}
slice=$((rows < 3153600 ? rows : 3153600))
python=${PYTHON:-python3}
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
bin=target/release

cargo build --quiet --release -p cli --bin asleft --example log --example only_read
"$bin/examples/log" "$rows" > "$folder/year.csv"
head -n $((slice + 1)) "$folder/year.csv" > "$folder/slice.csv"
echo "$rows rows, $(($(stat -c %s "$folder/year.csv") >> 20)) MB"

# best of three of both, one after the other, so that both meet the same machine
best() { sort -g | head -1; }
for _ in 1 2 3; do
  "$bin/examples/only_read" "$folder/year.csv" | cut -d' ' -f1 >> "$folder/read"
  { /usr/bin/time -q -f '%e %U %M' "$bin/asleft" events benches/log/site.yaml "$folder/year.csv" \
      --measured-at terminals --in-service yes --as-of 2026-11-25 > "$folder/said" || test $? -eq 1; } 2>> "$folder/played"
done
read_s=$(best < "$folder/read")
played_s=$(cut -d' ' -f1 "$folder/played" | best)
memory=$(cut -d' ' -f3 "$folder/played" | sort -g | tail -1)
awk -v r="$read_s" -v p="$played_s" -v m="$memory" -v n="$rows" 'BEGIN {
  printf "  only reading (csv byte records)  %7.2f s  %6.0f ns a row\n", r, 1e9 * r / n
  printf "  asleft events                    %7.2f s  %6.0f ns a row, peak memory %.0f MB\n", p, 1e9 * p / n, m / 1024
  printf "  ratio of throughput              %7.2f\n", r / p }'

if answer=$("$python" benches/log/with_pandas.py "$folder/slice.csv" 2> /dev/null); then
  set -- $answer
  awk -v read="$1" -v answer="$2" -v n="$3" -v p="$played_s" -v all="$rows" 'BEGIN {
    ours = p / all; printf "  pandas, reading and answering    %7.0f ns a row: %.1f times ours\n", 1e9 * (read + answer) / n, (read + answer) / n / ours
    printf "  pandas, answering only           %7.0f ns a row: %.1f times ours with reading\n", 1e9 * answer / n, answer / n / ours }'
fi
if answer=$("$python" benches/log/with_opender.py "$folder/slice.csv" 20000 2> /dev/null); then
  set -- $answer
  awk -v s="$1" -v n="$2" -v p="$played_s" -v all="$rows" 'BEGIN { printf "  opender, on 20,000 rows          %7.0f ns a row: %.0f times ours\n", 1e9 * s / n, s / n / (p / all) }'
fi
sed -n '1,/^TIMELINE/p' "$folder/said" | sed -n '/^bench/,/^TIMELINE/p' | sed '$d'
