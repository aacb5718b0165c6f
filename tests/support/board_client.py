"""What tests of a board that runs have in common: a request, and a run of the program."""
import json
import subprocess
import urllib.request

PATIENCE = 120  # s; a limit, never an expectation


def ask(url, body=None):
    """GET, or POST of `body`; the answer's JSON."""
    request = urllib.request.Request(url, data=None if body is None else json.dumps(body).encode(), headers={"Content-Type": "application/json"})
    return json.load(urllib.request.urlopen(request, timeout=PATIENCE))


def runner(program):
    """A function that runs it and looks at its status; what it printed."""
    def run(*arguments, status=0):
        done = subprocess.run([program, *arguments], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
        assert done.returncode == status, (arguments, done.stdout)
        return done.stdout

    return run
