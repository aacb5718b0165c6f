"""The first room with a second cabinet and a second person, and two orders: one cabinet may fail and the day goes on."""
import re
import shutil


def make(source, folder):
    shutil.copytree(source + "/scenarios/first-day", folder)
    path = folder + "/room.yaml"
    text = open(path, encoding="utf-8").read()
    cabinet = re.search(r"  - name: cabinet\n(    .*\n)+", text).group(0)
    text = text.replace(cabinet, cabinet.replace("name: cabinet", "name: cabinet 1") + cabinet.replace("name: cabinet", "name: cabinet 2"))
    text = text.replace("  - {name: Ada, can: everything,", "  - {name: Ben, can: everything, shifts: Mon-Fri 07:00-15:30}\n  - {name: Ada, can: everything,")
    open(path, "w", encoding="utf-8").write(text)
    open(folder + "/orders.csv", "w", encoding="utf-8").write(
        "order,job,due,count,mesh,frame,emulsion,coat plan\n"
        "T1,team shirts,2026-11-26 11:30,2,77-55,58 x 84 cm,photopolymer B,1+1\n"
        "P1,concert poster,2026-11-26 14:30,1,120-34,58 x 84 cm,photopolymer B,2+2\n")
