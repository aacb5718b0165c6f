#!/usr/bin/env python3
"""The journal from outside: words of marks, CSV, undo, contradictions; a file of an older version, of a newer one, a
damaged one; no room on the disk, no right to write, two programs at once; and kill -9 while marks are made: what was
acknowledged is there afterwards. The file is read by Python's own sqlite3, not by the program.
journal_test.py SOURCE PROGRAM [--kills N]"""

import argparse
import csv
import json
import os
import pathlib
import random
import re
import resource
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time

parser = argparse.ArgumentParser()
parser.add_argument("source", type=pathlib.Path)
parser.add_argument("program", type=pathlib.Path)
parser.add_argument("--kills", type=int, default=500)
args = parser.parse_args()
ROOM = args.source / "scenarios" / "tomorrow"
COLUMNS = "time,mark,what,step,station,person,reason,by,device,entered,id,undoes"


def run(*arguments, status=0, **how):
    done = subprocess.run([args.program, *map(str, arguments)], capture_output=True, text=True, timeout=120, **how)
    assert done.returncode == status, (arguments, done.returncode, done.stdout[-2000:], done.stderr[-2000:])
    return done.stdout, done.stderr


def mark(room, *words, status=0, **how):
    return run("mark", room, *words, status=status, **how)


def fresh(folder, name):
    room = folder / name
    shutil.copytree(ROOM, room)
    return room


def rows(room):
    """(id, happened, mark, what, step) of all entries, by another reader."""
    with sqlite3.connect(room / "journal.sqlite") as db:
        return db.execute("SELECT id, happened, mark, what, step FROM entry ORDER BY id").fetchall()


def day_of(room):
    return re.search(r"^day: (\S+)", (room / "room.yaml").read_text(), re.M).group(1)


