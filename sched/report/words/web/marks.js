"use strict";
// What a touch on the board does: marks of what has begun and is done, remakes, stations and people that are not to be had.
// How it works: a mark gets a number of its own, is kept in this browser and shown at once, and is sent in order; what was
// answered leaves the queue, so a display without network goes on and sends later. The program enters each number once.
(function () {
  const {state, hooks, device, node, button, clock, stamp, keep, kept, show} = board;
  const $ = (id) => document.getElementById(id);
  const REASONS = ["pinhole", "stencil broke", "wrong exposure", "mesh torn", "image wrong", "other"];
  const own = kept("coatroom-device") || (() => {
    const made = "d" + Math.floor(Math.random() * 1e9).toString(36);
    keep("coatroom-device", made);
    return made;
  })();
  const read = () => { try { return JSON.parse(kept("coatroom-queue")) || []; } catch (e) { return []; } };
  let queue = read(), sending = false, failed = false, wrong = "", last = null;
  const save = () => keep("coatroom-queue", queue.length ? JSON.stringify(queue) : "");
  const able = () => state.server.mark !== false;
  const name = () => device.place ? device.place + " (" + own + ")" : own;
  const now = board.time;

  hooks.queued = () => queue.filter((m) => m.mark !== "undo").map((m) => ({...m, kind: m.mark, t: board.at(m.at)}));

  // ---- marking ----
  let count = 0;
  function mark(list, words) {
    const t = now();
    const made = list.map((m) => ({at: stamp(Math.floor(t)), by: device.who, ...m, device: name(), client: Date.now().toString(36) + "-" + (count++)}));
    queue.push(...made);
    save();
    last = {words: words + " " + clock(Math.floor(t), board.dayOf(t)), clients: made.map((m) => m.client), undone: false};
    const mine = last;
    setTimeout(() => { if (last === mine) { last = null; board.draw(); } }, 60000);
    board.draw();
    send();
  }
  async function send() {
    if (sending || !queue.length) return;
    sending = true;
    const batch = queue.slice(0, 100);
    try {
      const answer = await fetch("/mark", {method: "POST", headers: {"Content-Type": "application/json"}, body: JSON.stringify({marks: batch})});
      if (answer.ok) {
        const ids = new Map((await answer.json()).entered.map((e) => [e.client, e.id]));
        if (last) last.ids = [...(last.ids || []), ...last.clients.filter((c) => ids.has(c)).map((c) => ids.get(c))];
        for (const m of batch) if (m.mark !== "undo") state.day.marks.push({...m, kind: m.mark, t: board.at(m.at), id: ids.get(m.client)});
        drop(batch);
        failed = false;
      } else if (answer.status >= 500 || answer.status === 429) failed = true;
      else {  // it will never be taken: it is said, and not sent for ever
        if (batch.length > 1) { for (const m of batch) await alone(m); }
        else { wrong = "Not marked: " + words(batch[0]) + ": " + ((await answer.json()).error || answer.status); drop(batch); }
      }
    } catch (e) { failed = true; }
    sending = false;
    board.draw();
    if (queue.length && !failed) send();
    else if (!failed) board.ask();
  }
  async function alone(m) {
    const answer = await fetch("/mark", {method: "POST", headers: {"Content-Type": "application/json"}, body: JSON.stringify({marks: [m]})});
    if (answer.ok) drop([m]);
    else if (answer.status < 500 && answer.status !== 429) { wrong = "Not marked: " + words(m) + ": " + ((await answer.json()).error || answer.status); drop([m]); }
    else throw new Error("later");
  }
  function drop(batch) {
    const gone = new Set(batch.map((m) => m.client));
    queue = queue.filter((m) => !gone.has(m.client));
    save();
  }
  const words = (m) => [m.what, (m.step || "").replace(/-/g, " "), m.mark].filter(Boolean).join(" ");
  setInterval(() => { if (queue.length && !state.lost) send(); }, 3000);
  hooks.back = () => send();
  addEventListener("online", () => { board.ask(); send(); });

  function undo() {
    if (!last || last.undone) return;
    const clients = new Set(last.clients), waiting = queue.filter((m) => clients.has(m.client) && !sending);
    if (waiting.length === clients.size) { drop(waiting); last.undone = true; board.draw(); return; }  // never left this display
    if (!last.ids || last.ids.length < clients.size) { board.ask(); return; }
    const ids = last.ids;
    last.undone = true;
    takeBack(ids);
  }
  function takeBack(ids) {
    state.day.marks = state.day.marks.filter((m) => !ids.includes(m.id));
    queue.push(...ids.map((id) => ({mark: "undo", undoes: id, at: stamp(Math.floor(now())), by: device.who, device: name(), client: Date.now().toString(36) + "-" + (count++)})));
    save(); board.draw(); send();
  }

  // ---- what is said ----
  hooks.message = () => [queue.length && (failed || state.lost) ? queue.length + (queue.length === 1 ? " mark waits" : " marks wait") + " on this display and will be sent when the connection is back." : "", wrong, state.day.problem || ""].filter(Boolean).join(" ");
  hooks.said = () => {
    const out = $("said");
    if (!last) { if (out.firstChild) out.replaceChildren(); return; }
    const text = (last.undone ? "Taken back: " : "Marked: ") + last.words;
    if (out.firstChild && out.firstChild.textContent === text) return;
    out.replaceChildren(...[node("p", {}, text), last.undone ? null : button("Undo", undo, {"data-key": "undo"}), button("OK", () => { last = null; wrong = ""; board.draw(); }, {"data-key": "ok", "aria-label": "Close the note"})].filter(Boolean));
  };

  // ---- buttons of a panel ----
  const of = (o) => ({what: o.screen, step: o.step, round: o.round + 1, station: o.place, person: o.people[0] || ""});
  // Who shares an exposure is marked with it.
  function together(o) {
    if (o.step !== "expose" || o.batch === null) return [o];
    return state.plan.ops.filter((x) => x.batch === o.batch && x.place === o.place);
  }
  hooks.job = (row, o, {on, done, t}) => {
    if (!able() || !o.screen || o.task.stopped) return;
    const tools = node("div", {class: "tools"}), k = o.screen + o.step + o.round, all = together(o), names = all.map((x) => x.screen).join(", ");
    const verb = o.step.replace(/-/g, " ");
    const put = (label, kind, said) => tools.append(button(label, () => mark(all.map((x) => ({mark: kind, ...of(x)})), names + " " + verb + " " + said), {"data-key": kind + k, "aria-label": label + ": " + names + ", " + verb}));
    const dries = o.task.kind === "dry";
    if (dries && on) put(done ? "Out" : "Dry", "dry", "dry");
    else if (o.step === "put-in" || o.step === "take-out") { /* carrying is not marked: what comes next says it */ }
    else if (done && o.task.marked && o.task.marked.done !== undefined) { /* marked already */ }
    else {
      if (!on || !(o.task.marked && o.task.marked.start !== undefined)) put("Start", "start", "begun");
      put("Done", "done", "done");
    }
    if (on || done) tools.append(button("Remake", () => remake(o), {"data-key": "remake" + k, "aria-label": "Remake: " + o.screen}));
    if (tools.children.length) row.append(tools);
  };
  let asking = null;  // the screen that is to be made again
  function remake(o) { asking = o; board.draw(); }
  hooks.panel = (view, of, tools, out) => {
    if (!able()) return;
    const say = (kind, label, words) => button(label, () => mark([{mark: kind, what: of}], of + " " + words), {"data-key": kind, "aria-label": label + ": " + of});
    const off = board.down(of, now());
    if (view === "station") tools.append(off ? say("up", "Works again", "works again") : say("down", "Out of work", "out of work"));
    if (view === "person") tools.append(off ? say("present", "Here again", "here again") : say("absent", "Not here", "not here"));
    if (view === "order") {
      tools.append(say("film", "Film is here", "film is here"));
      for (const h of [1, 2, 4]) tools.append(button("Film in " + h + " h", () => mark([{mark: "film", what: of, at: stamp(Math.floor(now()) + 60 * h)}], of + " film comes later, marked at"), {"data-key": "film" + h}));
    }
    if (view === "pot") tools.append(say("opened", "Opened", "opened"), say("empty", "Empty", "empty"));
    if (asking) {
      const o = asking, close = () => { asking = null; };
      out.replaceChildren(node("h2", {id: "of", tabindex: "-1", "data-key": "of"}, "Why is " + o.screen + " made again?"), node("div", {class: "tools"},
        ...REASONS.map((reason) => button(reason, () => { close(); mark([{mark: "remake", what: o.screen, reason, station: o.place}], o.screen + " made again, " + reason + ","); }, {"data-key": "why-" + reason})),
        button("Back", () => { close(); board.draw(); }, {"data-key": "why-back"})));
    }
  };
  addEventListener("click", (e) => { if (asking && e.target.closest && e.target.closest("#tabs")) asking = null; }, true);

  // ---- a new plan: offered, tried, looked at, accepted ----
  let looking = 0;  // number of the offer that is looked at
  async function act(what) {
    wrong = "";
    try {
      const answer = await fetch("/again", {method: "POST", headers: {"Content-Type": "application/json"}, body: JSON.stringify({by: device.who, device: name(), ...what})});
      if (!answer.ok) wrong = (await answer.json()).error || "That was refused.";
    } catch (e) { wrong = "No connection: nothing was changed."; }
    looking = 0;
    board.ask();
    board.draw();
  }
  const capital = (w) => w.charAt(0).toUpperCase() + w.slice(1);
  const time = (w, day) => w ? clock(board.at(w), day) : "";
  function difference(a, day) {
    const d = a.difference || {orders: [], people: []}, list = (rows) => node("ul", {}, ...rows.map((r) => node("li", {}, r)));
    const per = (x) => x === null || x === undefined ? "" : Math.round(100 * (1 - x)) + " %";
    const orders = d.orders.map((o) => o.name + ": " + (o.was === null ? "new, ready " + time(o.now, day) : o.now === null ? "taken out" : o.was === o.now ? "ready " + time(o.now, day) : "ready " + time(o.now, day) + " instead of " + time(o.was, day))
      + (o.due ? ", due " + time(o.due, day) : "") + (per(o.late_now) ? ", on time " + (per(o.late_was) && per(o.late_was) !== per(o.late_now) ? per(o.late_was) + " \u2192 " : "") + per(o.late_now) : ""));
    const row = (r) => [r.screen, r.step.replace(/-/g, " ")].filter(Boolean).join(" ") + ": " + (r.now === null ? "no more (was " + time(r.was, day) + ")" : r.was === null ? "new, " + time(r.now, day) + (r.place ? ", " + r.place : "") :
      (r.was === r.now ? time(r.now, day) : time(r.now, day) + " instead of " + time(r.was, day)) + (r.place !== r.place_was ? ", " + r.place + " instead of " + r.place_was : ""));
    return [node("h2", {class: "small"}, d.orders.length ? "Orders" : "No order is ready at another time."), list(orders),
      ...d.people.flatMap((p) => [node("h2", {class: "small"}, p.name), list([...p.rows.map(row), ...(p.more ? ["and " + p.more + " more"] : [])])])];
  }
  function offers(day) {
    const a = state.day.again;
    if (!a || a.state === "none") return [];
    const why = a.why.join("; "), box = (label, ...inside) => node("section", {class: "difference bar", "aria-label": label}, ...inside);
    const drop = (label) => button(label, () => act({do: "discard", id: a.id}), {"data-key": "discard"});
    const tools = (...b) => node("div", {class: "tools"}, ...(able() ? b : []));
    if (a.state === "planning") return [box("New plan", node("p", {}, (a.what_if ? "Trying: " : "A new plan is being made: ") + why + "."), tools(drop("Stop")))];
    if (a.state === "failed") return [box("New plan", node("p", {}, "No new plan (" + why + "): " + a.words), tools(drop("OK")))];
    if (looking !== a.id) return [box("New plan", node("p", {}, (a.what_if ? "Tried: " : "A new plan is ready: ") + why + "."), tools(button("What changes", () => { looking = a.id; board.draw(); }, {"data-key": "look"}), drop("Not now")))];
    return [node("section", {class: "difference", "aria-label": "What changes"}, node("p", {}, capital(why) + (a.what_if ? "." : ": the plan changes so.")), node("div", {class: "changes", tabindex: "0", role: "group", "aria-label": "Changes"}, node("div", {class: "columns"}, ...difference(a, day))),
      tools(button("Accept", () => act({do: "adopt", id: a.id}), {"data-key": "adopt"}), button("Later", () => { looking = 0; board.draw(); }, {"data-key": "later"}), drop("Not now")))];
  }
  function tries(view, of) {
    if (state.server.again === false || !able()) return [];
    const a = state.day.again || {}, put = (kind, label) => button(label, () => act({do: "what-if", kind, name: of}), {"data-key": "if-" + kind, disabled: a.state === "planning" ? "" : null});
    return view === "station" ? [put("down", "Try without")] : view === "person" ? [put("absent", "Try without"), put("longer", "Try an hour longer")] : view === "order" ? [put("first", "Try it first"), put("another", "Try one more like it")] : [];
  }
  hooks.whole = () => Boolean(state.day.again && state.day.again.state === "ready" && looking === state.day.again.id);
  const panelMarks = hooks.panel;
  hooks.panel = (view, of, tools, out, t) => {
    panelMarks(view, of, tools, out, t);
    if (!asking && tools.isConnected !== undefined) tools.append(...tries(view, of));
  };
  hooks.more = (out) => {
    const a = state.day.again;
    if (!a || !able()) return;
    out.append(node("div", {class: "tools"}, button("Plan again", () => act({do: "plan"}), {"data-key": "plan-again"}),
      ...(a.undo ? [button("Back to the plan before", () => act({do: "undo"}), {"data-key": "plan-undo"})] : [])));
    if (a.today.length) out.append(node("p", {}, "For today: " + a.today.join("; ") + "."));
  };

  // ---- what contradicts, above everything else ----
  hooks.notes = (t, day) => [...offers(day), ...contradictions()];
  const contradictions = () => (state.day.contradictions || []).map((c) => node("section", {class: "difference", "aria-label": "Contradiction"}, node("p", {}, "Marks contradict each other: " + c.words),
    node("div", {class: "tools"}, ...(able() ? c.entries.map((e) => button("Take back: " + e.words, () => { last = {words: e.words, clients: [], undone: true}; takeBack([e.id]); }, {"data-key": "settle" + e.id})) : []))));

  board.begin();
})();
