#!/bin/sh
# Saves children.csv in formats that are not read (LibreOffice).
cd "$(dirname "$0")" || exit 1
for format in ods xls html 'xml:MS Excel 2003 XML'; do
	soffice --headless --convert-to "$format" --infilter='CSV:59,34,76' children.csv
done