def words(folder):
    room = fresh(folder, "words")
    day = day_of(room)
    names = re.findall(r"name: ([^,}\n]+)", (room / "room.yaml").read_text())
    cabinet = next(n for n in names if "cabinet" in n)
    out, _ = mark(room, "start A1-1 coat at 09:10", "done A1-1 coat", f"down {cabinet}: fan".replace(":", ""),
                  "remake A1-2 pinhole from degrease", "film A2", "returned 58 x 84 cm", "--at", "09:20", "--by", "AD",
                  "--device", "tablet 1")
    assert out.startswith("1  A1-1 coat begun 09:10 (by AD, on tablet 1)\n2  A1-1 coat done 09:20"), out
    assert f"{cabinet} out of work 09:20 (fan" in out and "A1-2 is to be made again from degrease" in out, out
    assert rows(room)[0] == (1, day + "T09:10:00", "start", "A1-1", "coat"), rows(room)
    assert rows(room)[4][2:4] == ("film", "A2") and rows(room)[5][3] == "58 x 84 cm"
    # Small letters, the key of a step, a full date.
    mark(room, "DONE a1-1 Wash-Out at " + day + "T10:00:30")
    assert rows(room)[6][1:] == (day + "T10:00:30", "done", "A1-1", "wash-out"), rows(room)
    # What names nothing: all of it in one pass, nothing is entered.
    before = rows(room)
    _, err = mark(room, "dnoe A1-1", "done A1-9 coat", "down cabinat", "absent Nobody", "film A99", "opened pot",
                  "done A1-1 polish", "done A1-1 coat 7", "undo 99", "undo x", "start A1-1", "done", "done A1-1 coat in moon",
                  "film A1", status=2)
    for said in ('"dnoe" is no mark. Did you mean done?', 'called "A1-9". Did you mean A1-1, A1-2',
                 f'called "cabinat". Did you mean {cabinet}?', "nobody is called \"Nobody\"", "no order is called \"A99\"",
                 "no pot is called", '"polish" is no step', '"7" is too much', "there is no entry 99", "names no entry",
                 "No plan is posted", "needs the tag of a screen", 'no station is called "moon"', "nothing was entered"):
        assert said in err, (said, err)
    assert rows(room) == before
    # Undo: the last of this device, or by number; once.
    out, _ = mark(room, "undo", "--device", "tablet 1")
    assert "entry 6 taken back" in out and "58 x 84 cm back from the press" in out, out
    mark(room, "undo", "--device", "tablet 9", status=2)
    mark(room, "undo 2")
    _, err = mark(room, "undo 2", status=2)
    assert "taken back already, by entry 9" in err, err
    out, _ = mark(room, "--list")
    assert out.count("[taken back]") == 2, out
    # Contradictions are entered, shown at once and in the list, and settled by a later mark.
    out, _ = mark(room, "done A1-1 coat at 09:21", "--by", "BK")
    assert "CONTRADICTION" not in out, out
    out, _ = mark(room, "done A1-1 coat at 09:30", "--by", "CD")
    assert "CONTRADICTION: A1-1 coat is marked done twice, at 09:21 by BK" in out, out
    out, _ = mark(room, "start A1-3 coat at 09:00", "start A1-3 expose at 09:01 with Ada", "--by", "BK", "--json")
    said = json.loads(out)
    assert [e["mark"] for e in said["entered"]] == ["start", "start"] and not said["contradictions"], said
    out, _ = mark(room, "start A1-3 expose at 09:02", "--by", "CD")
    assert "two people at one screen" in out, out
    listed = json.loads(mark(room, "--list", "--json")[0])
    assert len(listed["entries"]) == len(rows(room))
    assert [c["about"] for c in listed["contradictions"] if "settled by" not in c].count("A1-1") == 1, listed
    mark(room, "start A1-1 dry-coat at 09:31")
    listed = json.loads(mark(room, "--list", "--json")[0])
    assert [c for c in listed["contradictions"] if c["about"] == "A1-1"][0]["settled by"] == len(rows(room)), listed
    # Several that hang together in one call, and an undo of one of them.
    mark(room, "done A1-2 coat", "undo", "--device", "x")
    with sqlite3.connect(room / "journal.sqlite") as db:
        assert db.execute("SELECT undoes = id - 1 FROM entry ORDER BY id DESC LIMIT 1").fetchone() == (1,)
    # What is no line of text.
    for odd in (b"remake A1-2 a\nb", b"remake A1-2 \xff", b"remake A1-2 \x1b[2J"):
        ran = subprocess.run([args.program, "mark", room, odd], capture_output=True)
        assert ran.returncode == 2 and b"one line of text" in ran.stderr, ran
    ran = subprocess.run([args.program, "mark", room, "film A1", "--by", "A\tD"], capture_output=True)
    assert ran.returncode == 2, ran
    mark(room, "remake A1-2 " + "x" * 300, status=2)
    # Without anything to do, or nonsense.
    mark(room, status=2)
    mark(room, "-", "done A1-1 coat", status=2)
    mark(folder / "nowhere", "--list", status=2)
    _, err = mark(fresh(folder, "empty"), "--list", status=2)
    assert "nothing has been marked" in err, err
    # Entries are never changed, whoever tries.
    with sqlite3.connect(room / "journal.sqlite") as db:
        for sql in ("DELETE FROM entry WHERE id = 1", "UPDATE entry SET what = 'A9' WHERE id = 1"):
            try:
                db.execute(sql)
                raise AssertionError(sql)
            except sqlite3.IntegrityError as e:
                assert "never" in str(e), e
        assert db.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    return room


