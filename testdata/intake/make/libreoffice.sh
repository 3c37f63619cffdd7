#!/bin/sh
# Files written by LibreOffice Calc itself, from the plain text of the study and
# from a workbook. Only times are taken out afterwards (settle.py).
set -eu
cd "$(dirname "$0")"
tmp=$(mktemp -d)
trap 'rm -rf "$tmp"' EXIT
lo() { soffice -env:UserInstallation="file://${PROFILE:-$tmp/profile}" --headless "$@" >/dev/null 2>&1; }

# The plain text, columns typed on import: texts (2) but the days (5, year month day) and numbers (1).
types='1/2/2/5/3/1/4/1/5/1/6/1/7/2/8/1/9/2/10/1'
import="44,34,76,1,$types,1033,false,true"
for f in same files; do
  cp "../$f/plain.csv" "$tmp/$f.csv"
done
lo --infilter="Text - txt - csv (StarCalc):$import" --convert-to 'xlsx:Calc MS Excel 2007 XML' --outdir "$tmp/x1" "$tmp/same.csv" "$tmp/files.csv"
lo --infilter="Text - txt - csv (StarCalc):$import" --convert-to 'xlsx:Calc Office Open XML' --outdir "$tmp/x2" "$tmp/same.csv" "$tmp/files.csv"
lo --infilter="Text - txt - csv (StarCalc):$import" --convert-to ods --outdir "$tmp/o" "$tmp/files.csv"
lo --infilter="Text - txt - csv (StarCalc):$import" --convert-to 'xls:MS Excel 97' --outdir "$tmp/o" "$tmp/files.csv"
lo --infilter="Text - txt - csv (StarCalc):$import" --convert-to 'fods:OpenDocument Spreadsheet Flat XML' --outdir "$tmp/o" "$tmp/files.csv"
lo --infilter="Text - txt - csv (StarCalc):$import" --convert-to 'xlsm:Calc MS Excel 2007 VBA XML' --outdir "$tmp/o" "$tmp/files.csv"
cp "$tmp/x1/same.xlsx" ../same/libreoffice.xlsx
cp "$tmp/x2/same.xlsx" ../same/libreoffice-ooxml.xlsx
cp "$tmp/x1/files.xlsx" ../files/libreoffice.xlsx
cp "$tmp/x2/files.xlsx" ../files/libreoffice-ooxml.xlsx
cp "$tmp/o/files.ods" ../files/libreoffice.ods
cp "$tmp/o/files.xls" ../files/libreoffice.xls
cp "$tmp/o/files.xlsm" ../files/libreoffice.xlsm
cp "$tmp/o/files.fods" ../files/libreoffice.fods
cp "$tmp/o/files.ods" ../files/ods-called.xlsx
cp "$tmp/o/files.xls" ../files/xls-called.xlsx
cp "$tmp/o/files.xls" ../files/xls-called.csv
cp ../files/libreoffice.xlsx ../files/xlsx-called.csv
cp ../files/libreoffice.xlsx ../files/xlsx-called.xls

# A workbook that another program wrote, opened and saved by LibreOffice.
for f in openpyxl-1904 xlsxwriter-formulas xlsxwriter-rich percent title-rows; do cp "../same/$f.xlsx" "$tmp/"; done
lo --convert-to 'xlsx:Calc MS Excel 2007 XML' --outdir "$tmp/again" "$tmp/openpyxl-1904.xlsx" "$tmp/xlsxwriter-formulas.xlsx" "$tmp/xlsxwriter-rich.xlsx" "$tmp/percent.xlsx" "$tmp/title-rows.xlsx"
for f in openpyxl-1904 xlsxwriter-formulas xlsxwriter-rich percent title-rows; do cp "$tmp/again/$f.xlsx" "../same/libreoffice-of-$f.xlsx"; done

# Text by its own export: separator, quote, encoding, first line, column types,
# language, all texts quoted, numbers as they are (not as shown).
cp ../same/libreoffice.xlsx "$tmp/visits.xlsx"
text() { lo --convert-to "csv:Text - txt - csv (StarCalc):$2" --outdir "$tmp/t" "$tmp/visits.xlsx" && cp "$tmp/t/visits.csv" "../same/$1"; }
text libreoffice-comma.csv '44,34,76,1,,0,false,true,false'
text libreoffice-semicolon-1252.csv '59,34,1,1,,0,true,true,false'
text libreoffice-utf16.csv '9,34,65535,1,,0,false,true,false'
/usr/bin/python3 settle.py
