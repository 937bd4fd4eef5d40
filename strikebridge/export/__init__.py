"""Results out, for other programs: plain values in, files out, and back again.

- `dataset`: what is exported. `gather`: stored reps as such, with their curves, and without
  names if asked.
- `csv_tables`: CSV with CSVW metadata; `json_document`: everything in one file; `c3d_files`:
  the force of each rep for biomechanics software.
- `even`: force at even times, for formats that know no others.

`FORMATS` is the table of them; each row names a class with `write` and `read` side by side.
"""

from __future__ import annotations

FORMATS = {
    "csv": "strikebridge.export.csv_tables:CsvTables",
    "json": "strikebridge.export.json_document:JsonDocument",
    "c3d": "strikebridge.export.c3d_files:C3dFiles",
}
