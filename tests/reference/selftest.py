"""Show that each reference script can say no, on cases worked out by hand."""

import json
import math
import pathlib
import subprocess
import sys

HERE = pathlib.Path(__file__).resolve().parent


def ask(script, question):
    done = subprocess.run(
        [sys.executable, str(HERE / script)],
        input=json.dumps(question), capture_output=True, text=True, check=True,
    )
    return json.loads(done.stdout)


def expect(name, got, want):
    if got != want:
        raise SystemExit(f"{name}: got {got!r}, want {want!r}")


# A diamond: 0 -> 1 -> 3 and 0 -> 2 -> 3, then the same told in a wrong order, then a ring.
diamond = {"nodes": [1, 5, 2, 4], "edges": [[0, 1], [0, 2], [1, 3], [2, 3]]}
good, bad, ring = ask("graph_order.py", {"graphs": [
    diamond | {"order": [0, 2, 1, 3]},
    diamond | {"order": [1, 0, 2, 3]},
    {"nodes": [1, 1], "edges": [[0, 1], [1, 0]], "order": [0, 1]},
]})["graphs"]
expect("diamond", good, {"order_valid": True, "longest": 10, "levels": [[0], [1, 2], [3]]})
expect("wrong order", bad["order_valid"], False)
expect("ring", (ring["order_valid"], ring["longest"]), (False, None))

metals = ask("metals.py", {"heats": [
    {"metal": "Al", "to_c": 720}, {"metal": "Al", "to_c": 25}, {"metal": "Sn", "to_c": 300},
]})
expect("metals", sorted(metals["densities"]), ["Al", "Cu", "Fe", "Pb", "Sn", "Zn"])
hot, cold, tin = metals["heats"]
expect("no heat at the start", cold["kj_per_kg"], 0.0)
expect("tin is owned up to", (tin["kj_per_kg"], "why" in tin), (None, True))
# Heat of fusion of aluminium: 10.71 kJ/mol over 26.98 g/mol.
expect("fusion", math.isclose(hot["fusion_kj_per_kg"], 10710 / 26.981538, rel_tol=1e-6), True)
# Mean heat capacity of the solid lies between its ends: 0.897 and 1.22 kJ/(kg K).
expect("solid", 0.897 * 635 < hot["solid_kj_per_kg"] < 1.22 * 636, True)

corners = [[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]]
faces = [[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]]
whole, torn, turned = ask("solids.py", [
    {"vertices": corners, "faces": faces},
    {"vertices": corners, "faces": faces[:3]},
    {"vertices": corners, "faces": [face[::-1] for face in faces]},
])
expect("volume", math.isclose(whole["volume"], 1 / 6, rel_tol=1e-9), True)
expect("area", math.isclose(whole["area"], 1.5 + math.sqrt(3) / 2, rel_tol=1e-9), True)
expect("closed", (whole["watertight"], torn["watertight"]), (True, False))
expect("inside out", turned["volume"] < 0, True)

# A prior and one measurement of equal weight meet half way; a flat start and 5 of 5 lost.
learned = ask("learn.py", {
    "usual": [{"prior": [2, 4, 6], "measured": [8], "log": False},
              {"prior": [1, 2, 4], "measured": [], "log": True}],
    "chance": [[1, 1, 5, 5]],
})
expect("half way", math.isclose(learned["usual"][0][1], 6, rel_tol=1e-4), True)
expect("prior alone", [round(v, 4) for v in learned["usual"][1]], [1, 2, 4])
expect("all lost", math.isclose(learned["chance"][0][1], 6 / 7, rel_tol=1e-9), True)

said = ask("terminal.py", {
    "command": ["/bin/sh", "-c", "printf 'name? '; read name; test -t 0 && echo hello $name; exit 3"],
    "answers": [["name?", "ada\r"], ["never asked", "x"]],
})
expect("terminal", (said["exit"], "hello ada" in said["screen"]), (3, True))
expect("not asked", said["left"], [["never asked", "x"]])
# 7 needed of packs of 5 for 9 and of 3 for 6: 5 + 3 for 15, one over; one supplier charges 2. With
# only two of each 30 cannot be had.
pack = {"supplier": 0, "need": 0}
market = {"charges": [2], "needs": [7], "packs": [
    pack | {"size": 5, "at_most": 2, "prices": [[1, 9]]},
    pack | {"size": 3, "at_most": 2, "prices": [[1, 6]]},
]}
bought, short = ask("packs.py", [market, market | {"needs": [30]}])
expect("packs", (bought, short), ([17, 8, 2], None))