def as_csv(folder, room):
    out = folder / "marks.csv"
    mark(room, "--csv", out)
    lines = out.read_text().splitlines()
    assert lines[0] == COLUMNS
    assert f"`{COLUMNS}`" in (args.source / "docs" / "journal.md").read_text()
    table = list(csv.DictReader(lines))
    assert len(table) == len(rows(room))
    assert [r["mark"] for r in table if r["undoes"]] == ["undo"] * sum(r["mark"] == "undo" for r in table)
    assert mark(room, "--csv", "-")[0] == out.read_text()
    # In again: nothing new here; elsewhere all of it, with its own numbers, undos with them.
    assert mark(room, "--import", out)[0].startswith("0 entries")
    other = fresh(folder, "other")
    mark(other, "film A1")
    assert mark(other, "--import", out)[0].startswith(f"{len(table)} entries")
    assert mark(other, "--import", out)[0].startswith("0 entries")
    again = folder / "again.csv"
    mark(other, "--csv", again)
    there = list(csv.DictReader(again.read_text().splitlines()))[1:]
    for a, b in zip(table, there):
        undoes = str(int(a["undoes"]) + 1) if a["undoes"] else ""
        assert {**a, "id": "", "undoes": undoes} == {**b, "id": ""}, (a, b)
    # All that is wrong in one pass, with its place; nothing is entered.
    bad = folder / "bad.csv"
    day = day_of(room)
    bad.write_text("time,mark,what,step,undoes\n"
                   f"{day}T09:00:00,done,A1-1,coat,\n"
                   "soon,done,A1-1,coat,\n"
                   f"{day}T09:00:00,finished,A1-1,coat,\n"
                   f"{day}T09:00:00,done,A1-1,polish,\n"
                   f"{day}T09:00:00,done,,coat,\n"
                   f"{day}T09:00:00,start,A1-1,,\n"
                   f"{day}T09:00:00,undo,,,777\n"
                   f"{day}T09:00:00,done,A1-1,face-coat 2,\n")
    before = rows(other)
    _, err = mark(other, "--import", bad, status=2)
    for place in (":3:1: error", ":4:21: error", ":5:31: error", ":6:26: error", ":7:32: error", ":8:28: error"):
        assert place in err, (place, err)
    assert err.count("error:") == 6, err
    assert rows(other) == before
    bad.write_text("when,mark\n1,2\n")
    mark(other, "--import", bad, status=2)
    mark(other, "--import", folder / "none.csv", status=2)
    # Semicolons and another order of columns, as an office program writes it; rounds and reasons.
    good = folder / "good.csv"
    good.write_text(f"mark;what;time;step;reason\ndone;A1-1;{day} 11:00;face-coat 2;\nremake;A1-2;{day} 11:05;;\"two; pinholes\"\n")
    mark(other, "--import", good)
    with sqlite3.connect(other / "journal.sqlite") as db:
        last = db.execute("SELECT step, round, reason FROM entry ORDER BY id DESC LIMIT 2").fetchall()
    assert last == [("", 1, "two; pinholes"), ("face-coat", 2, "")], last


VERSION_1 = """
CREATE TABLE entry (id INTEGER PRIMARY KEY AUTOINCREMENT, happened TEXT NOT NULL, entered TEXT NOT NULL,
  mark TEXT NOT NULL, what TEXT NOT NULL, step TEXT NOT NULL DEFAULT '', station TEXT NOT NULL DEFAULT '',
  person TEXT NOT NULL DEFAULT '', reason TEXT NOT NULL DEFAULT '', by TEXT NOT NULL DEFAULT '',
  device TEXT NOT NULL DEFAULT '', undoes INTEGER REFERENCES entry(id)) STRICT;
CREATE TABLE plan (entry INTEGER PRIMARY KEY REFERENCES entry(id), fingerprint TEXT NOT NULL,
  now TEXT NOT NULL DEFAULT '', seen INTEGER NOT NULL DEFAULT 0, document TEXT NOT NULL) STRICT;
INSERT INTO entry (happened, entered, mark, what, step, by) VALUES
  ('2026-11-26T09:00:00', '2026-11-26T09:01:00', 'start', 'A1-1', 'coat', 'AD'),
  ('2026-11-26T09:04:00', '2026-11-26T09:04:00', 'done', 'A1-1', 'coat', 'AD');
INSERT INTO entry (happened, entered, mark, what, undoes) VALUES
  ('2026-11-26T09:05:00', '2026-11-26T09:05:00', 'undo', '', 2);
PRAGMA application_id = 1131372916;
PRAGMA user_version = 1;
"""

