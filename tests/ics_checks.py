"""Whether a calendar file keeps to RFC 5545, read strictly; the section stands beside each rule."""

import re
from datetime import datetime

NAME = re.compile(r"[A-Za-z0-9-]+")
UTC_TIME = re.compile(r"\d{8}T\d{6}Z")
DURATION = re.compile(r"[+-]?P(\d+W|\d+D(T(\d+H)?(\d+M)?(\d+S)?)?|T(\d+H)?(\d+M)?(\d+S)?)")
ESCAPED = re.compile(r"([^\\,;]|\\[\\;,nN])*")
ONCE = {
    "VCALENDAR": ("PRODID", "VERSION"),  # 3.6
    "VEVENT": ("UID", "DTSTAMP", "DTSTART"),  # 3.6.1
    "VALARM": ("ACTION", "TRIGGER", "DESCRIPTION"),  # 3.6.6, of a display alarm
}
AT_MOST_ONCE = ("DTEND", "SUMMARY", "DESCRIPTION", "DURATION")  # 3.6.1
INSIDE = {"VCALENDAR": None, "VEVENT": "VCALENDAR", "VALARM": "VEVENT"}


def ics_faults(content: bytes) -> list[str]:
    """Every breach of the rules."""
    faults = []
    if not content.endswith(b"\r\n") or re.search(rb"(?<!\r)\n|\r(?!\n)", content):
        faults.append("3.1: lines end with CR LF, and only with that")
    lines = content.split(b"\r\n")[:-1]
    faults += [f"3.1: a line of {len(line)} octets" for line in lines if len(line) > 75]
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError:
        return [*faults, "3.1.4: not UTF-8"]
    unfolded = text.replace("\r\n ", "").replace("\r\n\t", "").split("\r\n")[:-1]
    return faults + _component_faults(unfolded)


def _component_faults(lines: list[str]) -> list[str]:
    faults: list[str] = []
    stack: list[tuple[str, dict[str, list[str]]]] = []
    uids: list[str] = []
    for line in lines:
        head, colon, value = line.partition(":")
        name, *params = head.split(";")
        if not colon or not NAME.fullmatch(name):
            faults.append(f"3.1: “{line}” is no content line")
            continue
        if re.search(r"[\x00-\x08\x0b-\x1f\x7f]", value):
            faults.append(f"3.3.11: a control character in {name}")
        if name == "BEGIN":
            if INSIDE.get(value, "?") != (stack[-1][0] if stack else None):
                faults.append(f"3.6: {value} stands in {stack[-1][0] if stack else 'nothing'}")
            stack.append((value, {}))
        elif name == "END":
            kind, found = stack.pop()
            if kind != value:
                faults.append(f"3.6: {kind} ends as {value}")
            faults += _property_faults(kind, found)
            uids += found.get("UID", []) if kind == "VEVENT" else []
        elif not stack:
            faults.append(f"3.4: {name} outside of a calendar")
        else:
            stack[-1][1].setdefault(name, []).append(value)
            if name == "TRIGGER" and "VALUE=DATE-TIME" in params and not UTC_TIME.fullmatch(value):
                faults.append("3.8.6.3: an absolute trigger is in UTC")
            if name == "TRIGGER" and "VALUE=DATE-TIME" not in params and not DURATION.fullmatch(value):
                faults.append(f"3.3.6: “{value}” is no duration")
            if name in ("SUMMARY", "DESCRIPTION") and not ESCAPED.fullmatch(value):
                faults.append(f"3.3.11: “{value}” is not escaped")
    if stack:
        faults.append(f"3.6: {stack[-1][0]} does not end")
    if len(set(uids)) < len(uids):
        faults.append("3.8.4.7: two events have one UID")
    return faults


def _property_faults(kind: str, found: dict[str, list[str]]) -> list[str]:
    faults = [f"3.6: {kind} needs one {name}" for name in ONCE[kind] if len(found.get(name, [])) != 1]
    faults += [f"3.6.1: {name} stands twice" for name in AT_MOST_ONCE if len(found.get(name, [])) > 1]
    if kind == "VCALENDAR" and found.get("VERSION") != ["2.0"]:
        faults.append("3.7.4: the version is 2.0")
    if kind == "VALARM" and found.get("ACTION") != ["DISPLAY"]:
        faults.append("3.8.6.1: only display alarms are written")
    for name in ("DTSTAMP", "DTSTART", "DTEND"):
        faults += [f"3.3.5: {name} {value}" for value in found.get(name, []) if not UTC_TIME.fullmatch(value)]
    if "DTEND" in found and not faults and _time(found["DTEND"][0]) <= _time(found["DTSTART"][0]):
        faults.append("3.8.2.2: an event ends after it starts")
    return faults


def _time(value: str) -> datetime:
    return datetime.strptime(value, "%Y%m%dT%H%M%SZ")
