#!/usr/bin/env python3
"""Makes the reduced typical-year files of this folder from the published ones.

    python3 tests/data/reduce.py PUBLISHED.epw.gz REDUCED.epw.gz

Columns that stilldays does not read are set to their format's code for "no value"; everything else,
line ends included, stays as published. Needs nothing but Python.
"""
import gzip
import re
import sys

# EPW: field -> code for "no value" (fields 0 to 4 are the date; 6 8 13 14 15 21 22 33 34 are kept).
EPW = {5: "*", 7: "99.9", 9: "999999", 10: "9999", 11: "9999", 12: "9999", 16: "999999", 17: "999999",
       18: "999999", 19: "9999", 20: "999", 23: "99", 24: "9999", 25: "99999", 26: "9", 27: "999999999",
       28: "999", 29: ".999", 30: "999", 31: "99", 32: "999"}
# TMY3: columns kept, by the start of their name.
TMY3 = ("Date", "Time", "GHI (", "DNI (", "DHI (", "TotCld (", "Dry-bulb (", "RHum (", "Wspd (", "Lprecip depth",
        "Lprecip quantity")


def blank_tmy3(name):
    if name.startswith(TMY3):
        return None
    if "source" in name:
        return "?"
    return "0" if "uncert" in name else "-9900"


def main(source, target):
    lines = gzip.open(source, "rt", newline="", encoding="utf-8").read().splitlines(keepends=True)
    epw = lines[0].startswith("LOCATION")
    head = 8 if epw else 2
    codes = EPW if epw else {i: blank_tmy3(n) for i, n in enumerate(re.split(",", lines[1].rstrip("\r\n")))}
    out = lines[:head]
    for line in lines[head:]:
        text = line.rstrip("\r\n")
        fields = text.split(",")
        for index, code in codes.items():
            if code is not None and index < len(fields):
                fields[index] = code
        out.append(",".join(fields) + line[len(text):])
    with open(target, "wb") as raw, gzip.GzipFile("", "wb", 9, raw, mtime=0) as packed:
        packed.write("".join(out).encode("utf-8"))


main(*sys.argv[1:])