# As the second version left it: what the first had, and numbers of devices and rounds.
VERSION_2 = VERSION_1.replace("PRAGMA user_version = 1", """
ALTER TABLE entry ADD COLUMN client TEXT NOT NULL DEFAULT '';
ALTER TABLE entry ADD COLUMN round INTEGER NOT NULL DEFAULT 1;
CREATE UNIQUE INDEX entry_client ON entry(device, client) WHERE client <> '';
INSERT INTO entry (happened, entered, mark, what, device, client) VALUES
  ('2026-11-26T09:06:00', '2026-11-26T09:06:00', 'film', 'A2', 'tablet', '7');
PRAGMA user_version = 2""")


def versions(folder):
    room = fresh(folder, "old")
    path = room / "journal.sqlite"
    with sqlite3.connect(path) as db:
        db.executescript(VERSION_1)
    before = path.read_bytes()
    # Read as it is, without a change; brought up to date by the first mark.
    out, _ = mark(room, "--list")
    assert "A1-1 coat begun 09:00 (by AD)" in out and "[taken back]" in out, out
    assert path.read_bytes() == before
    mark(room, "done A1-1 coat at 09:06")
    with sqlite3.connect(path) as db:
        assert db.execute("PRAGMA user_version").fetchone() == (4,)
        assert db.execute("SELECT count(*), max(round), max(client) FROM entry").fetchone() == (4, 1, "")
    assert rows(room)[0][2:] == ("start", "A1-1", "coat")
    # Version 2: marks stay, promises can be kept, never changed or taken out.
    second = fresh(folder, "second")
    with sqlite3.connect(second / "journal.sqlite") as db:
        db.executescript(VERSION_2)
    before = (second / "journal.sqlite").read_bytes()
    assert "A2 film there 09:06" in mark(second, "--list")[0]
    run("promise", second, "--export", "-")
    assert (second / "journal.sqlite").read_bytes() == before
    (second / "promises.csv").write_text("enquiry,asked,screens,promised\nA7,2026-11-24 10:15,4,2026-11-25 16:00\n")
    run("promise", second, "--import", second / "promises.csv")
    with sqlite3.connect(second / "journal.sqlite") as db:
        assert db.execute("PRAGMA user_version").fetchone() == (4,)
        assert db.execute("SELECT count(*), max(client) FROM entry").fetchone() == (4, "7")
        assert db.execute("SELECT enquiry, asked, name FROM promise JOIN promise_file f ON f.id = file").fetchall() == [
            ("A7", "2026-11-24T10:15:00", "promises.csv")]
        db.execute("INSERT INTO acceptance VALUES (1, 'orders.csv', 'x', 'a', 'b')")
        db.execute("INSERT INTO placed VALUES (1, '2026-11-26T09:06:00')")
        for table in ("promise", "promise_file", "acceptance", "placed"):
            column = db.execute(f"SELECT name FROM pragma_table_info('{table}') LIMIT 1").fetchone()[0]
            for sql in (f"DELETE FROM {table}", f"UPDATE {table} SET {column} = {column}"):
                try:
                    db.execute(sql)
                    raise AssertionError(sql)
                except sqlite3.IntegrityError as e:
                    assert "never" in str(e), e
    # Version 3: as this program makes it, without what the fourth has added; a plan that is posted stays posted.
    third = fresh(folder, "third")
    run("plan", third, "--on-paper", "--budget", "5sch", "--quiet", "--post")
    with sqlite3.connect(third / "journal.sqlite") as db:
        db.execute("ALTER TABLE plan DROP COLUMN accepted_with")
        db.execute("PRAGMA user_version = 3")
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    before = (third / "journal.sqlite").read_bytes()
    assert "was made of these files" in run("check", third)[0]
    assert (third / "journal.sqlite").read_bytes() == before
    mark(third, "down cabinet")
    with sqlite3.connect(third / "journal.sqlite") as db:
        assert db.execute("PRAGMA user_version").fetchone() == (4,)
        assert db.execute("SELECT entry, accepted_with FROM plan").fetchall() == [(1, 0)]
    assert "was made of these files" in run("check", third)[0]
    with sqlite3.connect(path) as db:
        db.execute("PRAGMA user_version = 99")
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    for file in room.glob("journal.sqlite-*"):
        file.unlink()
    before = path.read_bytes()
    for what in (["done A1-1 coat"], ["--list"]):
        _, err = mark(room, *what, status=2)
        assert "later version" in err and str(path) in err, err
    assert path.read_bytes() == before
    # Damaged: anywhere in the file, cut short, or another program's. Named, not overwritten.
    good = fresh(folder, "damaged")
    path = good / "journal.sqlite"
    mark(good, *[f"film A{k}" for k in (1, 2, 3)] * 40)
    with sqlite3.connect(path) as db:
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    whole = path.read_bytes()
    for broken in (b"x" * len(whole), whole[:100] + b"\xff" * 4000 + whole[4100:], whole[:1000], b"SQLite format 3\0"):
        path.write_bytes(broken)
        for what in (["film A1"], ["--list"]):
            _, err = mark(good, *what, status=2)
            assert str(path) in err and "Nothing was written" in err, err
        _, err = run("check", good, status=2)
        assert str(path) in err, err
        assert path.read_bytes() == broken
        for file in good.glob("journal.sqlite-*"):
            file.unlink()
    path.unlink()
    with sqlite3.connect(path) as db:
        db.execute("CREATE TABLE shopping (thing)")
    before = path.read_bytes()
    _, err = mark(good, "film A1", status=2)
    assert "another program" in err, err
    assert path.read_bytes() == before
    path.write_bytes(whole)
    assert "entry" not in mark(good, "film A1")[1]


