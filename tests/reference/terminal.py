"""Runs a command at a pseudo-terminal and answers its questions.

In: {"command": [...], "answers": [[text that is waited for, what is typed], ...]}.
Out: {"exit": code, "screen": all that was written, without escape sequences}.
Only Python's own library is used (POSIX).
"""

import json
import os
import pty
import re
import select
import struct
import sys
import fcntl
import termios
import time

given = json.load(sys.stdin)
child, terminal = pty.fork()
if child == 0:
    os.environ["TERM"] = "xterm"
    os.execv(given["command"][0], given["command"])
fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", 40, 100, 0, 0))

escapes = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]|\x1b[=>]")
screen, seen, ended = "", 0, False
answers = list(given["answers"])
until = time.time() + 60
while not ended and time.time() < until:
    if select.select([terminal], [], [], 0.1)[0]:
        try:
            data = os.read(terminal, 4096)
        except OSError:
            data = b""
        ended = not data
        text = data.decode("utf-8", "replace")
        if "\x1b[6n" in text:
            os.write(terminal, b"\x1b[1;1R")
        screen += escapes.sub("", text)
    if answers and answers[0][0] in screen[seen:]:
        waited, typed = answers.pop(0)
        seen = screen.index(waited, seen) + len(waited)
        time.sleep(0.05)
        os.write(terminal, typed.encode())
if not ended:
    os.kill(child, 9)
status = os.waitpid(child, 0)[1]
print(json.dumps({"exit": os.waitstatus_to_exitcode(status), "screen": screen, "left": answers}))
