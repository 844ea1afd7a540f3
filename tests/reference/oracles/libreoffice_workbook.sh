#!/bin/sh
# Opens workbooks and plain tables with LibreOffice Calc (Debian package "libreoffice-calc-nogui") and saves them again
# as .xlsx and .ods into tests/reference/libreoffice/. From the top folder of the project, with its environment active:
#   sh tests/reference/oracles/libreoffice_workbook.sh
set -eu
export LC_ALL=C.UTF-8

saved=tests/reference/libreoffice
typed=$(mktemp -d)
trap 'rm -r "$typed"' EXIT
mkdir -p "$saved"
python -m tests.reference.typed_workbooks "$typed"

save() { # file, suffix, filter of LibreOffice
    soffice --headless "-env:UserInstallation=file://$typed/profile" \
        --infilter="${4:-}" --convert-to "$2:$3" --outdir "$saved" "$typed/$1" >/dev/null
}

# Separator 44 (comma), quote 34, character set 76 (UTF-8), first line 1, language 1033 (US English),
# and the two switches before the last: quoted cells are not always text; dates and truth values are recognised.
table="Text - txt - csv (StarCalc):44,34,76,1,,1033,false,true"
for file in records faults; do
    save "$file.xlsx" xlsx "Calc MS Excel 2007 XML"
    save "$file.xlsx" ods calc8
done
for file in Athletes Events; do
    save "$file.csv" xlsx "Calc MS Excel 2007 XML" "$table"
    save "$file.csv" ods calc8 "$table"
done
save Teams.csv csv "Text - txt - csv (StarCalc):44,34,76,1,,1033,false,true" "$table"

# Every sheet of a workbook as a file of its own (-1), cells as they are shown: with commas, then with semicolons (59).
for separator in 44 59; do
    mkdir -p "$saved/csv_$separator"
    soffice --headless "-env:UserInstallation=file://$typed/profile" --convert-to \
        "csv:Text - txt - csv (StarCalc):$separator,34,76,1,,1033,false,true,true,false,false,-1" \
        --outdir "$typed/$separator" "$typed/records.xlsx" >/dev/null
    for file in "$typed/$separator"/records-*.csv; do
        mv "$file" "$saved/csv_$separator/${file##*/records-}"
    done
done
soffice --version | tail -n 1