def no_room(folder):
    """A limit on the size of files is a full disk at every write."""
    room = fresh(folder, "full")
    mark(room, "film A1")
    before = rows(room)

    def small(size):
        return lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))

    refused = 0
    for size in (0, 100, 4000, 4200, 5000, 9000, 13000, 20000, 33000):
        ran = subprocess.run([args.program, "mark", room, "done A1-1 coat"], capture_output=True, text=True,
                             preexec_fn=small(size))
        now = rows(room)
        if ran.returncode == 0:  # it had room enough
            assert len(now) == len(before) + 1 and ran.stdout.startswith(f"{len(now)} "), (size, ran)
        else:
            assert ran.returncode == 74 and "not entered" in ran.stderr and "journal.sqlite" in ran.stderr, (size, ran)
            assert now == before, size
            refused += 1
        before = now
    assert refused >= 3
    assert not mark(room, "film A2")[1]
    new = fresh(folder, "full-new")
    _, err = mark(new, "film A1", status=74, preexec_fn=small(0))
    assert "not entered" in err, err
    mark(new, "film A1")
    assert len(rows(new)) == 1
    # The answer cannot be printed: the entry stands, and the status says so.
    ran = subprocess.run(["bash", "-c", f"{args.program} mark {new} 'film A2' > /dev/full"], capture_output=True)
    assert ran.returncode == 74 and len(rows(new)) == 2
    if os.geteuid() != 0:
        locked = fresh(folder, "locked")
        mark(locked, "film A1")
        locked.chmod(0o555)
        _, err = mark(locked, "film A2", status=74)
        assert "not entered" in err, err
        assert "film there" in mark(locked, "--list")[0]
        locked.chmod(0o755)
        (locked / "journal.sqlite").chmod(0o444)
        _, err = mark(locked, "film A2", status=74)
        assert "not entered" in err, err
        assert len(rows(locked)) == 1


