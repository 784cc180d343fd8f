"""Read a calendar file with a general iCalendar library and tell what it finds.

stdin:  {"text": "BEGIN:VCALENDAR..."}
stdout: {"components": [name, ...], "faults": [text, ...], "name": text,
         "longest_line": octets, "other_line_ends": count,
         "events": [{"uid": text, "stamp": text, "start": text, "end": text,
                     "summary": text, "description": text, "properties": [name, ...]}, ...]}

Times are local, YYYY-MM-DDThh:mm:ss; a time zone, if there is one, follows.
"""

import json
import sys

from icalendar import Calendar


def told(text):
    calendar = Calendar.from_ical(text)
    parts = list(calendar.walk())
    events = [
        {
            "uid": str(event["uid"]),
            "stamp": event.decoded("dtstamp").isoformat(),
            "start": event.decoded("dtstart").isoformat(),
            "end": event.decoded("dtend").isoformat(),
            "summary": str(event["summary"]),
            "description": str(event["description"]),
            "properties": sorted(event.keys()),
        }
        for event in calendar.walk("VEVENT")
    ]
    raw = text.encode()
    ends = raw.count(b"\r\n")
    return {
        "components": [part.name for part in parts],
        "faults": [str(fault) for part in parts for fault in part.errors],
        "name": str(calendar.get("name", "")),
        "longest_line": max(len(line) for line in raw.split(b"\r\n")),
        "other_line_ends": raw.count(b"\n") + raw.count(b"\r") - 2 * ends,
        "events": events,
    }


if __name__ == "__main__":
    json.dump(told(json.load(sys.stdin)["text"]), sys.stdout)
