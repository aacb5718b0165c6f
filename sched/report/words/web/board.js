"use strict";
// The board: who does what now, what comes next, how late it is. Texts enter the page as text nodes only.
// How it works: /board.json is the plan in rows, /day.json what was marked. Rows become tasks, which get the times that
// hold: those marked, else those planned, by the server's clock. A view (stations, people, orders, one of them) is made of
// them as cells; as many columns are taken as give the largest letters with everything in view. /events says when
// something is new; without it /state is asked every few seconds. marks.js hangs what a touch does on board.hooks.
const board = (function () {
  const $ = (id) => document.getElementById(id);
  const DAYS = ["Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"];
  const MANY = 24;      // places of a station that are drawn one by one, at most
  const RISK = .2;      // chance to be late from which an order is at risk: marked, and in the line below
  const two = (n) => String(n).padStart(2, "0");
  const dayOf = (t) => Math.floor(t / 1440);
  const whole = (t) => Math.ceil(t - 1e-6);  // whole minutes, up: as in every text
  function clock(t, day) {
    const w = whole(t), of = w - dayOf(w) * 1440, text = two(Math.floor(of / 60)) + ":" + two(of % 60);
    return day === undefined || dayOf(w) === day ? text : DAYS[new Date(w * 60000).getUTCDay()] + " " + text;
  }
  const length = (m) => {
    const r = Math.max(0, Math.round(m)), h = Math.floor(r / 60);
    return h >= 48 ? Math.floor(h / 24) + " days" : h ? h + " h" + (r % 60 && h < 10 ? " " + (r % 60) : "") : r + " min";
  };
  const at = (text) => {  // "2026-11-26T09:10:30" as minutes
    const [date, time] = text.split("T"), [y, mo, d] = date.split("-").map(Number), [h, m, s] = time.split(":").map(Number);
    return Date.UTC(y, mo - 1, d) / 60000 + h * 60 + m + (s || 0) / 60;
  };
  const stamp = (t) => new Date(Math.round(t * 60) * 1000).toISOString().slice(0, 19);

  const state = {plan: null, version: "", day: {marks: []}, dayVersion: "", view: "stations", of: "", shift: 0, heard: 0, clock: null, pace: 1, message: "", lost: false, lastHeard: 0, server: {}};
  const hooks = {};  // of marks.js: panel(kind, name, lines), said(), more(parts), changed(), lost(), back()

  // ---- the device ----
  const asked = new URLSearchParams(location.search);
  const keep = (name, value) => { try { value ? localStorage.setItem(name, value) : localStorage.removeItem(name); } catch (e) { /* private window */ } };
  const kept = (name) => { try { return localStorage.getItem(name) || ""; } catch (e) { return ""; } };
  if (asked.has("place")) keep("coatroom-place", asked.get("place"));
  const bright = ["office", "press"];  // where no emulsion is open
  const device = {
    get place() { return kept("coatroom-place"); },
    set place(name) { keep("coatroom-place", name); light(); },
    get who() { return kept("coatroom-who"); },
    set who(name) { keep("coatroom-who", name); },
  };
  function light() { document.documentElement.className = bright.includes(device.place) ? "light" : "safelight"; }
  light();
  const turning = asked.has("wall") ? Math.max(5, Number(asked.get("wall")) || 20) : 0;  // seconds a page

  // ---- the plan ----
  function read(plan) {
    const m = (s) => s === null ? null : s / 60, over = new Set(plan.over);
    const ops = plan.rows.map((r, i) => {
      const [tag, step, round, words, place, also, people, places, t0, t1, t2, pe, he, batch] = r;
      return {i, screen: tag < 0 ? "" : plan.tags[tag], order: tag < 0 ? "" : plan.tag_orders[tag], step: plan.steps[step], round, words,
        place: place < 0 ? "" : plan.stations[place].name, also: also.map((s) => plan.stations[s].name), people: people.map((p) => plan.people[p].name),
        places: Math.max(1, places), t0: m(t0), t1: m(t1), t2: m(t2), placeEnd: m(pe), personEnd: m(he), batch, over: over.has(i)};
    });
    ops.sort((a, b) => a.t0 - b.t0 || a.i - b.i);
    const screens = new Map(), tasks = [];
    for (const o of ops) {
      const of = o.screen || "#" + o.i;
      if (!screens.has(of)) screens.set(of, []);
      const list = screens.get(of), last = list[list.length - 1];
      // Loading, lamp and taking out are one task, as is what stands and is then set aside.
      if (last && last.step === o.step && last.round === o.round && last.ops[0].place === o.place) { last.ops.push(o); o.task = last; continue; }
      o.task = {screen: o.screen, order: o.order, step: o.step, round: o.round, ops: [o],
        kind: o.step.startsWith("dry-") ? "dry" : o.step === "put-in" || o.step === "take-out" ? "carry" : "work"};
      list.push(o.task); tasks.push(o.task);
    }
    for (const list of screens.values()) list.forEach((task, i) => {
      task.next = list[i + 1]; task.before = list[i - 1];
      const last = task.ops[task.ops.length - 1];
      task.t0 = task.ops[0].t0; task.t1 = last.t1; task.over = task.ops.every((o) => o.over);
    });
    Object.assign(plan, {ops, screens, tasks, t0: m(plan.t0), t1: m(plan.t1)});
    for (const p of plan.people) p.present = p.present.map(([a, b]) => [m(a), m(b)]);
    plan.now = m(plan.now);
    plan.breaks = plan.breaks.map(([p, a, b]) => ({person: plan.people[p].name, from: m(a), to: m(b)}));
    for (const o of plan.orders) { o.due = m(o.due); o.ready = m(o.ready); o.likely = m(o.likely); }
    for (const p of plan.pots) { p.usable = m(p.usable); p.until = m(p.until); }
    for (const s of plan.stations) if (s.dries && s.places <= MANY) seats(plan, s);
    return plan;
  }
  // Which place of a cabinet each screen hangs in: the first free one when it comes; where two are taken, side by side.
  function seats(plan, station) {
    const until = new Array(station.places).fill(-Infinity), keptBy = new Array(station.places).fill("");
    for (const o of plan.ops.filter((x) => x.place === station.name)) {
      const free = (i) => until[i] <= o.t0 + 1e-9 || keptBy[i] === o.screen;
      let from = keptBy.indexOf(o.screen);
      if (from < 0 || until[from] < o.t0 - 1e-9) {
        from = -1;
        for (let i = 0; i + o.places <= station.places && from < 0; ++i) if ([...Array(o.places).keys()].every((k) => free(i + k))) from = i;
      }
      o.seats = from >= 0 ? [...Array(o.places).keys()].map((k) => from + k)
        : until.map((_, i) => i).filter(free).slice(0, o.places);  // two apart, where no two are side by side
      for (const i of o.seats) { until[i] = o.placeEnd; keptBy[i] = o.screen; }
    }
  }

  // ---- the times that hold ----
  const key = (o) => o.screen + "|" + o.step + "|" + o.round;
  // What was marked, with what this device has not sent yet.
  const marks = () => [...(state.day.marks || []), ...(hooks.queued ? hooks.queued() : [])];
  function settle(t) {
    const plan = state.plan, said = new Map(), used = new Set(), remade = new Map();
    for (const m of marks()) {
      if (m.kind === "remake") {  // what was done on it before is undone
        for (const k of [...said.keys()]) if (k.startsWith(m.what + "|")) said.delete(k);
        if (plan.now === null || plan.now < m.t) remade.set(m.what, m.t);
      }
      if (!["start", "done", "dry"].includes(m.kind)) continue;
      const k = key({screen: m.what, step: m.step, round: m.round - 1}), of = said.get(k) || {};
      // Of two that say the same the later word counts; contradictions are shown apart.
      of[m.kind === "dry" ? "done" : m.kind] = m.t;
      said.set(k, of);
    }
    for (const task of plan.tasks) if (said.has(key(task))) used.add(task.ops[0].place);
    for (const list of plan.screens.values()) {
      let later = Infinity;
      const known = list.map(() => Infinity);
      for (let i = list.length - 1; i >= 0; --i) {
        known[i] = later;
        const m = list[i].screen ? said.get(key(list[i])) : undefined;
        list[i].marked = m;
        if (m) later = Math.min(later, m.start ?? Infinity, m.done ?? Infinity);
      }
      const stopped = list.length ? remade.get(list[0].screen) : undefined;
      let ended = -Infinity, planned = -Infinity;
      list.forEach((task, i) => {
        const m = task.marked || {}, took = task.t1 - task.t0;
        let b = null, e = null;
        task.stopped = false;
        if (task.over || (!list[i].screen)) { b = task.t0; e = task.t1; }
        else if (m.done !== undefined) { e = m.done; b = Math.min(m.start ?? Math.max(ended, Math.min(task.t0, e - Math.min(took, 1))), e); }
        else if (known[i] < Infinity) { b = Math.min(m.start ?? task.t0, known[i]); e = Math.min(Math.max(task.t1, b), known[i]); }
        else if (stopped !== undefined) { task.stopped = true; }
        else if (m.start !== undefined) { b = m.start; }
        else if (ended !== null && !(task.kind === "work" && used.has(task.ops[0].place))) {
          // Nobody marks here: as planned, or as much later as what came before.
          b = Math.max(task.t0, ended + Math.min(Math.max(0, task.t0 - planned), task.kind === "work" ? Infinity : 1));
          if (ended <= planned + 1e-9) b = task.t0;
          e = b + took;
        }
        task.b = b; task.e = e; task.due = Math.max(task.t0, ended ?? task.t0);
        task.expected = e ?? (b === null ? null : b + took);
        for (const o of task.ops) { o.b = b === null ? null : b + (o.t0 - task.t0); o.e = b === null ? null : Math.min(e ?? Infinity, Math.max(o.b, task.expected - (task.t1 - o.t1))); o.open = e === null; }
        ended = e; planned = task.t1;
      });
      // Where the plan has a screen stand until its next step, it stands there until that begins.
      list.forEach((task) => task.ops.forEach((o, k) => {
        const next = task.ops[k + 1] || (task.next && task.next.ops[0]), stays = Math.max(0, (o.placeEnd ?? o.t1) - o.t1);
        const holds = next && o.placeEnd !== null && Math.abs(o.placeEnd - next.t0) < .02;
        o.left = o.b === null ? null : holds && next.b !== null ? next.b : holds || o.e === null || o.open ? Infinity : o.e + stays;
      }));
    }
    state.used = used;
    return t;
  }
  const begun = (o, t) => o.b !== null && o.b <= t;
  const over = (o, t) => o.e !== null && o.e <= t && !(o.open && o.task.ops[o.task.ops.length - 1] === o);
  function lines(kind, name, t) {  // what is here, what is done and still here, what comes
    const ops = state.plan.ops, station = kind === "station";
    const mine = ops.filter((o) => station ? o.place === name || o.also.includes(name) : o.people.includes(name));
    const here = mine.filter((o) => begun(o, t) && (station ? t < o.left : !over(o, t) && (o.open || t < o.e + Math.max(0, (o.personEnd ?? o.t1) - o.t1))));
    const waiting = station ? here.filter((o) => over(o, t)) : [];
    const working = here.filter((o) => !waiting.includes(o)).sort((a, b) => ends(a) - ends(b));
    const next = mine.filter((o) => !begun(o, t) && !o.task.stopped && (o.b !== null || o.e === null) && o.task.ops[0] === o || (!begun(o, t) && o.b !== null && !o.task.stopped)).sort((a, b) => begins(a) - begins(b));
    return {here, waiting, working, next, mine};
  }
  const ends = (o) => o.open && o.task.ops[o.task.ops.length - 1] === o ? o.task.expected : o.e;
  const begins = (o) => o.b ?? Math.max(o.t0, o.task.due);
  const watched = (o) => state.used && state.used.has(o.place) && o.task.kind === "work";  // somebody marks here

  // ---- words ----
  const said = (o) => o.step.replace(/-/g, " ");
  const tag = (o) => o.screen || (o.step.startsWith("mix-") ? "mix" : o.words.startsWith("warm") ? "warm up" : said(o));
  const verb = (o) => o.screen ? (o.step === "expose" ? ["load", "expose", "take out"][o.task.ops.indexOf(o)] || "expose" : o.step === "put-in" && o.place && !placeOf(o).dries ? "set aside" : said(o)) : o.words;
  const placeOf = (o) => state.plan.stations.find((s) => s.name === o.place) || {};
  const late = (o, t) => watched(o) ? Math.floor(t - begins(o)) : 0;  // minutes that it should have begun before
  function left(o, t) {  // [words, late]
    const m = ends(o) - t;
    return m < -.999 ? ["+" + length(-m), true] : [length(Math.max(m, 0) + .499), false];
  }

  // ---- drawing ----
  function node(name, attributes, ...children) {
    const n = document.createElement(name);
    for (const [k, v] of Object.entries(attributes || {})) {
      if (v === null || v === undefined || v === false) continue;
      if (k === "class") n.className = v; else if (k.startsWith("on")) n.addEventListener(k.slice(2), v); else n.setAttribute(k, v === true ? "" : v);
    }
    n.append(...children.filter((c) => c !== null && c !== undefined && c !== false));
    return n;
  }
  const span = (cls, words) => node("span", {class: cls}, words);
  const button = (words, act, more) => node("button", {type: "button", onclick: act, ...more}, words);
  const line = (cls, ...parts) => node("span", {class: cls}, ...parts);
  // Lines break between their parts only: tags and times stay whole.
  const parts = (...words) => words.filter(Boolean).flatMap((w, i) => [i ? " \u00b7 " : "", typeof w === "string" ? span("tag", w) : w]);

  // A card opens its panel; one without is only read.
  function card(name, cls, parts, open, wide, count) {
    const c = node("button", {type: "button", class: "card " + cls, "data-key": "card-" + name, onclick: open}, ...parts);
    c.wide = wide || 1;
    if (count) c.count = count;
    return c;
  }
  const where = (kind, name) => () => show(kind, name);

  function down(name, t) {  // what is said of a station or person that is not to be had
    let m = null;
    for (const x of marks()) if (x.what === name && ["down", "up", "absent", "present"].includes(x.kind)) m = x;
    return m && (m.kind === "down" || m.kind === "absent") && m.t <= t + 1 ? m : null;
  }

  function stationCard(s, t, day) {
    const l = lines("station", s.name, t), taken = l.here.reduce((n, o) => n + (o.place === s.name ? o.places : 1), 0);
    const out = down(s.name, t), slots = s.dries && s.places <= MANY;
    const name = line("name", span("", s.name), s.places > 1 ? span("tag", taken + " of " + s.places) : "");
    let cls = "", first, second = [], bad = false;
    const o = l.waiting.length && !slots ? l.waiting[0] : l.working[0] || l.waiting[0];
    if (out) { first = ["out of work", ""]; second = ["since " + clock(Math.floor(out.t), day), out.reason || ""]; cls = "late"; }
    else if (!o) { first = ["free", ""]; }
    else if (s.places > MANY) {
      first = [l.here.length + " here", ""];
      const long = l.waiting.sort((a, b) => a.e - b.e)[0];
      if (long) second = [long.screen + " the longest", length(t - long.e)];
    }
    else if (l.waiting.includes(o)) {
      cls = "done"; first = [tag(o), "take"];
      second = ["done since " + clock(o.e, day), length(t - o.e), l.here.length > 1 ? "+" + (l.here.length - 1) : ""];
    } else {
      cls = "busy"; const [words, over] = left(o, t);
      bad = over; first = [tag(o), words];
      second = [verb(o), o.people.join(", "), (over ? "planned to " : "to ") + clock(ends(o), day), l.here.length > 1 && !slots ? "+" + (l.here.length - 1) : ""];
    }
    const next = l.next[0];
    const behind = next ? late(next, t) : 0;
    if (bad || behind >= 5) cls += " late";
    const follows = follow(next, behind, day);
    if (slots && !out) {
      const dry = l.waiting.length ? l.waiting.sort((a, b) => a.e - b.e)[0] : null, show = dry || o;
      if (next) name.insertBefore(span("tag", "next in " + tag(next) + " " + clock(begins(next), day)), name.lastChild);
      return card(s.name, dry ? "done" : cls, [name, line("first", node("span", {}, show ? tag(show) : "free"), node("span", {}, dry ? "dry" : o ? left(o, t)[0] : "")), slotGrid(s, l, t, day)],
        where("station", s.name), s.places > 8 ? 2 : 1);
    }
    return card(s.name, cls, [name, line("first", node("span", {}, first[0]), node("span", {}, first[1])), line("text", ...parts(...second)), follows], where("station", s.name));
  }
  function follow(next, behind, day) {
    if (!next) return line("text next", "nothing more");
    return line("text next" + (behind >= 5 ? " late" : ""), span("tag", "next " + tag(next)), " ", next.screen ? span("tag", verb(next)) : "", " ", span("tag", behind >= 1 ? length(behind) + " late" : clock(begins(next), day)));
  }
  function slotGrid(s, l, t, day) {
    const seat = new Array(s.places).fill(null), rest = [];
    for (const o of l.here.filter((x) => x.place === s.name)) {
      const free = (i) => seat[i] === null;
      const take = o.seats && o.seats.every(free) ? o.seats : seat.map((_, i) => i).filter(free).slice(0, o.places);
      if (!take.length) rest.push(o);
      take.forEach((i, k) => { seat[i] = {o, k, n: take.length, beside: take.every((x, j) => x === take[0] + j)}; });
    }
    const across = s.places > 8 ? 8 : 4;
    const g = node("span", {class: "slots"});
    g.style.setProperty("--across", across);
    for (let i = 0; i < s.places; ++i) {
      const x = seat[i];
      if (!x) { g.append(node("span", {class: "slot"}, span("", String(i + 1)))); continue; }
      if (x.k && x.beside && i % across) continue;  // the second of two side by side
      const dry = over(x.o, t), rows = Math.floor(i / across) === Math.floor((i + x.n - 1) / across);
      const words = x.o.step === "put-in" ? "put in" : dry ? "dry" : left(x.o, t)[0];
      const cell = node("span", {class: "slot full" + (dry ? " dry" : "")}, node("b", {}, x.o.screen || tag(x.o)), span("", words));
      if (x.n > 1 && x.beside && rows) cell.style.gridColumn = "span " + x.n;
      g.append(cell);
    }
    for (const o of rest) g.append(node("span", {class: "slot full"}, node("b", {}, o.screen), span("", "no place")));
    return g;
  }

  function presence(p, t) {  // [0 here, 1 on a break, 2 comes, 3 gone] and until or from when
    const out = down(p.name, t);
    if (out) return [3, null];
    const off = state.plan.breaks.find((b) => b.person === p.name && b.from <= t && t < b.to);
    if (off) return [1, off.to];
    if (!p.present.length) return [0, null];
    const now = p.present.find(([a, b]) => a <= t && t < b);
    if (now) return [0, now[1]];
    const comes = p.present.find(([a]) => a > t && dayOf(a) === dayOf(t));
    return comes ? [2, comes[0]] : [3, null];
  }
  function personCard(p, t, day) {
    const l = lines("person", p.name, t), [there, until] = presence(p, t), o = l.working[0], next = l.next[0];
    let cls = "", first, second = [], bad = false;
    if (o) {
      cls = "busy"; const [words, over] = left(o, t);
      bad = over; first = [tag(o), words];
      second = [verb(o), o.place, (over ? "planned to " : "to ") + clock(ends(o), day)];
    } else first = [there === 0 ? "free" : there === 1 ? "break" : there === 2 ? "not yet here" : "not here", ""];
    if (!o && there === 1) second = ["until " + clock(until, day)];
    if (!o && there === 2) second = ["comes " + clock(until, day)];
    const behind = next && there === 0 ? late(next, t) : 0;
    if (bad || behind >= 5) cls += " late";
    return {rank: o ? 0 : there, card: card(p.name, cls, [line("name", span("", p.name)), line("first", node("span", {}, first[0]), node("span", {}, first[1])), line("text", ...parts(...second)),
      there < 3 ? follow(next, behind, day) : line("text next", "nothing more")], where("person", p.name))};
  }

  const finished = (name, t) => { const all = [...state.plan.screens.values()].filter((l) => l[0].order === name); return [all.filter((l) => over(l[l.length - 1].ops.slice(-1)[0], t)).length, all.length]; };
  function ranked(t) {
    return state.plan.orders.map((o) => { const [done, all] = finished(o.name, t); return {...o, done, all, over: all > 0 && done === all}; })
      .sort((a, b) => a.over - b.over || (b.late ?? 0) - (a.late ?? 0) || (a.due ?? Infinity) - (b.due ?? Infinity));
  }
  const chance = (o) => o.late === null || o.late === undefined ? "" : Math.round(100 * (1 - o.late)) + " %";
  function orderCard(o, t, day) {
    const bad = !o.over && (o.late >= RISK || (o.due !== null && o.ready > o.due));
    const words = o.over ? "ready" : chance(o) || (o.due !== null && o.ready > o.due ? "late" : "on time");
    const rows = [line("name", span("", o.customer || o.name), span("tag", o.done + " of " + o.all)),
      line("first", node("span", {}, o.name), node("span", {}, words, words.endsWith("%") ? node("small", {}, " on time") : "")),
      line("text", ...parts(o.due !== null ? "due " + clock(o.due, day) : "no due time")), line("text next", ...parts(o.over ? "" : "likely ready " + clock(o.likely ?? o.ready ?? o.due ?? t, day)))];
    return card("order " + o.name, o.over ? "" : bad ? "busy late" : "busy", rows, where("order", o.name));
  }
  function potCard(p, t, day) {
    const wait = p.usable !== null && p.usable > t, end = p.until === null ? null : p.until - t;
    return card("pot " + p.name, (wait ? "busy" : "") + (end !== null && end <= 0 ? " late" : ""),
      [line("name", span("", p.emulsion)), line("first", node("span", {}, p.name), node("span", {}, wait ? length(p.usable - t) : end !== null && end <= 0 ? "too old" : "good")),
        line("text", wait ? "usable from " + clock(p.usable, day) : "usable"), line("text next", end === null ? "" : end <= 0 ? "past its pot life" : "good for " + length(end))],
      where("pot", p.name));
  }

  // ---- fitting: the number of columns with the largest letters that lets everything be in view ----
  function fit(cells) {
    const root = document.documentElement.style, g = cells;
    const list = [...g.children];
    const scrolls = innerWidth <= 700;
    g.classList.toggle("rolls", scrolls);
    if (scrolls) { g.style.setProperty("--columns", 1); for (const c of list) { c.style.gridColumn = ""; c.style.removeProperty("--slot"); } return; }
    const css = getComputedStyle(document.documentElement), cap = parseFloat(css.getPropertyValue("--cap") || 0) || (innerWidth >= 1500 ? 61 : 44);
    const gap = 8, width = g.clientWidth, height = g.clientHeight;
    const touch = parseFloat(css.getPropertyValue("--touch"));
    let best = {size: 0, columns: 1}, widest = {size: 0, columns: 1};
    for (let columns = 1; columns <= 10; ++columns) {
      const cellsTaken = list.reduce((n, c) => n + Math.min(c.wide, columns), 0), rows = Math.ceil(cellsTaken / columns);
      const w = (width - gap * (columns - 1)) / columns - 36, h = (height - gap * (rows - 1)) / rows - 12;
      // Four lines: one large, three half as large; eleven and a half letters wide.
      const size = Math.min(w / 6.1, h / (1.08 + 3 * 1.2 * .5));
      if (size > best.size + .01 && h + 12 >= touch) best = {size, columns};
      if (Math.min(cap, w / 6.1) >= 24) widest = {size: 24, columns};
    }
    // Below what can be read, and touched, the list is scrolled.
    const scrolled = best.size < 24;
    if (scrolled) best = widest;
    best.size = Math.min(best.size, cap);
    root.setProperty("--big", best.size + "px");
    root.setProperty("--small", Math.max(Math.min(best.size, cap) / 2, 15) + "px");
    g.style.setProperty("--columns", best.columns);
    g.style.gridAutoRows = scrolled ? "minmax(" + touch + "px, auto)" : "minmax(0, 1fr)";
    g.style.overflow = scrolled ? "auto" : "hidden";
    for (const c of list) {
      c.style.gridColumn = c.wide > 1 && best.columns > 1 ? "span " + Math.min(c.wide, best.columns) : "";
      const slots = c.querySelector(".slots");
      if (slots) {
        const rows = Math.ceil(slots.children.length / (parseFloat(slots.style.getPropertyValue("--across")) || 8));
        const wide = Math.max(...[...slots.children].map((x) => (x.querySelector("b") || x).textContent.length), 5);
        c.style.setProperty("--slot", Math.max(12, Math.min(slots.clientHeight / rows / 2.15, slots.clientWidth / 8 / (wide * .62), 34)) + "px");
      }
    }
    // A tag is never cut nor broken: its letters become smaller.
    for (const f of g.querySelectorAll(".first")) {
      f.style.fontSize = "";
      const size = parseFloat(getComputedStyle(f).fontSize), asks = [...f.children].reduce((n, x) => n + x.getBoundingClientRect().width, 0) + size / 2 + 2;
      if (asks > f.clientWidth) f.style.fontSize = Math.floor(size * f.clientWidth / asks) + "px";
    }
    for (const c of list) {
      c.style.fontSize = "";
      for (let k = 1; k < 5 && c.scrollHeight > c.clientHeight + 1; ++k) c.style.fontSize = "calc(var(--small) * " + (1 - .08 * k) + ")";
    }
  }

  // The room's time in minutes: the server's, carried on.
  const time = () => state.clock === null ? Date.now() / 60000 : state.clock + (Date.now() - state.heard) / 60000 * state.pace;
  // Outside the plan's day the clock says nothing: its beginning is shown.
  function shown() {
    const now = time(), p = state.plan;
    const live = now > p.t0 - 720 && now < p.t1 + 720;
    return {live, t: (live ? Math.floor(now) : p.t0) + state.shift};
  }
  let pressed = 0, waiting = false;  // while a finger is down nothing is moved from under it
  addEventListener("pointerdown", () => { pressed = Date.now(); }, true);
  addEventListener("click", () => { pressed = 0; }, true);
  for (const e of ["pointerup", "pointercancel"]) addEventListener(e, () => { setTimeout(() => { pressed = 0; if (waiting) draw(); }, 80); }, true);

  function draw() {
    if (pressed && Date.now() - pressed < 3000) { waiting = true; return; }
    waiting = false;
    message();
    const p = state.plan;
    if (!p) return;
    const {live, t} = shown(), day = dayOf(t), had = document.activeElement && document.activeElement.dataset.key;
    settle(t);
    const other = !live ? "not today: " + new Date(day * 86400000).toISOString().slice(0, 10) : state.shift ? "not now" : "";
    $("room").replaceChildren(other ? node("strong", {}, other + " ") : "", p.room + (p.invented ? " (demo data, invented)" : ""));
    $("clock").textContent = clock(t, day);
    for (const b of document.querySelectorAll("[data-view]")) b.setAttribute("aria-pressed", String(b.dataset.view === state.view));
    const main = $("main");
    const cells = node("div", {class: "cells", id: "cards"});
    if (state.view === "stations") cells.append(...p.stations.map((s) => stationCard(s, t, day)));
    else if (state.view === "people") cells.append(...p.people.map((x, i) => ({...personCard(x, t, day), i})).sort((a, b) => a.rank - b.rank || a.i - b.i).map((x) => x.card));
    else if (state.view === "orders") cells.append(...ranked(t).map((o) => orderCard(o, t, day)), ...p.pots.map((x) => potCard(x, t, day)));
    const notes = hooks.notes ? hooks.notes(t, day) : [];
    // What stands below takes its height before the cards are fitted into what is left.
    strip(t, day);
    if (hooks.said) hooks.said();
    if (hooks.whole && hooks.whole()) main.replaceChildren(...notes);
    else if (cells.children.length) { main.replaceChildren(...notes, cells); fit(cells); }
    else main.replaceChildren(...notes, state.view === "more" ? more(t, day) : panel(t, day));
    if (had) { const again = document.querySelector('[data-key="' + CSS.escape(had) + '"]'); if (again) again.focus({preventScroll: true}); }
  }
  function message() {
    const words = [state.lost ? "No connection to coatroom: this may be old." : "", state.message, hooks.message ? hooks.message() : ""].filter(Boolean).join(" ");
    if ($("message").textContent !== words) $("message").textContent = words;
  }
  function strip(t, day) {
    const risk = ranked(t).filter((o) => !o.over && o.late >= RISK), pots = [];
    for (const p of state.plan.pots) {
      if (p.usable !== null && p.usable > t) pots.push(p.name + " usable in " + length(p.usable - t));
      else if (p.until !== null && p.until - t < 1440) pots.push(p.until <= t ? p.name + " too old" : p.name + " good for " + length(p.until - t));
    }
    const first = node("p", {}), out = $("strip");
    out.replaceChildren(...(risk.length ? [first] : []), ...(pots.length ? [node("p", {class: "pots"}, pots.join(" \u00b7 "))] : []));
    if (!risk.length) return;
    for (let n = risk.length; n; --n) {  // as many as the line has room for
      first.replaceChildren(node("b", {}, "At risk"), ", on time: ", risk.slice(0, n).map((o) => o.name + "\u00a0" + chance(o).replace(" ", "\u00a0")).join(" \u00b7 ") + (risk.length > n ? " \u00b7 +" + (risk.length - n) : ""));
      if (first.scrollWidth <= first.clientWidth) break;
    }
  }

  // ---- one station, person, order or pot ----
  function panel(t, day) {
    const {view, of} = state, back = button("Back", () => show("stations"), {"data-key": "back"});
    const out = node("section", {class: "panel", "aria-labelledby": "of"}, node("div", {class: "tools"}, back, node("h2", {id: "of", tabindex: "-1", "data-key": "of"}, of)));
    const tools = out.firstChild;
    let ops = [];
    if (view === "station" || view === "person") {
      const l = lines(view, of, t), item = (view === "station" ? state.plan.stations : state.plan.people).find((x) => x.name === of) || {};
      ops = [...l.waiting, ...l.working, ...l.next.filter((o, i, all) => all.findIndex((x) => x.task === o.task) === i && !l.here.some((x) => x.task === o.task)).slice(0, 8)];
      if (view === "station" && item.dries) ops = [...l.waiting, ...l.working, ...l.next.filter((o) => o.step === "put-in").slice(0, 6)];
    } else if (view === "order") {
      const o = ranked(t).find((x) => x.name === of);
      if (o) out.append(node("p", {}, [o.customer, o.due === null ? "" : "due " + clock(o.due, day), o.done + " of " + o.all + " screens ready", chance(o) && !o.over ? chance(o) + " on time" : "", o.over ? "" : "likely ready " + clock(o.likely ?? o.ready ?? t, day)].filter(Boolean).join(" · ")));
      for (const list of [...state.plan.screens.values()].filter((l) => l[0].order === of)) {
        const task = list.find((x) => !over(x.ops[x.ops.length - 1], t)) || list[list.length - 1];
        ops.push(task.ops.find((x) => !over(x, t)) || task.ops[task.ops.length - 1]);
      }
    } else if (view === "pot") {
      const x = state.plan.pots.find((p) => p.name === of);
      if (x) out.append(node("p", {}, [x.emulsion, x.usable !== null && x.usable > t ? "usable in " + length(x.usable - t) : "usable", x.until === null ? "" : x.until > t ? "good for " + length(x.until - t) : "past its pot life"].filter(Boolean).join(" · ")));
    }
    for (const o of ops) out.append(job(o, t, day));
    if (hooks.panel) hooks.panel(view, of, tools, out, t);
    return out;
  }
  function job(o, t, day) {
    const on = begun(o, t), done = over(o, t), behind = on ? 0 : late(o, t), [words, bad] = on && !done ? left(o, t) : ["", false];
    const when = o.task.stopped ? "waits for a new plan" : done ? "done since " + clock(o.e, day) : on ? (bad ? words.slice(1) + " over, planned to " : words + ", to ") + clock(ends(o), day) : behind >= 1 ? length(behind) + " late, planned " + clock(o.t0, day) : "begins " + clock(begins(o), day);
    const row = node("div", {class: "job"}, node("div", {}, node("b", {}, tag(o)), node("p", {class: bad || behind >= 5 ? "late" : ""}, [verb(o), o.place && state.of !== o.place ? o.place : "", o.people.join(", "), when].filter(Boolean).join(" · "))));
    if (hooks.job) hooks.job(row, o, {on, done, t});
    return row;
  }

  // ---- more: the device, the clock, other pages, what the words mean ----
  const WORDS = [
    ["free", "nobody and nothing works here now"], ["take", "the step is done since the time below; the screen holds the place until somebody takes it on"],
    ["12 min", "so long until the step is over, in the cabinet until the coat is dry"], ["+5 min", "so long over its time"],
    ["next", "what begins here next, and when"], ["late", "it should have begun so long ago"], ["+2", "so many more are here"],
    ["12 of 16", "places taken, or screens ready"], ["62 %", "chance to be on time: of 100 simulated days it is ready by its due time on so many"],
    ["likely ready", "ready by then on half of the simulated days"], ["at risk", "orders late on a fifth of the simulated days or more"],
    ["usable", "the pot has stood long enough after mixing"], ["good for", "until its pot life ends"]];
  function more(t, day) {
    const p = state.plan, links = [["/plan.html", "Plan"], ["/sheets.html", "Run sheets"], ["/timeline.html", "Timeline to print"], ["/ask", "Ask"]];
    const shift = (n) => () => { state.shift = n ? state.shift + n : 0; draw(); };
    const choose = (label, id, names, value, set) => node("label", {class: "field", for: id}, label,
      node("select", {id, onchange: (e) => { set(e.target.value); draw(); }}, ...names.map(([v, words]) => { const o = node("option", {value: v}, words); o.selected = v === value; return o; })));
    const out = node("section", {class: "panel", "aria-label": "More"},
      node("div", {class: "tools", role: "group", "aria-label": "Time that is shown"}, button("\u221215", shift(-15), {"data-step": "-15", "data-key": "s-15", "aria-label": "15 minutes back"}),
        button("Now", shift(0), {"data-step": "0", "data-key": "s0", "aria-pressed": String(state.shift === 0)}), button("+15", shift(15), {"data-step": "15", "data-key": "s15", "aria-label": "15 minutes on"}),
        ...links.map(([href, words]) => node("a", {class: "button", href}, words))),
      node("div", {class: "tools"},
        choose("This display hangs at", "place", [["", "no certain place"], ["coating", "where emulsion is open"], ...p.stations.map((s) => [s.name, s.name]), ["office", "the office: bright"], ["press", "the press: bright"]], device.place, (v) => { device.place = v; }),
        choose("and is used by", "who", [["", "everybody"], ...p.people.map((x) => [x.name, x.name])], device.who, (v) => { device.who = v; })));
    if (hooks.more) hooks.more(out, t, day);
    out.append(node("h2", {class: "small"}, "Words"), node("dl", {class: "words"}, ...WORDS.map(([w, d]) => node("div", {}, node("dt", {}, w), node("dd", {}, d)))));
    return out;
  }

  function show(view, of) {
    state.view = view; state.of = of || "";
    draw();
    const heading = $("of");
    if (heading) heading.focus({preventScroll: true});
    scrollTo(0, 0);
  }

  // ---- news ----
  let fetching = false, again = false;
  async function heard(s) {
    state.lastHeard = Date.now();
    const was = state.lost;
    let news = was || state.message !== s.message || JSON.stringify([state.server.mark, state.server.planned]) !== JSON.stringify([s.mark, s.planned]);
    state.lost = false;
    state.server = s;
    state.message = s.message;
    if (s.clock) { state.heard = Date.now(); state.clock = at(s.clock); state.pace = s.pace || 1; }
    if (fetching) { again = true; return; }
    fetching = true;
    try {
      if (s.planned && s.version !== state.version) {
        const plan = read(await (await fetch("/board.json", {cache: "no-store"})).json());
        const begun = !state.plan;
        state.plan = plan; if (begun) home();
        state.version = s.version; news = true;
      }
      if (s.day && s.day !== state.dayVersion) {
        const given = await (await fetch("/day.json", {cache: "no-store"})).json();
        for (const m of given.marks) m.t = at(m.at);
        state.day = given; state.dayVersion = s.day; news = true;
      }
      if (was && hooks.back) hooks.back();
    } finally { fetching = false; }
    if (news) draw();
    if (again) { again = false; ask(); }
  }
  async function ask() {
    try { await heard(await (await fetch("/state", {cache: "no-store"})).json()); }
    catch (e) { if (Date.now() - state.lastHeard > 9000) lost(); }
  }
  function lost() {
    if (state.lost) return;
    state.lost = true;
    draw();
    if (hooks.lost) hooks.lost();
  }
  let source = null;
  function listen() {
    if (!window.EventSource || (source && source.readyState !== EventSource.CLOSED)) return;
    source = new EventSource("/events");
    source.onmessage = (e) => heard(JSON.parse(e.data)).catch(() => {});
  }

  for (const b of document.querySelectorAll("[data-view]")) b.addEventListener("click", () => show(b.dataset.view));
  addEventListener("resize", () => draw());
  let minuteShown = 0;
  setInterval(() => { const m = Math.floor(time()); if (state.plan && m !== minuteShown) { minuteShown = m; draw(); } }, 1000);
  // The stream says every few seconds that it lives; where there is none, ask.
  setInterval(() => { if (Date.now() - state.lastHeard > 2900 && !(source && source.readyState === EventSource.OPEN && Date.now() - state.lastHeard < 12000)) { ask(); listen(); } }, 3000);
  if (turning) setInterval(() => { const pages = ["stations", "people", "orders"]; show(pages[(pages.indexOf(state.view) + 1) % 3]); }, turning * 1000);

  const first = asked.get("view");
  const chosen = ["stations", "people", "orders", "more"].includes(first);
  if (chosen) state.view = first;
  // A device opens with its own place, or with the person that uses it.
  function home() {
    const p = state.plan, who = asked.get("who");
    if (who && p.people.some((x) => x.name === who)) { device.who = who; if (!chosen) { state.view = "person"; state.of = who; } }
    else if (!chosen && p.stations.some((s) => s.name === device.place)) { state.view = "station"; state.of = device.place; }
  }
  const begin = () => { ask(); listen(); };
  return {state, hooks, device, draw, show, node, span, button, clock, length, at, stamp, lines, shown, key, tag, verb, said, begun, over, begin, down, keep, kept, ask, dayOf, finished, time};
})();
