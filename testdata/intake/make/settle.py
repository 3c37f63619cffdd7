"""Takes the times out of what LibreOffice and R wrote."""
import os

from study import FILES, SAME, settle

for folder in (FILES, SAME):
    for name in sorted(os.listdir(folder)):
        if name.startswith(("libreoffice", "openxlsx", "ods-called")) and name.endswith((".xlsx", ".xlsm", ".ods")) or name.startswith("xlsx-called"):
            settle(os.path.join(folder, name))
path = os.path.join(FILES, "libreoffice.fods")
if os.path.exists(path):
    import re
    with open(path, "rb") as f:
        data = f.read()
    data = re.sub(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?", b"2022-01-01T00:00:00", data)
    with open(path, "wb") as f:
        f.write(data)