def at_once(folder):
    room = fresh(folder, "both")
    writers = [subprocess.Popen([args.program, "mark", room, "-", "--device", f"d{k}"], stdin=subprocess.PIPE,
                                stdout=subprocess.PIPE, text=True) for k in range(4)]
    text = "".join(f"film A{1 + k % 3} at 09:{k:02d}\n" for k in range(50))
    answers = []
    for writer in writers:
        writer.stdin.write(text)
        writer.stdin.close()
    for writer in writers:
        answers += [int(line.split()[0]) for line in writer.stdout]
        assert writer.wait() == 0
    assert sorted(answers) == list(range(1, 201)), answers
    assert len(rows(room)) == 200


def lines(folder):
    room = fresh(folder, "lines")
    ran = subprocess.run([args.program, "mark", room, "-"], input="film A1\n# a remark\n\nflim A2\r\nfilm A2\r\nundo",
                         capture_output=True, text=True)
    assert ran.returncode == 2 and '"flim" is no mark' in ran.stderr, ran
    assert [line.split()[0] for line in ran.stdout.splitlines()] == ["1", "2", "3"], ran.stdout
    assert [r[2] for r in rows(room)] == ["film", "film", "undo"]


def killed(folder):
    """Marks are fed to one process after another, each killed at a random instant; half of them make the file anew.
    What was acknowledged (its number was printed) is there, what was not is there or not, and nothing else is."""
    dice = random.Random(17)
    kills, acknowledged, found = 0, 0, 0
    room = folder / "killed"
    shutil.copytree(args.source / "scenarios" / "first-day", room)  # soon read
    path = room / "journal.sqlite"
    while kills < args.kills:
        if kills % 50 == 0:
            for file in room.glob("journal.sqlite*"):
                file.unlink()
            known = {}
        text = "".join(f"film {'TPB'[k % 3]}1 at 09:{dice.randrange(60):02d}\n" for k in range(400))
        process = subprocess.Popen([args.program, "mark", room, "-", "--device", str(kills)], stdin=subprocess.PIPE,
                                   stdout=subprocess.PIPE, text=True)
        try:
            process.stdin.write(text)
            process.stdin.flush()
        except BrokenPipeError:
            pass
        # From before the file is there (a third of them) to some dozens of marks later.
        out = ""
        if kills % 3 == 0:
            time.sleep(dice.random() * 0.1)
        else:
            for _ in range(dice.randrange(1, 20)):
                out += process.stdout.readline()
            time.sleep(dice.random() * 0.004)
        process.send_signal(signal.SIGKILL)
        out += process.stdout.read()
        process.wait()
        try:
            process.stdin.close()
        except BrokenPipeError:
            pass
        kills += 1
        for line in out.split("\n")[:-1]:  # whole lines
            number, name = line.split()[:2]
            assert int(number) not in known
            known[int(number)] = name
            acknowledged += 1
        if not path.exists():
            assert not known
            continue
        with sqlite3.connect(path) as db:
            if kills % 25 == 0:
                assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)
            tables = db.execute("SELECT count(*) FROM sqlite_master WHERE name = 'entry'").fetchone()[0]
            entries = dict(db.execute("SELECT id, what FROM entry")) if tables else {}
        for number, name in known.items():
            assert entries.get(number) == name, (kills, number, name, entries.get(number))
        # One at most was in the making.
        extra = set(entries) - set(known)
        assert len(extra) <= 1, extra
        known.update({number: entries[number] for number in extra})
        found += len(extra)
    print(f"{kills} kills, {acknowledged} marks acknowledged and found, {found} found that were not acknowledged")
    assert acknowledged > kills
    # And it goes on.
    mark(room, "film T1")


def main():
    scratch = pathlib.Path(tempfile.mkdtemp(prefix="coatroom-journal-"))
    try:
        room = words(scratch)
        as_csv(scratch, room)
        versions(scratch)
        no_room(scratch)
        at_once(scratch)
        lines(scratch)
        killed(scratch)
    finally:
        subprocess.run(["chmod", "-R", "u+w", scratch])
        shutil.rmtree(scratch, ignore_errors=True)


if __name__ == "__main__":
    sys.exit(main())
