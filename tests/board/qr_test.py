#!/usr/bin/python3
"""The QR code of `board --lan`, read back by an outside decoder (zbarimg): it says the address that is printed, and that address lets a
display in. It stands in a terminal, with --qr anywhere, else nowhere. Arguments: program, source folder, folder for pictures (optional)."""
import http.client
import os
import pty
import re
import shutil
import signal
import subprocess
import sys
import tempfile

from PIL import Image

PROGRAM, SOURCE = sys.argv[1], sys.argv[2]
PICTURES = sys.argv[3] if len(sys.argv) > 3 else None
SKIPPED = 77
COLOURS, END = "\033[38;5;16;48;5;231m", "\033[0m"
# Upper and lower half of a character: dark or light.
HALVES = {" ": (0, 0), "▀": (1, 0), "▄": (0, 1), "█": (1, 1)}


def printed(folder, *more, terminal=False, columns=0):
    """What the board prints until it serves, and what a client gets at the address that the code says (`visit`)."""
    command = [PROGRAM, "board", folder, "--port", "0", "--threads", "1", "--replications", "19", *more]
    if terminal:
        ours, theirs = pty.openpty()
        if columns:
            import fcntl
            import struct
            import termios
            fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
        server = subprocess.Popen(command, stdout=theirs, stderr=subprocess.DEVNULL)
        os.close(theirs)
        read = lambda: os.read(ours, 65536)
    else:
        server = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
        read = lambda: os.read(server.stdout.fileno(), 65536)
    text = b""
    while b"Ctrl-C" not in text:
        some = read()
        assert some, text
        text += some
    return server, text.decode().replace("\r\n", "\n")


def ended(server):
    server.send_signal(signal.SIGINT)
    server.wait(timeout=60)


def modules(text):
    rows = []
    for line in text.split("\n"):
        if line.startswith(COLOURS):
            halves = [HALVES[c] for c in line[len(COLOURS):line.index(END)]]
            rows += [[h[0] for h in halves], [h[1] for h in halves]]
    return rows


def read_back(rows, name):
    side = len(rows[0])
    # ISO/IEC 18004: 21 to 177 modules a side, in steps of four, and four light ones round it.
    assert (side - 8 - 21) % 4 == 0 and all(len(r) == side for r in rows) and side <= len(rows) <= side + 1, (side, len(rows))
    scale = 6
    image = Image.new("L", (side * scale, len(rows) * scale), 255)
    for y, row in enumerate(rows):
        for x, dark in enumerate(row):
            if dark:
                image.paste(0, (x * scale, y * scale, (x + 1) * scale, (y + 1) * scale))
    if PICTURES:
        os.makedirs(PICTURES, exist_ok=True)
        image.save(os.path.join(PICTURES, name + ".png"))
    with tempfile.NamedTemporaryFile(suffix=".png") as file:
        image.save(file.name)
        return subprocess.run(["zbarimg", "--quiet", "--raw", "-Sdisable", "-Sqrcode.enable", file.name], capture_output=True, text=True, check=True).stdout.strip()


def lets_in(address):
    found = re.fullmatch(r"http://([^:/]+):(\d+)(/\?token=[0-9a-f]{32})", address)
    assert found, address
    connection = http.client.HTTPConnection(found[1], int(found[2]), timeout=20)
    connection.request("GET", found[3])
    answer = connection.getresponse()
    assert answer.status == 303 and answer.getheader("Set-Cookie", "").startswith("coatroom="), answer.status
    connection.close()


def main():
    if not shutil.which("zbarimg"):
        print("skipped: no zbarimg (package zbar-tools) to read the code back")
        return SKIPPED
    with tempfile.TemporaryDirectory() as top:
        folder = top + "/room"
        shutil.copytree(SOURCE + "/scenarios/first-day", folder)
        server, text = printed(folder, "--lan", "--qr")
        try:
            addresses = [a for a in re.findall(r"^(http://\S+)$", text, re.M) if "127.0.0.1" not in a]
            rows = modules(text)
            assert rows and addresses, text
            said = read_back(rows, "qr")
            assert said == addresses[0], (said, addresses)
            lets_in(said)
        finally:
            ended(server)
        # In a terminal without being asked, and not where it would be broken.
        for columns, wanted in [(120, True), (40, False)]:
            server, text = printed(folder, "--lan", terminal=True, columns=columns)
            ended(server)
            assert bool(modules(text)) == wanted, (columns, text)
            assert wanted or "too narrow" in text, text
            if wanted:
                assert read_back(modules(text), "qr-terminal") in text
        # Not where the output is kept, and not without a token.
        for more in [["--lan"], ["--qr"]]:
            server, text = printed(folder, *more)
            ended(server)
            assert not modules(text) and "█" not in text, text
    print("the code says the address that lets in")
    return 0


sys.exit(main())
