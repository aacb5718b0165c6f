#!/usr/bin/python3
"""Load on the board, measured: displays that listen and fetch what is new, marks at a steady rate, memory every 30 s. Not in the tests:
what it says is of the machine that it runs on.
Arguments: program, scenario folder (copied), folder of its plan; seconds, displays, marks a second (120, 50, 20)."""
import http.client
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import threading
import time

PROGRAM, SCENARIO, PLAN = sys.argv[1:4]
EVERY = 30  # s
SECONDS, DISPLAYS, RATE = [int(x) for x in sys.argv[4:7]] + [120, 50, 20][len(sys.argv[4:7]):]


def memory(pid):
    return int(re.search(r"VmRSS:\s+(\d+)", open(f"/proc/{pid}/status").read()).group(1)) / 1024


def processor(pid):
    fields = open(f"/proc/{pid}/stat").read().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def source(i):
    """Each display has an address of its own, as in a room: the board counts requests by address."""
    return (f"127.0.0.{2 + i % 250}", 0)


def ask(port, i, method, path, body=None):
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30, source_address=source(i))
    connection.request(method, path, body, {"Content-Type": "application/json"})
    answer = connection.getresponse()
    data = answer.read()
    connection.close()
    return answer.status, data


def display(port, over, counts, i):
    """Listens; fetches the day when it has changed, as the page does."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30, source_address=source(i))
    connection.request("GET", "/events")
    answer, seen = connection.getresponse(), ""
    while not over.is_set():
        line = answer.readline()
        if not line:
            break
        if line.startswith(b"data: "):
            counts[i][0] += 1
            state = json.loads(line[6:])
            if state["day"] != seen:
                seen = state["day"]
                status, data = ask(port, i, "GET", "/day.json")
                counts[i][1] += status == 200
                counts[i][2] = max(counts[i][2], len(data))
    connection.close()


def main():
    folder = tempfile.mkdtemp(prefix="coatroom-load-")
    shutil.copytree(SCENARIO, folder + "/room")
    shutil.copytree(PLAN, folder + "/out")
    clock = json.load(open(folder + "/out/plan.json"))["run"]["first_start"]
    server = subprocess.Popen([PROGRAM, "board", folder + "/room", "--plan", folder + "/out", "--port", "0", "--threads", "1", "--replications", "19",
                               "--clock", clock], stdout=subprocess.PIPE, text=True)
    port = int(re.match(r"http://127\.0\.0\.1:(\d+)/", server.stdout.readline()).group(1))
    try:
        time.sleep(20)  # the desk of the promises is planned first
        over, counts = threading.Event(), [[0, 0, 0] for _ in range(DISPLAYS)]
        displays = [threading.Thread(target=display, args=(port, over, counts, i), daemon=True) for i in range(DISPLAYS)]
        for d in displays:
            d.start()
        time.sleep(2)
        took, wrong, lock, before, used = [], [], threading.Lock(), memory(server.pid), processor(server.pid)

        def mark(i):
            body = json.dumps({"marks": [{"mark": "opened" if i % 2 else "empty", "what": f"pot {i % 7}", "device": f"tablet {i % DISPLAYS}", "client": str(i)}]})
            begun = time.monotonic()
            status, data = ask(port, i % DISPLAYS, "POST", "/mark", body)
            with lock:
                took.append(1000 * (time.monotonic() - begun))
                if status != 200:
                    wrong.append((status, data[:200]))

        begun, threads, sampled = time.monotonic(), [], []
        for i in range(SECONDS * RATE):
            time.sleep(max(0.0, begun + i / RATE - time.monotonic()))
            if i % (EVERY * RATE) == 0:
                sampled.append(memory(server.pid))
                threads = [t for t in threads if t.is_alive()]
            threads.append(threading.Thread(target=mark, args=(i,)))
            threads[-1].start()
        for t in threads:
            t.join()
        length = time.monotonic() - begun
        after, used = memory(server.pid), processor(server.pid) - used
        over.set()
        took.sort()
        quantile = lambda q: took[min(len(took) - 1, int(q * len(took)))]
        print(f"{len(took)} marks in {length:.0f} s, {len(wrong)} refused {wrong[:1]}; {DISPLAYS} displays: {sum(c[0] for c in counts)} events, "
              f"{sum(c[1] for c in counts)} times the day, up to {max(c[2] for c in counts) // 1024} KiB")
        print(f"mark, ms: p50 {quantile(.5):.1f}, p90 {quantile(.9):.1f}, p99 {quantile(.99):.1f}, longest {took[-1]:.1f}")
        print(f"memory, MiB: {before:.1f} at the start, every {EVERY} s {' '.join(f'{m:.1f}' for m in sampled)}, {after:.1f} at the end; processor {used:.1f} s")
    finally:
        server.kill()
        shutil.rmtree(folder)


main()
