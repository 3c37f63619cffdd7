"""Workbooks written by pandas through both of its engines."""
import datetime as dt
import os

import pandas as pd

from study import FILES, SAME, settle, study


def write(folder, name, n, engine, **more):
    path = os.path.join(folder, name)
    rows = [{k: None if v == "" else v for k, v in r.items()} for r in study(n)]
    with pd.ExcelWriter(path, engine=engine, **more) as w:
        pd.DataFrame(rows, dtype=object).to_excel(w, sheet_name="visits", index=False)
    settle(path)


write(SAME, "pandas-openpyxl.xlsx", 40, "openpyxl")
write(SAME, "pandas-xlsxwriter.xlsx", 40, "xlsxwriter", date_format="D MMM YYYY")
write(FILES, "pandas.xlsx", 6, "openpyxl")
# With its index, a column without a name.
path = os.path.join(FILES, "pandas-index.xlsx")
pd.DataFrame([{k: None if v == "" else v for k, v in r.items()} for r in study(6)], dtype=object).to_excel(path, sheet_name="visits")
settle(path)
# Dates as timestamps at midnight, and what pandas writes for no value.
rows = pd.DataFrame(study(6), dtype=object)
rows["seen"] = [pd.Timestamp(v) if isinstance(v, dt.date) else v for v in rows["seen"]]
path = os.path.join(FILES, "pandas-timestamps.xlsx")
rows.to_excel(path, sheet_name="visits", index=False)
settle(path)
rows = pd.DataFrame(study(6), dtype=object)
path = os.path.join(FILES, "pandas-nan.csv")
rows.to_csv(path, index=False, na_rep="NaN")
rows["pain"] = pd.to_numeric(rows["pain"], errors="coerce")
rows.to_csv(path, index=False, na_rep="NaN")