# Half at 10 % and half at 20 % make 15 %: (1 + 3) / 2 for 1 kg; of the first alone there is none.
metal = {"at_least": 0, "at_most": None, "piece": None, "returns": False}
melt = {"mass": 1, "at_most": None, "limits": [[0.15, 0.15]], "recovery": [[1, 1], [1, 1]],
        "most_returns": 1, "sources": [
    metal | {"price": 1, "content": [[0.1, 0.1], [0.9, 0.9]]},
    metal | {"price": 3, "content": [[0.2, 0.2], [0.8, 0.8]]},
]}
made, none = ask("charge.py", [melt, melt | {"sources": melt["sources"][:1]}])
expect("charge", math.isclose(made["cost"], 2, rel_tol=1e-9), True)
expect("no charge", none["cost"], None)
# Two moulds of 3 in pots of 5, then of 6: two heats on two days, since the furnace melts one a day;
# then one heat on the first, but for a pot that may be lifted with no more than 5; a first heat that
# the other waits for makes two again.
mould = {"alloy": 0, "charge": 3, "charge_most": 3, "flask": 0, "sand": 1, "keeps": 480, "stands": None, "ram": 30, "pour": 10,
         "melts": 0, "cool": 60, "shake": 20, "rest": 0, "fit": 30}
build = {"people": 1, "open": 540, "length": 480, "days": 3, "aim": "finish", "melt": 60, "set_up": 15,
         "clear_up": 0, "warm_up": 30, "arrives": [],
         "heats_per_day": 1, "least_piece": 15, "patterns": [60, 60],
         "moulds": [mould | {"pattern": 0}, mould | {"pattern": 1}],
         "pots": [[[5, 9]]], "flasks": [2], "heap": None, "needs": [], "firsts": []}
large = build | {"pots": [[[6, 9]]]}
# An hour and 40 min of clearing up leaves too little of the day for one, and enough for two; a part that
# comes on the third day is fitted then; metal that takes 4 h a mould to melt is a heat a day.
cleared = large | {"clear_up": 100}
slow = large | {"moulds": [m | {"melts": 240_000} for m in large["moulds"]]}
apart, together, narrow, late, heavy, first, alone, both, third, slowly = ask("heats.py", {"effort": 8, "builds": [
    build, large, large | {"flasks": [1]}, build | {"days": 1},
    large | {"pots": [[[6, 5]]]}, large | {"firsts": [[0, [1]]]},
    cleared, cleared | {"people": 2}, large | {"arrives": [[1, 2 * 1440]]}, slow,
]})["builds"]
expect("two heats", apart, {"day": 1, "heats": 2, "proven": True})
expect("one heat", together, {"day": 0, "heats": 1, "proven": True})
expect("one flask", narrow, {"day": 1, "heats": 2, "proven": True})
expect("too few days", late, None)
expect("too heavy together", heavy, {"day": 1, "heats": 2, "proven": True})
expect("first heat", first, {"day": 1, "heats": 2, "proven": True})
expect("clearing up alone", alone, {"day": 1, "heats": 1, "proven": True})
expect("clearing up with a mate", both, {"day": 0, "heats": 1, "proven": True})
expect("a part that comes late", third, {"day": 2, "heats": 1, "proven": True})
expect("slow to melt", slowly, {"day": 1, "heats": 2, "proven": True})

# An event, and an alarm that was slipped into one; a line that is no property.
event = ("BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:x\r\nNAME;VALUE=TEXT:a\\, b\r\nBEGIN:VEVENT\r\nUID:1\r\n"
         "DTSTAMP:20260110T000000Z\r\nDTSTART:20260110T090000\r\nDTEND:20260110T150000\r\n"
         "SUMMARY:a\\; b\r\nDESCRIPTION:c\\nd\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n")
told = ask("calendar_file.py", {"text": event})
expect("event", (told["components"], told["name"], told["events"][0]["summary"],
                 told["events"][0]["description"], told["events"][0]["start"], told["faults"]),
       (["VCALENDAR", "VEVENT"], "a, b", "a; b", "c\nd", "2026-01-10T09:00:00", []))
alarm = "SUMMARY:a\r\nBEGIN:VALARM\r\nACTION:AUDIO\r\nTRIGGER:-PT5M\r\nEND:VALARM"
told = ask("calendar_file.py", {"text": event.replace("SUMMARY:a\\; b", alarm)})
expect("alarm", "VALARM" in told["components"], True)
told = ask("calendar_file.py", {"text": event.replace("UID:1", "UID:1\r\nCREATED:noon")})
expect("no date", told["faults"] != [], True)
print("reference scripts: every case answered as worked out by hand")
