#!/usr/bin/env python3
"""Mutation testing of both judges and of the executor: is every rule that is taken out missed?

  tests/mutants/mutants.py check                     every text of the lists stands once in its file (a test)
  nice -n 19 tests/mutants/mutants.py run LIST... [--work DIR] [--only WORD] [--skip N] [--jobs N] [--programs NAME...]

LIST is first_judge, second_judge, executor. The tracked files are copied to DIR (build/mutants), built
there as in a release, with the folders of the lists outside of unity files; then one mutant after the
other: replace, build, run the tests of the list until one fails, put back. Killed: a test failed or the
program stopped. Survived: all tests passed. The last line counts; status 1 if one survived.

A list: `tests:` lines name a test program and its filter, in the order in which they are run; `@` the
file, `?` the rule, `-` lines the exact text, `+` lines what stands there instead (continued lines after
two more characters). `=` lines after it say why the mutant cannot be told apart: it is not run.
"""

import argparse
import os
import pathlib
import shutil
import subprocess
import sys
import time

HERE = pathlib.Path(__file__).resolve().parent
TOP = HERE.parent.parent
LISTS = ["first_judge", "second_judge", "executor"]
LONGEST = 20  # times as long as without a mutant: it may send a test round in a circle


class Mutant:
    def __init__(self, path, rule):
        self.path, self.rule = path, rule
        self.old, self.new, self.same = [], [], []

    def texts(self):
        return "\n".join(self.old), "\n".join(self.new)


def read(name):
    tests, mutants, path = [], [], None
    for line in (HERE / f"{name}.txt").read_text(encoding="utf-8").splitlines():
        if line.startswith("tests:"):
            program, *words = line[6:].split(maxsplit=1)
            tests.append([program] + words)
        elif line.startswith("@ "):
            path = line[2:]
        elif line.startswith("? "):
            mutants.append(Mutant(path, line[2:]))
        elif line[:1] in ("-", "+", "="):
            kept = {"-": mutants[-1].old, "+": mutants[-1].new, "=": mutants[-1].same}[line[0]]
            kept.append(line[2:])
        elif line and not line.startswith("#"):
            sys.exit(f"{name}.txt: what is this line? {line}")
    return tests, mutants


def check():
    wrong = 0
    for name in LISTS:
        for m in read(name)[1]:
            file = TOP / m.path
            old = m.texts()[0]
            count = file.read_text(encoding="utf-8").count(old) if file.exists() else 0
            if count != 1 or not old:
                wrong += 1
                print(f"{name}.txt: {m.path}, \"{m.rule}\": its text stands there {count} times, not once:\n  {old}")
    print(f"{sum(len(read(n)[1]) for n in LISTS)} mutants, {wrong} without their place")
    return 1 if wrong else 0


def copy(work):
    """The tracked files as they are now; unchanged ones keep their times, so little is built again."""
    listed = subprocess.run(["git", "-C", str(TOP), "ls-files", "-z"], check=True, capture_output=True).stdout
    for name in filter(None, listed.decode().split("\0")):
        source, target = TOP / name, work / name
        if not source.is_file():
            continue
        if target.exists() and target.read_bytes() == source.read_bytes():
            continue
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(source, target)
        shutil.copymode(source, target)


class NotBuilt(Exception):
    pass


class Bench:
    def __init__(self, work, jobs, folders):
        self.work, self.jobs, self.usual_s = work, jobs, {}
        self.build_dir = work / "build" / "mutants"
        self.env = dict(os.environ, CCACHE_BASEDIR=str(work))
        configure = ["cmake", "-S", str(work), "-B", str(self.build_dir), "-G", "Ninja", "-DCMAKE_BUILD_TYPE=Release",
                     "-DCMAKE_UNITY_BUILD=ON", "-DCOATROOM_WERROR=ON", "-DCOATROOM_BENCH=OFF", "-DCOATROOM_APART=" + ";".join(folders)]
        if shutil.which("ccache"):
            configure.append("-DCMAKE_CXX_COMPILER_LAUNCHER=ccache")
        subprocess.run(configure, check=True, stdout=subprocess.DEVNULL, env=self.env)

    def build(self, targets):
        done = subprocess.run(["ninja", f"-j{self.jobs}", "-C", str(self.build_dir)] + targets,
                              env=self.env, capture_output=True, text=True)
        return None if done.returncode == 0 else done.stdout

    def failing(self, tests):
        """Builds and runs one test program after the other. @returns the first that fails, None: all pass."""
        for program, *words in tests:
            if wrong := self.build([program]):
                raise NotBuilt(" ".join(x for x in wrong.splitlines() if "error" in x)[:200])
            command = [str(self.build_dir / "tests" / program)] + words + ["--abort"]
            began = time.time()
            most = 30 + LONGEST * self.usual_s[program] if program in self.usual_s else None
            try:
                done = subprocess.run(command, cwd=self.work, capture_output=True, text=True, timeout=most)
            except subprocess.TimeoutExpired:
                return f"{program} (does not end)"
            self.usual_s.setdefault(program, time.time() - began)
            if done.returncode != 0:
                return program
        return None


def run(names, work, only, jobs, skip, programs):
    lists = {name: read(name) for name in names}
    if programs:
        lists = {name: ([t for t in tests if t[0] in programs], ms) for name, (tests, ms) in lists.items()}
    folders = sorted({str(pathlib.PurePosixPath(m.path).parent) for _, ms in lists.values() for m in ms})
    copy(work)
    bench = Bench(work, jobs, folders)
    killed, survived, alike, broken = 0, [], 0, []
    for name, (tests, mutants) in lists.items():
        if program := bench.failing(tests):
            sys.exit(f"{program} fails without a mutant")
        for m in mutants[skip:]:
            if only and only not in m.rule and only not in m.path:
                continue
            if m.same:
                alike += 1
                continue
            began = time.time()
            file = work / m.path
            text = file.read_text(encoding="utf-8")
            old, new = m.texts()
            if text.count(old) != 1:
                sys.exit(f"{m.path}, \"{m.rule}\": its text stands there {text.count(old)} times")
            file.write_text(text.replace(old, new), encoding="utf-8")
            try:
                if program := bench.failing(tests):
                    killed += 1
                    what = f"killed by {program}"
                else:
                    survived.append(m)
                    what = "SURVIVED"
            except NotBuilt as error:
                broken.append(m)
                what = f"does not compile: {error}"
            finally:
                file.write_text(text, encoding="utf-8")
            print(f"{what:12} {m.path}: {m.rule} ({time.time() - began:.0f} s)", flush=True)
    tried = killed + len(survived)
    print(f"{', '.join(names)}: {tried} mutants, {killed} killed, {len(survived)} survived, "
          f"{alike} cannot be told apart, {len(broken)} do not compile")
    return 1 if survived or broken else 0


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("what", choices=["check", "run"])
    parser.add_argument("lists", nargs="*", choices=LISTS + [[]])
    parser.add_argument("--work", type=pathlib.Path, default=TOP / "build" / "mutants")
    parser.add_argument("--only", help="mutants whose rule or file contains this")
    parser.add_argument("--skip", type=int, default=0, help="as many from the beginning of each list")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--programs", nargs="+", help="of the test programs of a list only these")
    args = parser.parse_args()
    return check() if args.what == "check" else run(
        args.lists or LISTS, args.work.resolve(), args.only, args.jobs, args.skip, args.programs)


if __name__ == "__main__":
    sys.exit(main())
