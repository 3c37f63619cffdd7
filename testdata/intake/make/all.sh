#!/bin/sh
# Makes all committed files of testdata/intake again.
set -eu
cd "$(dirname "$0")"
for script in text openpyxl_files xlsxwriter_files pandas_files raw_files; do
  /usr/bin/python3 "$script.py"
done
Rscript openxlsx_files.R ..
go run excelize.go
./libreoffice.sh
