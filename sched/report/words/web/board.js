"use strict";
// Now and next of every station and person, by the clock of this screen. Texts enter as text nodes only.
(function () {
  const $ = (id) => document.getElementById(id);
  const minute = (text) => {
    const [date, clock] = text.split("T");
    const [y, mo, d] = date.split("-").map(Number);
    const [h, m, s] = clock.split(":").map(Number);
    return Date.UTC(y, mo - 1, d) / 60000 + h * 60 + m + (s || 0) / 60;
  };
  const two = (n) => String(n).padStart(2, "0");
  const DAYS = ["Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"];
  const clock = (t, day) => {
    const whole = Math.ceil(t - 1e-6), of = whole - Math.floor(whole / 1440) * 1440;
    const text = two(Math.floor(of / 60)) + ":" + two(of % 60);
    return Math.floor(whole / 1440) === day ? text : DAYS[new Date(whole * 60000).getUTCDay()] + " " + text;
  };
  const wall = () => {
    const n = new Date();
    return Date.UTC(n.getFullYear(), n.getMonth(), n.getDate()) / 60000 + n.getHours() * 60 + n.getMinutes();
  };
  const state = {view: "station", shift: 0, plan: null, version: "", lastHeard: 0, mark: false};

  function fix(plan) {  // the plan's times as minutes
    for (const o of plan.operations) {
      o.t0 = minute(o.start); o.t1 = minute(o.work_end); o.t2 = minute(o.end);
      o.placeEnd = minute(o.place_until || o.end); o.personEnd = minute(o.people_until || o.end);
    }
    plan.t0 = minute(plan.run.first_start); plan.t1 = minute(plan.run.last_end);
    return plan;
  }
  // Outside the plan's day the clock says nothing: its beginning is shown.
  function shown() {
    const now = wall(), p = state.plan;
    const live = now > p.t0 - 720 && now < p.t1 + 720;
    return {live, t: (live ? now : p.t0) + state.shift};
  }
  // What a marker pen wrote on the frame; what belongs to no screen is called by what is done.
  const said = (o) => o.step.replace(/-/g, " ");
  const tag = (o) => o.screen || (o.step.startsWith("mix-") ? "mix" : said(o));
  const verb = (o) => o.screen ? said(o) : o.step.startsWith("mix-") ? o.step.slice(4) : "";

  function node(name, cls, text) {
    const n = document.createElement(name);
    if (cls) n.className = cls;
    if (text !== undefined) n.textContent = text;
    return n;
  }
  function row(cls, left, right) {
    const r = node("div", "row " + cls);
    r.append(node("span", "", left), node("span", "", right));
    return r;
  }

  function card(item, t, day) {
    const station = state.view === "station";
    const mine = state.plan.operations.filter((o) => station ? o.place === item.name || o.also_at.includes(item.name)
      : o.people.includes(item.name)).sort((a, b) => a.t0 - b.t0);
    const end = (o) => station ? o.placeEnd : o.personEnd;
    const now = mine.filter((o) => o.t0 <= t && t < end(o)), next = mine.filter((o) => o.t0 > t);
    const c = node("section", "card");
    const h = node("h2");
    h.append(node("span", "", item.name));
    if (station && item.places > 1) {
      const taken = now.reduce((n, o) => n + (o.place === item.name ? Math.max(o.places, 1) : 1), 0);
      h.append(node("span", "", taken + " of " + item.places));
    }
    c.append(h);
    const waiting = station ? now.filter((o) => o.t1 <= t) : [];
    const working = now.filter((o) => !waiting.includes(o)).sort((a, b) => a.t1 - b.t1);
    if (waiting.length) {
      c.classList.add("take");
      c.append(row("now", "take " + tag(waiting[0]) + (waiting.length > 1 ? " +" + (waiting.length - 1) : ""), clock(waiting[0].t1, day)));
    } else if (working.length) {
      c.classList.add("busy");
      const o = working[0];
      c.append(row("now", tag(o), "to " + clock(station ? o.t1 : o.personEnd, day)));
      c.append(row("what", verb(o) + (working.length > 1 ? " +" + (working.length - 1) : ""), station ? o.people.join(", ") : o.place));
    } else {
      const here = !item.present || item.present.some((p) => minute(p.from) <= t && t < minute(p.to));
      c.append(row("now", here ? "free" : "not here", ""));
    }
    const o = next[0];
    c.append(o ? row("next", ("next " + tag(o) + " " + verb(o)).trim(), clock(o.t0, day)) : row("next", "nothing more", ""));
    const current = waiting[0] || working[0];
    if (state.mark && current && current.screen) {
      const done = node("button", "", "Done: " + tag(current));
      done.type = "button";
      done.addEventListener("click", () => mark(current, done));
      c.append(done);
    }
    return c;
  }

  async function mark(o, button) {
    button.disabled = true;
    try {
      const answer = await fetch("/mark", {method: "POST", headers: {"Content-Type": "application/json"},
        body: JSON.stringify({screen: o.screen, step: o.step, round: o.round, what: "done"})});
      button.textContent = answer.ok ? "Noted" : (await answer.json()).error;
    } catch (e) { button.textContent = "Not noted: no connection"; }
  }

  function message(text) {
    $("message").textContent = text;
    $("message").hidden = !text;
  }

  function draw() {
    const p = state.plan;
    if (!p) return;
    const {live, t} = shown(), day = Math.floor(t / 1440);
    $("room").textContent = p.room + (p.invented ? " (demo data, invented)" : "");
    $("clock").textContent = (live ? "" : "not today: " + new Date(day * 86400000).toISOString().slice(0, 10) + " ") + clock(t, day);
    $("cards").replaceChildren(...(state.view === "station" ? p.stations : p.people).map((item) => card(item, t, day)));
    for (const b of document.querySelectorAll("[data-view]")) b.setAttribute("aria-pressed", String(b.dataset.view === state.view));
    document.querySelector('[data-step="0"]').setAttribute("aria-pressed", String(state.shift === 0));
  }

  async function poll() {
    try {
      const s = await (await fetch("/state", {cache: "no-store"})).json();
      state.lastHeard = Date.now();
      state.mark = s.mark;
      message(s.message);
      if (s.planned && s.version !== state.version) {
        state.plan = fix(await (await fetch("/board.json", {cache: "no-store"})).json());
        state.version = s.version;
        draw();
      }
    } catch (e) {
      if (Date.now() - state.lastHeard > 9000) message("No connection to coatroom: this may be old.");
    }
  }

  for (const b of document.querySelectorAll("[data-view]")) b.addEventListener("click", () => { state.view = b.dataset.view; draw(); });
  for (const b of document.querySelectorAll("[data-step]")) {
    b.addEventListener("click", () => { const s = Number(b.dataset.step); state.shift = s ? state.shift + s : 0; draw(); });
  }
  let minuteShown = 0;
  poll();
  setInterval(poll, 3000);
  setInterval(() => { if (wall() !== minuteShown) { minuteShown = wall(); draw(); } }, 1000);
})();
