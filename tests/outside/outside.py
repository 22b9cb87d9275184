"""Reads what skep writes with libraries that know nothing of skep."""

import csv
import datetime
import io
import json
import os
import pathlib
import subprocess
import sys
import tempfile
import time

import icalendar
import jsonschema

BINARY = pathlib.Path(sys.argv[1]).resolve()
SCHEMAS = pathlib.Path("assets/schema")
folder = tempfile.TemporaryDirectory()
home = pathlib.Path(folder.name)
store = home / "demo.store"
checked = 0

# What the program takes for now is so many seconds ahead of the machine's clock.
AHEAD = int(os.environ["SKEP_TEST_CLOCK"])


def skep(*words, store=store, stdin=None, later=0):
    """Standard output of a run, some seconds later by the program's clock; only
    the codes that skep documents are taken."""
    done = subprocess.run(
        [BINARY, *words],
        capture_output=True,
        input=stdin,
        env={"TZ": os.environ["TZ"], "SKEP_TEST_CLOCK": str(AHEAD + later), "HOME": str(home), "SKEP_STORE": str(store)},
    )
    assert done.returncode in (0, 4, 6, 10, 11, 12, 13), (words, done.stderr.decode())
    return done.stdout.decode()


def validator(name):
    schema = json.loads((SCHEMAS / name).read_text())
    kind = jsonschema.validators.validator_for(schema)
    kind.check_schema(schema)
    return kind(schema, format_checker=kind.FORMAT_CHECKER)


def check(name, fits):
    global checked
    assert fits, name
    checked += 1


skep("demo", "--into", str(store))
check("made", store.exists())
hostile = "=HYPERLINK(\"http://example.org\"), 'quoted'; \"said\"\tø"
skep("note", "J2", hostile)
skep("read", "J2", "ph3.4", "--note", hostile, "--anyway")
(home / "book.csv").write_text("date,sg\nsoon,1.05\n")

# Reports of every kind against their schema.
reports = validator("report.schema.json")
kinds = set()
for words in (
    ["today"], ["today", "--all"], ["show", "J2"], ["show", "J2", "--ledger"], ["show", "C2"],
    ["read", "J5", "96", "--dry-run"], ["read", "J2", "200"], ["note", "J2", "hello"], ["undo"],
    ["vessels"], ["places"], ["history"], ["routines"], ["settings"], ["figure"],
    ["figure", "alcohol", "og=1.092", "sg=1.010"], ["import", str(home / "book.csv"), "--vessel", "J2"],
    ["backup"], ["restore"], ["check"], ["season"], ["pantry"],
):
    report = json.loads(skep(*words, "--json"))
    problems = [e.message for e in reports.iter_errors(report)]
    check((words, problems), not problems)
    kinds.add(report["report"])
line = b'{"vessel":"J2","at":%d,"temperature_c":20.5}\nnonsense\n' % (time.time() + AHEAD - 86400)
report = json.loads(skep("listen", "--json", stdin=line))
check("listen", not list(reports.iter_errors(report)))
kinds.add(report["report"])
# The schema refuses what is not ours, so it can fail.
for wrong in ({}, {"format": 1, "report": "today"}, {**report, "lines": "many"}, {**report, "format": 2}):
    check(("refused", wrong), list(reports.iter_errors(wrong)))

# All of the store, validated and read back equal.
archive = skep("export", "all")
problems = [e.message for e in validator("archive.schema.json").iter_errors(json.loads(archive))]
check(problems[:3], not problems)
(home / "all.json").write_text(archive)
skep("rebuild", str(home / "all.json"), store=home / "back.store")
again = json.loads(skep("export", "all", store=home / "back.store"))
before = json.loads(archive)
before.pop("made"), again.pop("made")
check("read back equal", before == again)

# The calendar: RFC 5545 by a library that raises on what it does not understand.
text = skep("calendar", "--alarm", "06:45")
calendar = icalendar.Calendar.from_ical(text)
check("no errors", not calendar.errors and all(not e.errors for e in calendar.walk()))
check("version", calendar["VERSION"] == "2.0" and calendar["PRODID"])
check("lines", all(len(l.encode()) <= 75 for l in text.split("\r\n")) and "\n" not in text.replace("\r\n", ""))
events = calendar.walk("VEVENT")
uids = [str(e["UID"]) for e in events]
check("uids", len(uids) == len(set(uids)) > 10)
for event in events:
    day = event.decoded("DTSTART")
    check("a day", isinstance(day, datetime.date) and not isinstance(day, datetime.datetime))
    check("stamped", event.decoded("DTSTAMP").utcoffset() == datetime.timedelta(0))
    alarms = event.walk("VALARM")
    if event["STATUS"] == "CONFIRMED":
        check("alarm", [a.decoded("TRIGGER") for a in alarms] == [datetime.timedelta(hours=6, minutes=45)])
        check("not past", day >= min(e.decoded("DTSTART") for e in events))
    else:
        check("cancelled", event["STATUS"] == "CANCELLED" and not alarms)
# A step that is done keeps its UID, comes as cancelled, with a higher number.
wanted = next(d for d in json.loads(skep("today", "--json"))["due"] if d["tag"] == "J6" and d["wanted"])
step = next(e for e in events if str(e["UID"]).startswith(f"step-{wanted['step']}-"))
skep("done", "J6", wanted["title"].split()[0].lower())
later = icalendar.Calendar.from_ical(skep("calendar", later=2)).walk("VEVENT")
same = [e for e in later if e["UID"] == step["UID"]]
check("one of it", len(same) == 1)
check("updated", same[0]["STATUS"] == "CANCELLED" and same[0]["SEQUENCE"] > step["SEQUENCE"])

# Tables: rows of one width, and nothing that a spreadsheet would run.
for what in ("readings", "steps", "batches", "cellar", "samples"):
    rows = list(csv.reader(io.StringIO(skep("export", what), newline=""), strict=True))
    check((what, "width"), len(rows) > 1 and len({len(r) for r in rows}) == 1)
    for row in rows:
        for cell in row:
            number = cell.replace(".", "", 1).lstrip("-").isdigit()
            check((what, cell), number or not cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n")))
notes = [r[-2] for r in csv.reader(io.StringIO(skep("export", "readings"), newline=""))]
check("hostile note kept", "'" + hostile.replace("\t", " ") in notes or "'" + hostile in notes)

print(f"{checked} checks hold; kinds of report: {', '.join(sorted(kinds))}")
