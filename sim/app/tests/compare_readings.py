"""Compares what a frame of the simulator says with what the text command reads.

Usage: compare_readings.py FRAME.txt READ.json
The frame's text comes from its accessibility tree; numbers must agree to their last digit.
"""

import json
import sys

TITLES = {
    "reflect": "Reflect",
    "shunt-through": "Shunt-through",
    "series-through": "Series-through",
}


def number(text):
    return float(text.replace("\u2212", "-").split("\u202f")[0].rstrip("°"))


def decimals(text):
    """How many decimals are shown: as many as the display's steps want."""
    digits = text.replace("\u2212", "-").split("\u202f")[0].rstrip("°")
    return len(digits.partition(".")[2])


def main():
    frame, read = sys.argv[1:]
    said = dict(
        line.rstrip("\n").split(": ", 1) for line in open(frame, encoding="utf-8") if ": " in line
    )
    compared = 0
    for entry in json.load(open(read, encoding="utf-8"))["fixtures"]:
        title = TITLES[entry["fixture"]]
        reading = entry["reading"]
        if reading is None:
            if "no reading" not in said[f"{title}, reading"]:
                sys.exit(f"{frame}: {title} shows a reading where there is none")
            compared += 1
            continue
        for name, key in [("decibels", "db"), ("degrees", "deg")]:
            shown = said[f"{title}, {name}"]
            if reading[key] is None:
                continue
            if abs(number(shown) - reading[key]) > 0.5001 * 10 ** -decimals(shown):
                sys.exit(f"{frame}: {title}, {name}: {shown} but jig read has {reading[key]}")
            compared += 1
    if compared == 0:
        sys.exit(f"{frame}: nothing to compare")
    print(f"{frame}: {compared} readings agree with jig read")


main()
