#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Figures of a campaign made on the virtual rig: file size against raw bytes, integrity check, re-decoding and re-judging from raw
# bytes against a SciPy stack over the same traces, and the verdict sheet with each page as a picture to look at.
#
# usage: campaign_figures.sh COLDSTROKE FOLDER [TRIALS]
# Processor time is printed beside elapsed time: hold those against each other, they bear other load on the machine.
set -eu
program=$1
folder=$2
trials=${3:-60}
here=$(cd "$(dirname "$0")" && pwd)
mkdir -p "$folder"
campaign=$folder/campaign.coldstroke
export="$folder/traces.h5"
test ! -e "$campaign" || { echo "$campaign exists already" >&2; exit 3; }

timed() {
  echo "== $*"
  bash -c 'TIMEFORMAT="elapsed %R s, processor %U s"; time "$@" > /dev/null 2> "$0"' "$folder/said" "$@" ||
    { cat "$folder/said" >&2; exit 1; }
}

timed "$program" eject --virtual --trials "$trials" --seed 11 --campaign "$campaign"
sqlite3 -readonly "$campaign" "SELECT 'trials ' || count(*) FROM trial; SELECT 'raw bytes ' || sum(length(bytes)) FROM raw"
echo "file bytes $(stat -c %s "$campaign")"
timed "$program" verify "$campaign"
timed /usr/bin/python3 "$here/../../docs/check_campaign.py" "$campaign"
timed "$program" analyse "$campaign"
timed "$program" export "$campaign" --hdf5 "$export"
/usr/bin/python3 "$here/scipy_judging.py" "$export"
for paper in a4 letter; do
  timed "$program" sheet "$campaign" --paper "$paper" --to "$folder/sheet-$paper.pdf"
  pdfinfo "$folder/sheet-$paper.pdf" | grep -E 'Pages|Page size'
  pdftoppm -r 75 -png "$folder/sheet-$paper.pdf" "$folder/sheet-$paper"
done
timed "$program" sheet "$campaign" --to "$folder/sheet.html"
