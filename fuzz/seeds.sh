#!/bin/sh
# Fills fuzz/corpus with what the targets begin with, from tests/data and samples. Needs a built program: seeds.sh [NEEDLEBAND].
set -eu
needleband=$(realpath "${1:-target/release/needleband}")
cd "$(dirname "$0")"
data=../tests/data
oil="--dial ../calibration/gearbox-oil.json"
begin() { mkdir -p "corpus/$1"; cp "$2" "corpus/$1/"; }
each() { target=$1; shift; for file in "$@"; do begin "$target" "$file"; done; }
each photo_jpeg "$data"/*.jpg
each photo_png "$data"/palette.png "$data"/source.png
each photo_webp "$data"/*.webp
each photo_tiff "$data"/*.tif
each photo_heic "$data"/*.heic
rm -f corpus/photo_heic/tilted-glare.heic
each dial_file "$data"/dial_v*.json
each exif "$data"/*.tif
mkdir -p corpus/diary corpus/level corpus/argument corpus/marks
rm -f corpus/diary/*.jsonl
for stage in before after; do
    "$needleband" note --diary corpus/diary/oil.jsonl --stage $stage $oil ../samples/gearbox-oil/$stage > /dev/null
done
# pictures only slow it down
sed -i 's/,"picture":{[^}]*}/,"picture":null/' corpus/diary/oil.jsonl
"$needleband" settle $oil ../samples/gearbox-oil/before --every 60s --json > corpus/level/run.json
n=0
for typed in 80@846,311 3=60 84±1=warm.jpg 84+-1=a.jpg -12.5@-7 846,311 3deg 2%span 1.5C 75..90 120C 248F 10s 8min 0.5 24C±2; do
    n=$((n + 1)) && printf '%s' "$typed" > corpus/argument/$n
done
head -c 40 "$data/source.png" > corpus/marks/any
