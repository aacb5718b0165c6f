#!/usr/bin/python3
"""What the stamps of figures notice (figures.py): other code and other data, not comments and layout; a table
without a stamp; and what a remade figure says. Argument: the source folder."""
import os
import subprocess
import sys
import tempfile

FIGURES = sys.argv[1] + "/tests/docs/figures.py"
PAGE = """# Page

## Measured

<!-- figures: pairing
made by: coatroom size room --json
rests on: code room/room.yaml
stamp: unknown -->
old text
<!-- end figures -->

<!-- figures: campaign
made by hand: coatroom-long
rests on: code
stamp: unknown -->
| a | b | c |
|---|---|---|
| x | 1 | 2 |
| y | 3 | 4.5 |
"""
# By hand: half-widths 3 against sqrt(3^2 + 4^2) = 5: 1 - 9/25 = 0.64 of the days saved, nearest 5/8.
STUDY = """#!/bin/sh
echo '{"figures": [{"room": "today", "days": 7, "cost": {"interval": {"low": 7, "high": 13}}},
 {"room": "rack", "cost": {"interval": {"low": 6, "high": 14}, "to_today_interval": {"low": -4, "high": 2}}}]}'
"""


def write(path, text):
    os.makedirs(os.path.dirname(path), exist_ok=True)
    open(path, "w", encoding="utf-8").write(text)


def figures(what, root, *more, status=0, **environment):
    done = subprocess.run([sys.executable, FIGURES, what, root, *more], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
                          env={**{k: v for k, v in os.environ.items() if k != "COATROOM_FRESH"}, **environment})
    assert done.returncode == status, (what, done.returncode, done.stdout)
    return done.stdout


def main():
    with tempfile.TemporaryDirectory() as root:
        page, code = root + "/docs/page.md", root + "/code/a.cpp"
        write(page, PAGE)
        write(code, 'int a = 1;  // one\nconst char* s = "a // b";\n')
        write(root + "/room/room.yaml", "room: x\n")
        write(root + "/program", STUDY)
        os.chmod(root + "/program", 0o755)
        figures("check", root)
        said = figures("fresh", root, status=77)
        assert "pairing is older" in said and "ninja docs" in said and "coatroom-long" in said, said
        figures("fresh", root, status=1, COATROOM_FRESH="1")
        figures("remake", root, root + "/program")
        text = open(page, encoding="utf-8").read()
        assert "half-width of 3, two independent samples would have 5, so pairing saves five days in eight." in text, text
        assert "old text" not in text and text.count("<!-- end figures -->") == 1 and "(7 days, rack)" in text
        said = figures("fresh", root)
        assert "campaign (made by hand" in said and "pairing" not in said, said
        figures("stamp", root, "campaign")
        assert "campaign" not in figures("fresh", root)
        assert figures("remake", root, "/bin/false") == ""  # nothing is stale, nothing is run

        write(code, '/* why */\nint a\n    = 1;\nconst char* s = "a // b"; // two\n')
        figures("fresh", root)
        for other in ('int a = 2;\nconst char* s = "a // b";\n', 'int a = 1;\nconst char* s = "a // c";\n'):
            write(code, other)
            figures("fresh", root, status=77)
        write(code, 'int a = 1;\nconst char* s = "a // b";\n')
        figures("fresh", root)
        write(root + "/code/README.md", "words\n")
        figures("fresh", root)
        write(root + "/room/room.yaml", "room: y\n")
        said = figures("fresh", root, status=77)
        assert "pairing" in said and "campaign" not in said, said

        write(page, PAGE + "\n## More\n\n| a | b |\n|---|---|\n| x | 1 |\n| y | 2 |\n| z | 3 |\n| z | 4 |\n")
        said = figures("check", root, status=1)
        assert "page.md:23: a table of figures without a stamp" in said, said
        write(page, PAGE.replace("made by:", "from:"))
        assert "cannot be read" in figures("check", root, status=1)
        write(page, PAGE.replace("rests on: code\n", "rests on: gone\n"))
        assert "gone: neither" in figures("check", root, status=1)
    print("stamps notice what they should")


main()
