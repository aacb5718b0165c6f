
"use strict";
// Draws the timeline of the embedded plan. No library, nothing fetched; user text only ever enters as
// text nodes and attribute values.
(function () {
  const plan = JSON.parse(document.getElementById("plan").textContent);
  const NS = "http://www.w3.org/2000/svg";
  const GROUPS = [
    ["reclaim", "reclaim", ["ink-off", "ink-degrease", "strip", "rinse", "haze"]],
    ["wash", "degrease, abrade", ["degrease", "abrade"]],
    ["dry", "dry", ["dry-mesh", "dry-coat", "dry-face", "dry-stencil", "dry-touch-up"]],
    ["coat", "coat", ["coat", "face-coat"]],
    ["expose", "expose", ["expose", "post-harden"]],
    ["rinse", "wash out", ["wash-out"]],
    ["finish", "inspect, touch up", ["inspect"]],
    ["mix", "mix emulsion", ["mix-dissolve", "mix-stir"]],
    ["carry", "carry", ["take-out", "put-in"]],
  ];
  // Lines of each kind: "/" and "\\" slanted, "-" level, "|" upright, "." dots; every so many pixels.
  const WEAVES = {reclaim: "/", wash: ".", dry: "-", coat: "|", expose: "/\\", rinse: "\\", finish: "", mix: "-|", carry: "", hold: "\\"};
  const MESH = {hold: 5};
  const groupOf = {};
  for (const [key, , steps] of GROUPS) for (const step of steps) groupOf[step] = key;

  const minute = (text) => {  // seconds after the plan's midnight, or local "YYYY-MM-DDTHH:MM[:SS]" as minutes; no time zone enters
    if (typeof text === "number") return epoch + text / 60;
    const [date, clock] = text.split("T");
    const [y, mo, d] = date.split("-").map(Number);
    const [h, m, s] = clock.split(":").map(Number);
    return Date.UTC(y, mo - 1, d) / 60000 + h * 60 + m + (s || 0) / 60;
  };
  const epoch = minute(plan.epoch);
  plan.operations = plan.rows.map((row) => Object.fromEntries(plan.keys.map((key, i) => [key, row[i]])));
  const two = (n) => String(n).padStart(2, "0");
  const DAYS = ["Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"];
  const firstDay = Math.floor(minute(plan.run.first_start) / 1440);
  const shown = (t) => Math.ceil(t - 1e-6);  // whole minutes, up: as in every text
  const clock = (t) => {
    const whole = shown(t), day = Math.floor(whole / 1440), of = whole - day * 1440;
    const text = two(Math.floor(of / 60)) + ":" + two(of % 60);
    return day === firstDay ? text : DAYS[new Date(day * 86400000).getUTCDay()] + " " + text;
  };
  const length = (m) => {
    const r = Math.round(m), h = Math.floor(r / 60);
    return (h ? h + " h " : "") + (r % 60 || !h ? (r % 60) + " min" : "").trim();
  };
  const between = (a, b) => shown(b) > shown(a) ? length(shown(b) - shown(a)) : "under 1 min";
  const make = (name, attributes, parent) => {
    const node = document.createElementNS(NS, name);
    for (const key in attributes) node.setAttribute(key, attributes[key]);
    if (parent) parent.appendChild(node);
    return node;
  };

  const ops = plan.operations.map((o, i) => ({
    i, o, start: minute(o.start), work: minute(o.work_end), end: minute(o.end),
    placeEnd: minute(o.place_until || o.end), personEnd: minute(o.people_until || o.end),
    group: groupOf[o.step] || "finish",
  }));
  const from = Math.floor(minute(plan.run.first_start) / 30) * 30;
  const until = Math.max(Math.ceil(minute(plan.run.last_end) / 30) * 30, from + 60);
  const scroll = document.getElementById("scroll"), names = document.getElementById("names");
  const detail = document.getElementById("detail"), allOrders = document.getElementById("all-orders");
  const hint = detail.textContent;
  const state = {view: "place", scale: 0, order: "", lanes: [], svg: null};
  const HEAD = 24, ROW = 30, GAP = 6, READABLE = .9;  // px, the last px a minute

  function lanesOf(view) {
    const list = view === "place" ? plan.stations : plan.people;
    return list.map((item) => {
      const bars = ops.filter((x) => view === "place"
        ? x.o.place === item.name || x.o.also_at.includes(item.name) : x.o.people.includes(item.name))
        .map((x) => ({x, start: x.start, end: view === "place" ? x.placeEnd : x.personEnd,
                      tall: view === "place" && x.o.place === item.name ? Math.max(x.o.places, 1) : 1}))
        .sort((a, b) => a.start - b.start || a.x.i - b.x.i);
      const free = [-Infinity];  // only as many rows as are ever used at once: a rack may have forty places
      for (const bar of bars) {  // lowest rows that are free side by side; a batch may need rows beyond the places
        let row = 0;
        while (free.slice(row, row + bar.tall).some((t) => t > bar.start + 1e-6)) ++row;
        while (free.length < row + bar.tall) free.push(-Infinity);
        for (let k = 0; k < bar.tall; ++k) free[row + k] = bar.end;
        bar.row = row;
      }
      for (const bar of bars) {
        bar.room = Math.min(...bars.filter((b) => b !== bar && b.start >= bar.start && b.row <= bar.row + bar.tall - 1
          && b.row + b.tall > bar.row).map((b) => b.start), until);
      }
      return {name: item.name, places: view === "place" ? item.places : 1, bars, rows: free.length, present: item.present};
    }).filter((lane) => lane.bars.length > 0 || lane.present);
  }

  // As one path of plain lines: printing hundreds of pattern fills takes browsers minutes.
  function weave(key, x, y, w, h) {
    const every = MESH[key] || 8, up = (v) => Math.ceil(v / every) * every, f = (v) => v.toFixed(1);
    let d = "";
    const line = (x1, y1, x2, y2) => { d += "M" + f(x1) + " " + f(y1) + "L" + f(x2) + " " + f(y2); };
    for (const kind of WEAVES[key] || "") {
      if (kind === "/") for (let c = up(x + y); c < x + w + y + h; c += every) {
        const x1 = Math.max(x, c - y - h), x2 = Math.min(x + w, c - y);
        line(x1, c - x1, x2, c - x2);
      }
      if (kind === "\\") for (let c = up(x - y - h); c < x + w - y; c += every) {
        const x1 = Math.max(x, c + y), x2 = Math.min(x + w, c + y + h);
        line(x1, x1 - c, x2, x2 - c);
      }
      if (kind === "-") for (let c = up(y); c < y + h; c += every) line(x, c, x + w, c);
      if (kind === "|") for (let c = up(x); c < x + w; c += every) line(c, y, c, y + h);
      if (kind === ".") for (let c = up(y); c < y + h; c += every) for (let e = up(x); e < x + w - 1.5; e += every) line(e, c, e + 1.5, c);
    }
    return d;
  }

  function axis(svg, height) {
    let step = 1440;
    for (const s of [15, 30, 60, 120, 180, 240, 360, 720]) if (s * state.scale >= 58) { step = s; break; }
    for (let t = Math.ceil(from / step) * step; t <= until; t += step) {
      const x = (t - from) * state.scale;
      make("line", {class: "grid", x1: x, x2: x, y1: HEAD - 6, y2: height}, svg);
      if (t < until) make("text", {class: "hour", x: x + 3, y: 14}, svg).textContent = clock(t);
    }
  }

  function drawBar(svg, bar, top) {
    const x = (bar.start - from) * state.scale, w = Math.max((bar.end - bar.start) * state.scale, 2);
    const y = top + bar.row * ROW + 2, h = bar.tall * ROW - 4;
    const roomy = Math.max(w, (bar.room - bar.start) * state.scale);  // a short bar's tag may stand beside it
    const done = Math.min(Math.max((bar.x.work - bar.start) * state.scale, 0), w);
    const g = make("g", {class: "bar", role: "img", tabindex: -1, "data-op": bar.x.i, "aria-label": words(bar.x)}, svg);
    const label = make("clipPath", {id: "c" + state.clip}, g);
    make("rect", {x, y, width: Math.max(roomy - 2, 1), height: h}, label);
    make("rect", {class: "base g-" + bar.x.group, x, y, width: w, height: h, rx: 2}, g);
    make("path", {class: "weave", d: weave(bar.x.group, x, y, done, h)}, g);
    // Where it begins and is done eight days in ten of those that were simulated: the bar's fuzzy edges.
    const fuzz = (a, b, edge) => {
      if (!a || !b) return;
      const left = Math.max((minute(a) - from) * state.scale, 0);
      const right = Math.min((minute(b) - from) * state.scale, (until - from) * state.scale);
      if (right - left >= 1) make("rect", {class: "fuzz", x: left, y: edge, width: right - left, height: 3, rx: 1.5}, g);
    };
    fuzz(bar.x.o.start_p10, bar.x.o.start_p90, y);
    fuzz(bar.x.o.work_end_p10, bar.x.o.work_end_p90, y + h - 3);
    if (w - done > .5) {
      make("rect", {class: "hold", x: x + done, y, width: w - done, height: h}, g);
      make("path", {class: "weave", d: weave("hold", x + done, y, w - done, h)}, g);
    }
    const tag = bar.x.o.screen || (bar.x.o.step.startsWith("mix") ? "mix" : "warm");
    if (roomy > 16) make("text", {x: x + 3, y: y + h / 2 + 4, "clip-path": "url(#c" + state.clip + ")"}, g).textContent = tag;
    ++state.clip;
    bar.node = g;
    bar.left = x;
    bar.right = x + w;
    bar.middle = y + h / 2;
  }

  function draw() {
    const lanes = lanesOf(state.view);
    const fit = Math.max(scroll.clientWidth - 2, 200) / (until - from);
    if (!state.scale) state.scale = Math.max(fit, READABLE);
    state.fit = fit;
    state.lanes = lanes;
    state.clip = 0;
    let height = HEAD;
    for (const lane of lanes) { lane.top = height; height += lane.rows * ROW + GAP; }
    const width = Math.ceil((until - from) * state.scale);
    const svg = make("svg", {width, height, viewBox: "0 0 " + width + " " + height, preserveAspectRatio: "none", role: "group",
      "aria-label": "Timeline by " + (state.view === "place" ? "station" : "person") + "; arrow keys move from bar to bar"});
    names.replaceChildren();
    for (const lane of lanes) {
      make("rect", {class: lane.present ? "away" : "lane", x: 0, y: lane.top, width, height: lane.rows * ROW}, svg);
      for (const p of lane.present || []) {
        const a = Math.max(minute(p.from), from), b = Math.min(minute(p.to), until);
        if (b > a) make("rect", {class: "lane", x: (a - from) * state.scale, y: lane.top, width: (b - a) * state.scale, height: lane.rows * ROW}, svg);
      }
      const name = document.createElement("span");
      name.textContent = lane.name + (lane.places > 1 ? " (" + lane.places + " places)" : "");
      name.style.top = lane.top + 4 + "px";
      name.style.maxHeight = lane.rows * ROW + "px";
      names.appendChild(name);
    }
    axis(svg, height);
    for (const lane of lanes) {
      make("line", {class: "grid", x1: 0, x2: width, y1: lane.top + lane.rows * ROW + GAP / 2, y2: lane.top + lane.rows * ROW + GAP / 2}, svg);
      for (const bar of lane.bars) drawBar(svg, bar, lane.top);
    }
    names.style.height = height + "px";
    scroll.replaceChildren(svg);
    state.svg = svg;
    const first = svg.querySelector(".bar");
    if (first) first.setAttribute("tabindex", 0);
    dim();
  }

  function words(x) {
    const o = x.o;
    let text = o.words + ". " + clock(x.start) + " to " + clock(x.work) + " (" + between(x.start, x.work) + ")";
    if (x.end - x.work > .5) text += ", then stands " + between(x.work, x.end) + " until " + clock(x.end);
    if (o.place) text += ". " + o.place + (o.places > 1 ? ", " + o.places + " places" : "");
    if (o.people.length) text += ". " + o.people.join(", ");
    if (o.order) text += ". Order " + o.order;
    if (o.start_p10) {
      text += ". 80 % range: begun " + clock(minute(o.start_p10)) + " to " + clock(minute(o.start_p90))
        + ", done " + clock(minute(o.work_end_p10)) + " to " + clock(minute(o.work_end_p90));
    }
    return text + ".";
  }

  function show(node) {
    for (const old of scroll.querySelectorAll(".now, .same")) old.classList.remove("now", "same");
    const x = ops[Number(node.dataset.op)];
    node.classList.add("now");
    if (x.o.screen) for (const other of scroll.querySelectorAll(".bar")) {
      if (ops[Number(other.dataset.op)].o.screen === x.o.screen) other.classList.add("same");
    }
    const title = document.createElement("b");
    title.textContent = x.o.screen || "Mixing";
    const mind = x.o.cautions.map((key) => plan.cautions.find((c) => c.key === key)).filter(Boolean).map((c) => c.title);
    detail.replaceChildren(title, " " + words(x) + (mind.length ? " Cautions: " + mind.join(", ") + "." : ""));
  }

  function dim() {
    for (const node of scroll.querySelectorAll(".bar")) {
      node.classList.toggle("dim", state.order !== "" && ops[Number(node.dataset.op)].o.order !== state.order);
    }
    allOrders.hidden = state.order === "";
    chain();
  }

  // What holds the chosen order back: its chain of steps, edged and joined from end to start.
  function chain() {
    for (const old of scroll.querySelectorAll(".link")) old.remove();
    for (const old of scroll.querySelectorAll(".chain")) old.classList.remove("chain");
    const order = plan.orders.find((o) => o.name === state.order);
    if (!order || !state.svg) return;
    const bars = new Map();
    for (const lane of state.lanes) for (const bar of lane.bars) if (!bars.has(bar.x.i)) bars.set(bar.x.i, bar);
    let before = null;
    for (const operation of order.reasons) {
      const bar = bars.get(operation);
      if (!bar) continue;  // nobody's, or nowhere, in this view
      bar.node.classList.add("chain");
      bar.node.classList.remove("dim");
      if (before) {
        const x1 = Math.min(before.right, bar.left), x2 = bar.left;
        make("path", {class: "link", d: "M" + x1 + " " + before.middle + "L" + x2 + " " + bar.middle}, state.svg);
      }
      before = bar;
    }
    const title = document.createElement("b");
    title.textContent = order.name;
    if (order.story) detail.replaceChildren(title, " " + order.story);
  }

  function zoom(how) {
    const middle = (scroll.scrollLeft + scroll.clientWidth / 2) / state.scale;
    if (how === "fit") state.scale = state.fit;
    if (how === "in") state.scale = Math.min(state.scale * 1.6, 40);
    if (how === "out") state.scale = Math.max(state.scale / 1.6, state.fit);
    draw();
    scroll.scrollLeft = middle * state.scale - scroll.clientWidth / 2;
  }

  function move(node, key) {
    const at = state.lanes.findIndex((lane) => lane.bars.some((bar) => bar.node === node));
    if (at < 0) return;
    const bars = state.lanes[at].bars, i = bars.findIndex((bar) => bar.node === node);
    let next = null;
    if (key === "ArrowRight") next = bars[i + 1];
    if (key === "ArrowLeft") next = bars[i - 1];
    if (key === "Home") next = bars[0];
    if (key === "End") next = bars[bars.length - 1];
    if (key === "ArrowUp" || key === "ArrowDown") {
      const step = key === "ArrowUp" ? -1 : 1;
      for (let k = at + step; k >= 0 && k < state.lanes.length && !next; k += step) {
        const away = (bar) => Math.abs(bar.start - bars[i].start);
        next = state.lanes[k].bars.reduce((best, bar) => !best || away(bar) < away(best) ? bar : best, null);
      }
    }
    if (!next) return;
    node.setAttribute("tabindex", -1);
    next.node.setAttribute("tabindex", 0);
    next.node.focus();
  }

  const barOf = (event) => event.target.closest && event.target.closest(".bar");
  for (const kind of ["pointerover", "click", "focusin"]) {
    scroll.addEventListener(kind, (event) => { const bar = barOf(event); if (bar) show(bar); });
  }
  scroll.addEventListener("keydown", (event) => {
    const bar = barOf(event);
    if (event.key === "+" || event.key === "-") zoom(event.key === "+" ? "in" : "out");
    else if (bar && /^(Arrow|Home|End)/.test(event.key)) move(bar, event.key);
    else if (event.key === "Escape") detail.textContent = hint;
    else return;
    event.preventDefault();
  });
  for (const button of document.querySelectorAll("[data-zoom]")) button.addEventListener("click", () => zoom(button.dataset.zoom));
  for (const button of document.querySelectorAll("[data-view]")) {
    button.addEventListener("click", () => {
      state.view = button.dataset.view;
      for (const other of document.querySelectorAll("[data-view]")) other.setAttribute("aria-pressed", String(other === button));
      draw();
    });
  }
  for (const button of document.querySelectorAll("[data-order]")) {
    button.addEventListener("click", () => {
      state.order = button.dataset.order;
      dim();
      document.getElementById("day").scrollIntoView();
    });
  }
  allOrders.addEventListener("click", () => { state.order = ""; dim(); });

  const light = document.getElementById("light");
  const setLight = (on) => {
    document.documentElement.classList.toggle("safelight", on);
    light.setAttribute("aria-pressed", String(on));
  };
  light.addEventListener("click", () => setLight(!document.documentElement.classList.contains("safelight")));
  if (location.hash === "#safelight") setLight(true);  // so that a bookmark in the dark room opens dark

  const legend = document.getElementById("legend");
  const used = new Set(ops.map((x) => x.group));
  const entry = (key, text) => {
    const item = document.createElement("li");
    const svg = make("svg", {viewBox: "0 0 32 16", "aria-hidden": "true"}, item);
    make("rect", {class: "g-" + (key === "hold" ? "dry" : key), x: .5, y: .5, width: 31, height: 15}, svg);
    make("path", {class: "weave", d: weave(key, .5, .5, 31, 15)}, svg);
    item.append(text);
    legend.appendChild(item);
  };
  for (const [key, text] of GROUPS) if (used.has(key)) entry(key, text);
  if (ops.some((x) => x.end > x.work)) entry("hold", "done, holds its place");
  if (plan.orders.some((o) => o.reasons.length > 1)) {
    const item = document.createElement("li"), svg = make("svg", {viewBox: "0 0 32 16", "aria-hidden": "true"}, item);
    make("path", {class: "link", d: "M1 4L31 12"}, svg);
    item.append("of an order chosen below: the chain that decides when it is ready");
    legend.appendChild(item);
  }
  if (ops.some((x) => x.o.start_p10)) {
    const item = document.createElement("li"), svg = make("svg", {viewBox: "0 0 32 16", "aria-hidden": "true"}, item);
    make("rect", {class: "fuzz", x: 2, y: 2, width: 18, height: 3}, svg);
    make("rect", {class: "fuzz", x: 12, y: 11, width: 18, height: 3}, svg);
    item.append("begins (above) and is done (below) eight simulated days in ten");
    legend.appendChild(item);
  }

  let last = 0, screenScale = 0;
  addEventListener("resize", () => {
    if (scroll.clientWidth === last) return;
    last = scroll.clientWidth;
    if (state.scale <= Math.max(state.fit, READABLE) * 1.001) state.scale = 0;
    draw();
  });
  addEventListener("beforeprint", () => { screenScale = state.scale; state.scale = 550 / (until - from); draw(); });
  addEventListener("afterprint", () => { state.scale = screenScale; draw(); });
  draw();
  last = scroll.clientWidth;
})();
