#!/usr/bin/env python3
"""What keeps the house in order, read from the tree itself: house_check.py WHAT ROOT

readmes   every folder of model/ and sched/ has a README that says what comes in, what goes out and what to read
          first, and names the files of the folder, all of them and no others
headers   a .cpp longer than 150 lines says at its top how it works
paths     paths that comments and documents name exist
format    clang-format 14 has nothing to say about any tracked source
columns   every column of the tables of steps and limits is read somewhere
"""
import os
import re
import subprocess
import sys


def tracked(root, *endings):
    """Files that belong to the tree; without git (a copied source) all that is there."""
    git = subprocess.run(["git", "-C", root, "ls-files", "-z"], capture_output=True, check=False)
    if git.returncode == 0:
        names = [n for n in git.stdout.decode().split("\0") if n]
    else:
        names = []
        for folder, inside, files in os.walk(root):
            inside[:] = [f for f in inside if not f.startswith((".", "build"))]
            names += [os.path.relpath(os.path.join(folder, f), root) for f in files]
    return sorted(n for n in names if n.endswith(endings) and os.path.exists(os.path.join(root, n)))


def text(root, name):
    with open(os.path.join(root, name), encoding="utf-8") as file:
        return file.read()


def sources(root, *tops):
    return [n for n in tracked(root, ".cpp", ".hpp") if n.startswith(tops)]


def readmes(root):
    wrong = []
    folders = {}
    for name in sources(root, "model/", "sched/"):
        folder, file = os.path.split(name)
        folders.setdefault(folder, set()).add(file.rsplit(".", 1)[0])
        while "/" in folder:
            folder, inside = os.path.split(folder)
            folders.setdefault(folder, set())
            if not any(n.startswith(folder + "/" + inside + ".") for n in tracked(root, ".cpp")):
                folders.setdefault(folder + "//", set()).add(inside)
    for folder in sorted(f for f in folders if not f.endswith("//")):
        name = folder + "/README.md"
        if not os.path.exists(os.path.join(root, name)):
            wrong.append(f"{name} is missing")
            continue
        readme = text(root, name)
        for start in ("# " + folder, "In: ", "Out: ", "Read first: "):
            if not re.search("^" + re.escape(start), readme, re.M):
                wrong.append(f"{name}: no line that begins with \"{start}\"")
        listed = set(re.findall(r"^- `([^`]+)`: .{10,}", readme, re.M))
        there = folders[folder] or folders[folder + "//"]
        for stem in sorted(there - listed):
            wrong.append(f"{name} does not name {stem}")
        for stem in sorted(listed - there):
            wrong.append(f"{name} names {stem}, which is not there")
    return len(folders), wrong


def headers(root):
    wrong, seen = [], 0
    for name in sources(root, "model/", "sched/"):
        lines = text(root, name).splitlines()
        if not name.endswith(".cpp") or len(lines) <= 150:
            continue
        seen += 1
        comment = []
        for line in lines:
            if not line.startswith("//"):
                break
            comment.append(line.lstrip("/ "))
        if len(" ".join(comment)) < 60:
            wrong.append(f"{name}: {len(lines)} lines, and its top does not say how it works")
    return seen, wrong


# Of other projects, or made up for an example.
OTHERS = {"tests/kat_vectors", "tests/data/benchmarks/CLASS"}
PATH = re.compile(r"(?<![\w/.<{*-])((?:model|sched|tests|docs|scenarios|\.ci)/[\w./-]*[\w])")


def paths(root):
    wrong, seen = [], 0
    for name in tracked(root, ".cpp", ".hpp", ".md", ".py", ".sh", ".cmake", ".txt", ".1"):
        if name.startswith("tests/data/") or name == "CHANGELOG.md":
            continue  # others' files; names of their time
        for number, line in enumerate(text(root, name).splitlines(), 1):
            if name.endswith((".cpp", ".hpp")):
                if "//" not in line:
                    continue
                line = line[line.index("//"):]
            for path in PATH.findall(line):
                if path in OTHERS:
                    continue
                seen += 1
                full = os.path.join(root, path)
                # A pair of files is often called by its stem.
                if any(os.path.exists(full + e) for e in ("", ".hpp", ".cpp", ".md")):
                    continue
                wrong.append(f"{name}:{number}: {path} is not there")
    return seen, wrong


def layout(root):
    tool = next((t for t in ("clang-format-14", "clang-format") if subprocess.run(
        ["sh", "-c", f"command -v {t}"], capture_output=True, check=False).returncode == 0), None)
    version = subprocess.run([tool, "--version"], capture_output=True, check=True).stdout.decode() if tool else ""
    if " 14." not in version:
        print("clang-format 14 is not there")
        sys.exit(77)  # other versions lay out otherwise
    names = tracked(root, ".cpp", ".hpp")
    found = subprocess.run([tool, "--dry-run", *names], cwd=root, capture_output=True, check=False)
    wrong = sorted({line.split(":")[0] for line in found.stderr.decode().splitlines() if "warning:" in line})
    return len(names), [f"{name}: clang-format -i {name}" for name in wrong]


def columns(root):
    """Members of the structs that tables are made of, and who reads them besides the table."""
    wrong, seen = [], 0
    everything = {n: text(root, n) for n in sources(root, "model/", "sched/")}
    for header, struct in (("model/room/steps.hpp", "StepRow"), ("model/route/limits.hpp", "LimitRow"),
                           ("sched/report/words/steps.hpp", "CautionLine")):
        body = re.search(r"struct " + struct + r"\b[^{;]*\{(.*?)^\};", everything.get(header, ""), re.S | re.M)
        if not body:
            continue
        code = re.sub(r"//[^\n]*", "", body.group(1))
        for member in re.findall(r"(\w+)(?:\s*=[^;]*|\{[^;]*\})?;", code):
            seen += 1
            if not any(re.search(r"(\.|->)" + member + r"\b(?!\s*=[^=])", t) for n, t in everything.items()
                       if n != header):
                wrong.append(f"{header}: nobody reads {struct}::{member}")
    return seen, wrong


def main():
    what, root = sys.argv[1], sys.argv[2]
    seen, wrong = {"readmes": readmes, "headers": headers, "paths": paths, "format": layout,
                   "columns": columns}[what](root)
    for line in wrong:
        print(line)
    if not seen:
        print("nothing was found to look at")
    print(f"{what}: {seen} looked at, {len(wrong)} wrong")
    sys.exit(1 if wrong or not seen else 0)


if __name__ == "__main__":
    main()
