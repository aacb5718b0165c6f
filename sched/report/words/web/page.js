"use strict";
// Draws the timeline of the embedded plan. No library, nothing fetched; user text only ever enters as
// text nodes and attribute values.
// How it works: rows of numbers become operations; an axis of pieces maps minutes to pixels, nights
// narrow; each lane's bars are merged into runs where they are narrow, packed into rows and drawn.
// Whatever is chosen (view, zoom, order, search) is drawn anew and written into the address.
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

  const epoch = (() => {  // local "YYYY-MM-DDTHH:MM" as minutes; no time zone enters
    const [date, time] = plan.epoch.split("T"), [y, mo, d] = date.split("-").map(Number), [h, m] = time.split(":").map(Number);
    return Date.UTC(y, mo - 1, d) / 60000 + h * 60 + m;
  })();
  const minute = (seconds) => epoch + seconds / 60;
  const two = (n) => String(n).padStart(2, "0");
  const DAYS = ["Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"];
  const firstDay = Math.floor(minute(plan.run[0]) / 1440);
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

  // A row: tag, what, place, crew, start, work, hold, then the 80 % ranges of begin and end in whole
  // minutes after the start's minute, people and place kept longer, places, other places; the last of
  // these are left out where they are as usual.
  const ops = plan.rows.map((row, i) => {
    const [tag, what, place, crew, begin, work, hold, r0, r1, r2, r3, stay = 0, kept = 0, places = 1, also = []] = row;
    const [screen, order] = plan.tags[tag] || ["", -1], does = plan.what[what];
    const base = Math.floor(begin / 60), start = minute(begin), end = minute(begin + work + hold);
    return {i, verb: does[1].split(" ")[0], screen, order: order >= 0 ? plan.orders[order].name : "", job: order >= 0 ? plan.orders[order].job : "", step: does[0],
            words: does[1].replace("\u0001", () => screen), cautions: does[2], place: place >= 0 ? plan.stations[place].name : "",
            people: plan.crews[crew].map((p) => plan.people[p].name), places,
            also: also.map((s) => plan.stations[s].name), start, work: minute(begin + work), end,
            placeEnd: end + kept / 60, personEnd: minute(begin + work + stay), group: groupOf[does[0]] || "finish",
            ranges: typeof r0 === "number" ? [r0, r1, r2, r3].map((m) => epoch + base + m) : null};
  });
  const from = Math.floor(minute(plan.run[0]) / 30) * 30;
  const until = Math.max(Math.ceil(minute(plan.run[1]) / 30) * 30, from + 60);

  const $ = (id) => document.getElementById(id);
  const scroll = $("scroll"), names = $("names"), hours = $("hours"), detail = $("detail"), allOrders = $("all-orders"), find = $("find"), found = $("found");
  const hint = detail.textContent;
  const ROW = 30, GAP = 6, READABLE = .9, NIGHT = 46, NARROW = 14, FOLD = 8, LETTER = 6.8;  // px, the third px a minute
  const state = {view: "place", scale: 0, fit: 1, order: "", find: "", open: new Set(), lanes: [], svg: null, pieces: []};

  // ---- time to pixels: pieces of the plan's time, those in which nobody is here of one fixed width ----
  const nights = (() => {
    const here = [];
    for (const p of plan.people) for (const [a, b] of p.present || []) here.push([minute(a), minute(b)]);
    if (!here.length) return [];
    for (const x of ops) if (x.people.length) here.push([x.start, x.personEnd]);
    here.sort((a, b) => a[0] - b[0]);
    const out = [];
    let end = here[0][0];
    for (const [a, b] of here) {
      if (a - end > 180 && end >= from && a <= until) out.push([end, a]);
      end = Math.max(end, b);
    }
    if (until - end > 180) out.push([end, until]);
    return out;
  })();
  function setScale(scale) {
    state.scale = scale;
    state.pieces = [];
    let x = 0, at = from;
    const add = (to, k, night) => { if (to > at) { state.pieces.push({a: at, b: to, x, k, night}); x += (to - at) * k; at = to; } };
    for (const [a, b] of nights) { add(a, scale, false); add(b, NIGHT / (b - a), true); }
    add(until, scale, false);
    state.width = x;
  }
  const piece = (test) => state.pieces.find(test) || state.pieces[state.pieces.length - 1];
  const pos = (t) => { const p = piece((q) => t <= q.b); return p.x + (Math.min(Math.max(t, from), until) - p.a) * p.k; };
  const timeAt = (x) => { const p = piece((q) => x <= q.x + (q.b - q.a) * q.k); return p.a + (x - p.x) / p.k; };
  const dayLength = () => (until - from) - nights.reduce((n, [a, b]) => n + b - a, 0);
  const fitScale = (width) => Math.max(width - 2 - nights.length * NIGHT, 150) / dayLength();

  // ---- what is chosen ----
  const chosen = (x) => {
    if (state.order && x.order !== state.order) return false;
    if (!state.find) return true;
    return x.screen.toLowerCase().startsWith(state.find) || x.order.toLowerCase() === state.find || x.job.toLowerCase().includes(state.find);
  };
  const choosing = () => state.order !== "" || state.find !== "";

  // ---- lanes ----
  function merged(bars) {
    const out = [];
    let run = null;
    for (const bar of bars) {
      const own = choosing() && chosen(bar.ops[0]), carry = bar.group === "carry";
      const narrow = pos(bar.end) - pos(bar.start) < NARROW && bar.tall === 1 && !own;
      const joins = run && narrow && pos(bar.start) - pos(run.end) < 5 && (carry || run.carry || bar.step === run.step);
      if (joins) {
        if (run.carry && !carry) Object.assign(run, {carry: false, step: bar.step, group: bar.group});
        run.ops.push(...bar.ops);
        run.end = Math.max(run.end, bar.end);
      } else {
        out.push(bar);
        run = narrow ? Object.assign(bar, {carry}) : null;
      }
    }
    return out;
  }
  function packed(bars) {  // lowest rows that are free side by side; a batch may need rows beyond the places
    const free = [-Infinity];
    for (const bar of bars) {
      let row = 0;
      while (free.slice(row, row + bar.tall).some((t) => t > bar.start + 1e-6)) ++row;
      while (free.length < row + bar.tall) free.push(-Infinity);
      for (let k = 0; k < bar.tall; ++k) free[row + k] = bar.end;
      bar.row = row;
    }
    const next = free.map(() => until);  // where the following bar of the row begins: a short bar's words may go on to there
    for (const bar of [...bars].reverse()) {
      bar.room = Math.min(...next.slice(bar.row, bar.row + bar.tall));
      for (let k = 0; k < bar.tall; ++k) next[bar.row + k] = bar.start;
    }
    return free.length;
  }
  function lanesOf(view) {
    const place = view === "place";
    return (place ? plan.stations : plan.people).map((item) => {
      const mine = ops.filter((x) => place ? x.place === item.name || x.also.includes(item.name) : x.people.includes(item.name));
      const bar = (x) => ({ops: [x], start: x.start, end: place ? x.placeEnd : x.personEnd, group: x.group, step: x.step,
                           tall: place && x.place === item.name ? Math.max(x.places, 1) : 1});
      const all = mine.map(bar).sort((a, b) => a.start - b.start || a.ops[0].i - b.ops[0].i);
      const lane = {name: item.name, places: place ? item.places : 1, present: item.present, all, rows: packed(all)};
      lane.wide = lane.rows > FOLD;  // a rack of forty places is told by how full it is
      lane.folded = lane.wide && !state.open.has(item.name);
      lane.bars = lane.folded ? (choosing() ? all.filter((b) => chosen(b.ops[0])) : []) : merged(all);
      const rows = packed(lane.bars);
      lane.rows = lane.folded ? Math.max(3, rows) : rows;
      return lane;
    }).filter((lane) => lane.all.length > 0 || lane.present);
  }
  function fillPath(lane, top, height) {
    const steps = [];
    for (const bar of lane.all) steps.push([bar.start, bar.tall], [bar.end, -bar.tall]);
    steps.sort((a, b) => a[0] - b[0] || a[1] - b[1]);
    const most = Math.max(lane.places, 1), y = (n) => (top + height - Math.min(n / most, 1) * height).toFixed(1);
    let d = "M0 " + y(0), n = 0;
    for (const [t, change] of steps) { d += "H" + pos(t).toFixed(1); n += change; d += "V" + y(n); }
    return d + "H" + state.width.toFixed(1) + "V" + y(0) + "Z";
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

  // ---- drawing ----
  const stepWord = (step) => step.replace(/-/g, " ");
  // Of the work that is told, an exposure once, though it is loaded and unloaded too.
  const count = (bar) => {
    const times = new Map();
    for (const x of bar.ops) if (bar.group === "carry" || x.step === bar.step) times.set(x.verb, (times.get(x.verb) || 0) + 1);
    return Math.max(...times.values());
  };
  const times = (bar) => count(bar) > 1 ? "\u00d7" + count(bar) : "";
  const runName = (bar) => (stepWord(bar.group === "carry" ? "carry" : bar.step) + " " + times(bar)).trim();

  function axis(svg, height) {
    const head = make("svg", {width: state.width, height: 22, "aria-hidden": "true"});
    let step = 1440, last = -99;
    for (const s of [15, 30, 60, 120, 180, 240, 360, 720]) if (s * state.scale >= 58) { step = s; break; }
    for (const p of state.pieces) {
      if (p.night) {
        make("rect", {class: "night", x: p.x, y: 0, width: NIGHT, height}, svg);
        // Within one day of the calendar it is no night: a shop that works at night sleeps then.
        const oneDay = Math.floor(p.a / 1440) === Math.floor((p.b - 1) / 1440);
        make("text", {class: "hour", x: p.x + 3, y: 15}, head).textContent = oneDay ? "closed" : "night";
        last = p.x;
        continue;
      }
      for (let t = Math.ceil(p.a / step) * step; t <= p.b; t += step) {
        const x = pos(t);
        make("line", {class: "grid", x1: x, x2: x, y1: 0, y2: height}, svg);
        const fits = t < until && x - last >= 44 && (p.b >= until || x + 40 <= pos(p.b));  // a night has its own word
        if (fits) { make("text", {class: "hour", x: x + 3, y: 15}, head).textContent = clock(t); last = x + (clock(t).length > 5 ? 24 : 0); }
      }
    }
    hours.replaceChildren(head);
  }

  function drawBar(svg, bar, top) {
    const one = bar.ops.length === 1 ? bar.ops[0] : null;
    const x = pos(bar.start), w = Math.max(pos(bar.end) - x, 2), y = top + bar.row * ROW + 2, h = bar.tall * ROW - 4;
    const roomy = Math.max(w, pos(bar.room) - x);  // a short bar's words may stand beside it
    const done = one ? Math.min(Math.max(pos(one.work) - x, 0), w) : w;
    const name = one ? one.screen || (one.step.startsWith("mix") ? "mix" : "warm") : runName(bar);
    const g = make("g", {class: "bar", role: one ? "img" : "button", tabindex: -1, "data-op": bar.ops[0].i, "aria-label": one ? words(one) : runWords(bar)}, svg);
    if (!one) g.dataset.run = bar.ops.length;
    make("rect", {class: "base g-" + bar.group, x, y, width: w, height: h, rx: 2}, g);
    if (done > 6 && WEAVES[bar.group]) make("path", {class: "weave", d: weave(bar.group, x, y, done, h)}, g);
    if (w - done > .5) {
      make("rect", {class: "hold", x: x + done, y, width: w - done, height: h}, g);
      if (w - done > 5) make("path", {class: "weave", d: weave("hold", x + done, y, w - done, h)}, g);
    }
    const text = [name, one ? "" : times(bar)].find((t) => t && t.length * LETTER + 5 <= roomy);  // a part of a tag would be another tag
    if (text) make("text", {x: x + 3, y: y + h / 2 + 4}, g).textContent = text;
    Object.assign(bar, {node: g, left: x, right: x + w, y, h, middle: y + h / 2});
  }

  function draw() {
    state.fit = fitScale(scroll.clientWidth);
    setScale(state.scale || Math.max(state.fit, READABLE));
    const lanes = state.lanes = lanesOf(state.view);
    let height = 0;
    for (const lane of lanes) { lane.top = height; height += lane.rows * ROW + GAP; }
    const width = Math.ceil(state.width);
    const svg = make("svg", {width, height, viewBox: "0 0 " + width + " " + height, preserveAspectRatio: "none", role: "group",
      "aria-label": "Timeline by " + (state.view === "place" ? "station" : "person") + "; arrow keys move from bar to bar, plus and minus zoom"});
    names.replaceChildren();
    for (const lane of lanes) {
      const tall = lane.rows * ROW;
      make("rect", {class: lane.present ? "away" : "lane", x: 0, y: lane.top, width, height: tall}, svg);
      for (const [p, q] of lane.present || []) {
        const a = Math.max(minute(p), from), b = Math.min(minute(q), until);
        if (b > a) make("rect", {class: "lane", x: pos(a), y: lane.top, width: pos(b) - pos(a), height: tall}, svg);
      }
      const name = document.createElement(lane.wide ? "button" : "span");
      name.textContent = lane.name + (lane.places > 1 ? " (" + lane.places + " places)" : "");
      if (lane.wide) {
        name.type = "button";
        name.className = "fold";
        name.setAttribute("aria-expanded", String(!lane.folded));
        name.addEventListener("click", () => { state.open[lane.folded ? "add" : "delete"](lane.name); redraw(); });
      }
      name.style.top = lane.top + 4 + "px";
      name.style.maxHeight = tall + "px";
      names.appendChild(name);
    }
    axis(svg, height);
    for (const lane of lanes) {
      const line = lane.top + lane.rows * ROW + GAP / 2;
      make("line", {class: "grid", x1: 0, x2: width, y1: line, y2: line}, svg);
      if (lane.folded) {
        const curve = make("path", {class: "taken", role: "img", d: fillPath(lane, lane.top + 2, lane.rows * ROW - 4)}, svg);
        curve.setAttribute("aria-label", lane.name + ": places taken over time, of " + lane.places);
      }
      for (const bar of lane.bars) drawBar(svg, bar, lane.top);
    }
    const now = wall();
    if (now > from && now < until) make("line", {class: "present", x1: pos(now), x2: pos(now), y1: 0, y2: height}, svg);
    names.style.height = height + "px";
    const left = scroll.scrollLeft;
    scroll.replaceChildren(svg);
    scroll.scrollLeft = hours.scrollLeft = left;
    state.svg = svg;
    const first = svg.querySelector(".bar");
    if (first) first.setAttribute("tabindex", 0);
    dim();
  }
  const wall = () => { const n = new Date(); return Date.UTC(n.getFullYear(), n.getMonth(), n.getDate()) / 60000 + n.getHours() * 60 + n.getMinutes(); };
  function redraw() { draw(); save(); }

  // ---- words ----
  function words(x) {
    let text = x.words + ". " + clock(x.start) + " to " + clock(x.work) + " (" + between(x.start, x.work) + ")";
    if (x.end - x.work > .5) text += ", then stands " + between(x.work, x.end) + " until " + clock(x.end);
    if (x.place) text += ". " + x.place + (x.places > 1 ? ", " + x.places + " places" : "");
    if (x.people.length) text += ". " + x.people.join(", ");
    if (x.order) text += ". Order " + x.order;
    if (x.ranges) text += ". 80 % range: begun " + clock(x.ranges[0]) + " to " + clock(x.ranges[1]) + ", done " + clock(x.ranges[2]) + " to " + clock(x.ranges[3]);
    return text + ".";
  }
  const runWords = (bar) => runName(bar) + ", " + clock(bar.start) + "\u2013" + clock(bar.end) + ": "
    + [...new Set(bar.ops.map((x) => x.screen).filter(Boolean))].join(", ") + ". Open it to see each.";

  const barOfNode = (node) => { for (const lane of state.lanes) for (const bar of lane.bars) if (bar.node === node) return bar; return null; };
  function show(node) {
    for (const old of scroll.querySelectorAll(".now, .same")) old.classList.remove("now", "same");
    for (const old of scroll.querySelectorAll(".fuzz")) old.remove();
    const bar = barOfNode(node);
    if (!bar) return;
    const x = bar.ops[0], title = document.createElement("b");
    node.classList.add("now");
    if (bar.ops.length > 1) {
      title.textContent = runName(bar);
      detail.replaceChildren(title, " " + runWords(bar));
      return;
    }
    for (const lane of state.lanes) for (const other of lane.bars) {
      if (other.ops.length > 1 || !(x.screen ? other.ops[0].screen === x.screen : other === bar)) continue;
      if (x.screen) other.node.classList.add("same");
      fuzzy(other);
    }
    title.textContent = x.screen || "Mixing";
    const mind = x.cautions.map((k) => plan.cautions[k]);
    detail.replaceChildren(title, " " + words(x) + (mind.length ? " Cautions: " + mind.join(", ") + "." : ""));
  }
  // Where it begins and is done eight days in ten of those that were simulated: the bar's fuzzy edges.
  function fuzzy(bar) {
    const r = bar.ops[0].ranges;
    if (!r) return;
    const edge = (a, b, y) => {
      const left = pos(a), width = pos(b) - left;
      if (width >= 1) make("rect", {class: "fuzz", x: left, y, width, height: 3, rx: 1.5}, bar.node);
    };
    edge(r[0], r[1], bar.y);
    edge(r[2], r[3], bar.y + bar.h - 3);
  }

  function dim() {
    for (const lane of state.lanes) for (const bar of lane.bars) bar.node.classList.toggle("dim", choosing() && !bar.ops.some(chosen));
    allOrders.hidden = !choosing();
    chain();
  }

  // What holds the chosen order back: its chain of steps, edged and joined from end to start.
  function chain() {
    const order = plan.orders.find((o) => o.name === state.order);
    if (!order || !state.svg) return;
    const bars = new Map();
    for (const lane of state.lanes) for (const bar of lane.bars) for (const x of bar.ops) if (!bars.has(x.i)) bars.set(x.i, bar);
    let before = null;
    for (const operation of order.chain) {
      const bar = bars.get(operation);
      if (!bar) continue;  // nobody's, or nowhere, in this view
      bar.node.classList.add("chain");
      bar.node.classList.remove("dim");
      if (before && before !== bar) {
        const x1 = Math.min(before.right, bar.left), x2 = bar.left;
        make("path", {class: "link", d: "M" + x1 + " " + before.middle + "L" + x2 + " " + bar.middle}, state.svg);
      }
      before = bar;
    }
    const title = document.createElement("b"), story = document.querySelector('.risks [data-story="' + CSS.escape(order.name) + '"]');
    title.textContent = order.name;
    if (story) detail.replaceChildren(title, " " + story.textContent);
  }

  // ---- zoom ----
  function zoomTo(scale, t, x) {  // minute t stays at x pixels from the left edge
    setScale(Math.min(Math.max(scale, state.fit), 40));
    draw();
    scroll.scrollLeft = hours.scrollLeft = pos(t) - x;
    save();
  }
  function zoom(how, x = scroll.clientWidth / 2) {
    const t = timeAt(scroll.scrollLeft + x);
    zoomTo(how === "fit" ? state.fit : state.scale * (how === "in" ? 1.6 : 1 / 1.6), t, x);
  }
  function openRun(bar) {
    const shortest = Math.min(...bar.ops.filter((x) => x.group !== "carry").map((x) => Math.max(x.work - x.start, .5)), 60);
    const first = bar.ops[0].i;
    zoomTo(Math.max(1.3 * NARROW / shortest, state.scale * 1.6), bar.start, 40);
    const node = scroll.querySelector('.bar[data-op="' + first + '"]');
    if (node) focus(node);
  }
  function focus(node) {
    for (const old of scroll.querySelectorAll('.bar[tabindex="0"]')) old.setAttribute("tabindex", -1);
    node.setAttribute("tabindex", 0);
    node.focus({preventScroll: true});
    const bar = barOfNode(node), margin = 60;
    if (bar && (bar.left < scroll.scrollLeft + 8 || bar.left > scroll.scrollLeft + scroll.clientWidth - margin)) scroll.scrollLeft = bar.left - margin;
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
    if (next) focus(next.node);
  }

  const nodeOf = (event) => event.target.closest && event.target.closest(".bar");
  for (const kind of ["pointerover", "click", "focusin"]) {
    scroll.addEventListener(kind, (event) => {
      const node = nodeOf(event);
      if (!node) return;
      show(node);
      const bar = kind === "click" && barOfNode(node);
      if (bar && bar.ops.length > 1) openRun(bar);
    });
  }
  scroll.addEventListener("keydown", (event) => {
    const node = nodeOf(event), bar = node && barOfNode(node);
    const at = bar ? Math.min(Math.max(bar.left - scroll.scrollLeft, 0), scroll.clientWidth) : undefined, first = bar && bar.ops[0].i;
    if ("+-=0".includes(event.key)) {
      zoom(event.key === "0" ? "fit" : event.key === "-" ? "out" : "in", at);
      const again = first !== undefined && scroll.querySelector('.bar[data-op="' + first + '"]');
      if (again) focus(again);
    } else if (bar && bar.ops.length > 1 && (event.key === "Enter" || event.key === " ")) openRun(bar);
    else if (bar && /^(Arrow|Home|End)/.test(event.key)) move(node, event.key);
    else if (event.key === "Escape") { choose("", ""); detail.textContent = hint; }
    else return;
    event.preventDefault();
  });
  scroll.addEventListener("wheel", (event) => {  // pinching on a touch pad comes as this, too
    if (!event.ctrlKey) return;
    event.preventDefault();
    const x = event.clientX - scroll.getBoundingClientRect().left;
    zoomTo(state.scale * Math.exp(-event.deltaY / 200), timeAt(scroll.scrollLeft + x), x);
  }, {passive: false});
  let pinch = null;
  const fingers = (event) => {
    const [a, b] = event.touches, left = scroll.getBoundingClientRect().left;
    return {wide: Math.max(Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY), 10), x: (a.clientX + b.clientX) / 2 - left};
  };
  scroll.addEventListener("touchstart", (event) => {
    if (event.touches.length !== 2) { pinch = null; return; }
    const f = fingers(event);
    pinch = {wide: f.wide, scale: state.scale, t: timeAt(scroll.scrollLeft + f.x)};
  }, {passive: true});
  scroll.addEventListener("touchmove", (event) => {
    if (!pinch || event.touches.length !== 2) return;
    event.preventDefault();
    const f = fingers(event);
    zoomTo(pinch.scale * f.wide / pinch.wide, pinch.t, f.x);
  }, {passive: false});
  scroll.addEventListener("scroll", () => { hours.scrollLeft = scroll.scrollLeft; save(); });

  // ---- choices ----
  function choose(order, text) {
    state.order = order;
    state.find = text.trim().toLowerCase();
    if (find.value.trim().toLowerCase() !== state.find) find.value = text;
    redraw();
    const hits = state.find ? ops.filter(chosen) : [];
    found.textContent = !state.find ? "" : hits.length ? hits.length + " steps, the first " + clock(Math.min(...hits.map((x) => x.start))) : "nothing of that name";
    return hits;
  }
  find.addEventListener("input", () => {
    const hits = choose("", find.value);
    if (hits.length) scroll.scrollLeft = pos(Math.min(...hits.map((x) => x.start))) - 60;
  });
  find.addEventListener("keydown", (event) => {
    if (event.key === "Escape") choose("", "");
    if (event.key !== "Enter" || !state.find) return;
    event.preventDefault();
    const hits = state.lanes.flatMap((lane) => lane.bars).filter((bar) => bar.ops.some(chosen)).sort((a, b) => a.start - b.start);
    if (hits.length) focus(hits[0].node);
  });
  for (const button of document.querySelectorAll("[data-zoom]")) button.addEventListener("click", () => zoom(button.dataset.zoom));
  function setView(view) {
    state.view = view;
    for (const other of document.querySelectorAll("[data-view]")) other.setAttribute("aria-pressed", String(other.dataset.view === view));
  }
  for (const button of document.querySelectorAll("[data-view]")) button.addEventListener("click", () => { setView(button.dataset.view); redraw(); });
  for (const button of document.querySelectorAll("[data-order]")) {
    button.addEventListener("click", () => { choose(button.dataset.order, ""); $("day").scrollIntoView(); });
  }
  allOrders.addEventListener("click", () => choose("", ""));

  // ---- the address: what is shown can be kept and sent ----
  let saving = 0;
  function save() {
    clearTimeout(saving);
    saving = setTimeout(() => {
      const parts = [];
      if (state.view !== "place") parts.push("view=" + state.view);
      if (Math.abs(state.scale - Math.max(state.fit, READABLE)) > .001) parts.push("zoom=" + state.scale.toFixed(3));
      if (scroll.scrollLeft > 1) parts.push("at=" + Math.round(timeAt(scroll.scrollLeft) - epoch));
      if (state.order) parts.push("order=" + encodeURIComponent(state.order));
      if (state.find) parts.push("find=" + encodeURIComponent(state.find));
      for (const name of state.open) parts.push("open=" + encodeURIComponent(name));
      if (document.documentElement.classList.contains("safelight")) parts.push("safelight");
      try { history.replaceState(null, "", "#" + parts.join("&")); } catch (e) { /* a viewer that forbids it */ }
    }, 150);
  }
  addEventListener("lightchange", save);
  function restore() {
    const given = {open: []};
    for (const part of location.hash.slice(1).split("&")) {
      const [key, value = ""] = part.split("=");
      let text = "";
      try { text = decodeURIComponent(value); } catch (e) { continue; }
      if (key === "open") given.open.push(text); else given[key] = text;
    }
    if (given.view === "person" || given.view === "place") setView(given.view);
    state.open = new Set(given.open);
    state.order = plan.orders.some((o) => o.name === given.order) ? given.order : "";
    state.fit = fitScale(scroll.clientWidth);
    state.scale = Number(given.zoom) > 0 ? Math.min(Math.max(Number(given.zoom), state.fit), 40) : 0;
    if (given.find) find.value = given.find;
    if (given.find) choose(state.order, given.find); else draw();
    const now = wall();
    const t = given.at !== undefined && Number.isFinite(Number(given.at)) ? epoch + Number(given.at) : now > from && now < until ? now - 30 : from;
    scroll.scrollLeft = hours.scrollLeft = pos(t);
  }

  // ---- legend ----
  const legend = $("legend"), used = new Set(ops.map((x) => x.group));
  const entry = (draws, text) => {
    const item = document.createElement("li");
    draws(make("svg", {viewBox: "0 0 32 16", "aria-hidden": "true"}, item));
    item.append(text);
    legend.appendChild(item);
  };
  const patch = (key) => (svg) => {
    make("rect", {class: "g-" + (key === "hold" ? "dry" : key), x: .5, y: .5, width: 31, height: 15}, svg);
    make("path", {class: "weave", d: weave(key, .5, .5, 31, 15)}, svg);
  };
  for (const [key, text] of GROUPS) if (used.has(key)) entry(patch(key), text);
  if (ops.some((x) => x.end > x.work)) entry(patch("hold"), "done, holds its place");
  if (plan.orders.some((o) => o.chain.length > 1)) {
    entry((svg) => make("path", {class: "link", d: "M1 4L31 12"}, svg), "of a chosen order: the chain that decides when it is ready");
  }
  if (ops.some((x) => x.ranges)) {
    entry((svg) => {
      make("rect", {class: "fuzz", x: 2, y: 2, width: 18, height: 3}, svg);
      make("rect", {class: "fuzz", x: 12, y: 11, width: 18, height: 3}, svg);
    }, "of what is pointed at: begins (above) and is done (below) eight simulated days in ten");
  }

  let last = 0, screenScale = 0;
  addEventListener("resize", () => {
    if (scroll.clientWidth === last) return;
    last = scroll.clientWidth;
    if (state.scale <= Math.max(state.fit, READABLE) * 1.001) state.scale = 0;
    draw();
  });
  addEventListener("hashchange", restore);
  addEventListener("beforeprint", () => { screenScale = state.scale; state.scale = fitScale(650); draw(); });
  addEventListener("afterprint", () => { state.scale = screenScale; draw(); });
  restore();
  last = scroll.clientWidth;
})();
