// The rows of the cue sheet: words as they are printed, a small picture, a bar drawn to scale.

import { $, draggable, el, fresh, svg } from "./dom.js";
import { edit, on, send } from "./link.js";
import { adder } from "./add.js";
import { settings } from "./settings.js";
import { go, now, row as rowOf, unfold, when } from "./state.js";
import { eased, ticks, timecode } from "./time.js";

const made = new Map();
const small = new Map();
let asked = "";

function frameAt(event, lane) {
  const box = lane.getBoundingClientRect();
  return ((event.clientX - box.left) / box.width) * now.sheet.facts.length;
}

function ruler() {
  const { facts } = now.sheet;
  const marks = ticks(facts).map((frame) =>
    el("span", { style: { left: `${(100 * frame) / facts.length}%` } }, timecode(frame, facts)),
  );
  const lane = el("div", {
    class: "ruler",
    id: "ruler",
    role: "slider",
    tabindex: 0,
    "aria-label": "Time",
    "aria-valuemin": 0,
    "aria-valuemax": facts.length - 1,
    "aria-valuenow": now.frame,
    "aria-valuetext": timecode(now.frame, facts),
  }, marks, el("i", { class: "at" }));
  lane.addEventListener("pointerdown", (event) => {
    lane.setPointerCapture(event.pointerId);
    go(frameAt(event, lane));
    lane.onpointermove = (moved) => go(frameAt(moved, lane));
  });
  lane.addEventListener("pointerup", () => (lane.onpointermove = null));
  return lane;
}

function head() {
  const names = ["No.", "", "In, out", "Event", "Transition, edge"];
  return el("div", { class: "head" }, names.map((name) => el("span", {}, name)), ruler());
}

function words(parts) {
  return parts.flatMap((one) => [
    one.words && el("span", { class: "line" }, one.label ? el("span", { class: "grey" }, `${one.label} `) : null,
      one.colour && el("span", { class: "swatch", style: { background: one.colour } }), one.words),
    one.pattern && el("span", { class: "line" }, one.code ? el("b", {}, `${one.code} `) : null, one.pattern),
    ...(one.edge ?? []).map((said) =>
      el("span", { class: "line grey" }, said.colour && el("span", { class: "swatch", style: { background: said.colour } }), said.text)),
  ]);
}

function effects(row) {
  if (!row.leave) return words([row.enter]);
  return words([{ ...row.enter, label: "in" }, { ...row.leave, label: "out" }]);
}

// A bar as high as its event is there: its transitions as they run.
function bar(row) {
  const { length } = now.sheet.facts;
  const at = (frame) => (100 * frame) / length;
  const picture = svg("svg", { viewBox: "0 0 100 100", preserveAspectRatio: "none", "aria-hidden": "true" });
  const points = [];
  const rise = (part, up) => {
    for (let n = 0; n <= 10; n += 1) {
      const share = n / 10;
      const reached = eased(part.curve, share);
      points.push([at(part.start + share * part.length), up ? 82 - 64 * reached : 18 + 64 * reached]);
    }
  };
  if (row.kind === "cue") {
    const width = at(row.stop) - at(row.start);
    picture.append(svg("rect", { class: "base", x: at(row.start), y: 18, width, height: 64 }));
    if (row.enter.length) {
      rise(row.enter, true);
      points.push([at(row.start + row.enter.length), 82]);
      picture.append(svg("polygon", { class: "ramp", points: points.map((p) => p.join()).join(" ") }));
    }
    return picture;
  }
  points.push([at(row.start), 82]);
  rise(row.enter, true);
  if (row.leave) rise({ ...row.leave, start: Math.max(row.leave.start, row.start) }, false);
  points.push([at(row.stop), 82]);
  const kind = row.kind === "sound" ? "sound" : row.keyed ? "keyed" : "body";
  const trace = row.kind === "sound" ? (waves.get(`${now.sheet.sound}:${row.id}`) ?? []) : [];
  picture.append(svg("polygon", { class: kind, points: points.map((p) => p.join()).join(" ") }));
  if (trace.length) {
    const x = (n) => at(row.start) + ((at(row.stop) - at(row.start)) * (n + 0.5)) / trace.length;
    const half = (sign) => trace.map((peak, n) => `${x(n).toFixed(3)},${(50 + sign * 32 * peak).toFixed(2)}`);
    picture.append(svg("polygon", { class: "wave", points: [...half(1), ...half(-1).reverse()].join(" ") }));
  }
  return picture;
}

// What a drag of one end or of the whole changes, in frames of the sheet.
const MOVES = {
  cue: {
    whole: (row, by) => [[`${row.id}.at`, row.start + by]],
    length: (row, by) => [[`${row.id}.transition.length`, Math.max(row.enter.length + by, 1)]],
  },
  overlay: {
    start: (row, by) => [[`${row.id}.in`, row.start + by]],
    stop: (row, by) => [[`${row.id}.out`, row.stop + by]],
    whole: (row, by) => [[`${row.id}.in`, row.start + by], [`${row.id}.out`, row.stop + by]],
    length: (row, by) => [[`${row.id}.transition_in.length`, Math.max(row.enter.length + by, 1)]],
    leaving: (row, by) => [[`${row.id}.transition_out.length`, Math.max(row.leave.length - by, 1)]],
  },
  sound: {
    whole: (row, by) => [[`${row.id}.at`, Math.max(row.start + by, 0)]],
    length: (row, by) => [[`${row.id}.fade_in`, Math.max(row.enter.length + by, 0)]],
    leaving: (row, by) => [[`${row.id}.fade_out`, Math.max(row.leave.length - by, 0)]],
  },
};

const SAID = {
  whole: "moved",
  start: "in",
  stop: "out",
  length: "length of the transition",
  leaving: "length of the transition out",
};

function grip(row, what, frame, label) {
  const { length } = now.sheet.facts;
  const handle = el("button", {
    type: "button",
    class: what === "whole" ? "whole" : "grip",
    "data-what": what,
    title: label,
    "aria-label": `${row.name}: ${label}`,
  });
  const change = (by, from, gesture) => {
    const edits = MOVES[row.kind][what](from, by).map(([path, value]) => ({ act: "set", path, value }));
    return edit(edits, `${row.name}: ${SAID[what]}`, gesture);
  };
  draggable(handle, {
    box: () => handle.parentElement,
    start: () => ({ row: structuredClone(rowOf(row.id)), gesture: fresh(what), told: el("span", { class: "told" }), by: 0 }),
    move: (held, x, y, event) => {
      const by = Math.round(x * length);
      if (by === held.by) return;
      held.by = by;
      held.told.textContent = `${by >= 0 ? "+" : ""}${by} frames, ${timecode(frame + by, now.sheet.facts)}`;
      if (!held.told.isConnected) document.body.append(held.told);
      Object.assign(held.told.style, { left: `${event.clientX + scrollX}px`, top: `${event.clientY + scrollY}px` });
      go(frame + by);
      change(by, held.row, held.gesture);
    },
    end: (held, event) => {
      held.told.remove();
      if (!held.by && event.type === "pointerup") {
        go(what === "whole" ? frameAt(event, handle.parentElement) : frame);
        if (what === "whole") handle.focus();
      }
    },
  });
  handle.addEventListener("keydown", (event) => {
    const by = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
    if (!by) return;
    event.preventDefault();
    event.stopPropagation();
    change(event.shiftKey ? by * now.sheet.facts.count : by, rowOf(row.id), `${what}-${row.id}`);
  });
  return handle;
}

function grips(row) {
  const found = [grip(row, "whole", row.start, "move it")];
  if (row.kind === "overlay") {
    found.push(grip(row, "start", row.start, "in"), grip(row, "stop", row.stop, "out"));
  }
  if (row.enter.length) found.push(grip(row, "length", row.start + row.enter.length, "length of the transition"));
  if (row.leave?.length) found.push(grip(row, "leaving", row.leave.start, "length of the transition out"));
  return found;
}

function newRow(row) {
  const parts = {
    no: el("span", { class: "no" }),
    thumb: el("img", { class: "thumb", alt: "" }),
    time: el("div", { class: "time" }),
    open: el("button", { type: "button", class: "open", "aria-expanded": "false", onclick: () => unfold(row.id) }),
    shows: el("span", { class: "line grey" }),
    more: el("span", { class: "line" }),
    words: el("div", { class: "words" }),
    lane: el("div", { class: "lane" }),
  };
  parts.event = el("div", {}, parts.open, parts.shows, parts.more);
  parts.line = el("div", { class: "row" }, parts.no, parts.thumb, parts.time, parts.event, parts.words, parts.lane);
  parts.node = el("article", { class: "event", "data-row": row.id }, parts.line);
  return parts;
}

function update(row) {
  const parts = made.get(row.id) ?? newRow(row);
  made.set(row.id, parts);
  parts.node.className = `event ${row.kind}`;
  parts.no.textContent = row.number ?? "♪";
  parts.time.replaceChildren(el("b", {}, row.in), el("span", { class: "grey" }, row.out));
  parts.open.textContent = row.name;
  parts.shows.textContent = row.shows;
  parts.more.textContent = [...row.more, row.note].filter(Boolean).join(" · ");
  parts.words.replaceChildren(...effects(row).filter(Boolean));
  const held = parts.lane.querySelector(".held");
  const picture = bar(row);
  if (held) {
    parts.lane.querySelector("svg").replaceWith(picture);
    place(parts.lane, row);
  } else {
    const focus = document.activeElement?.parentElement === parts.lane ? [...parts.lane.children].indexOf(document.activeElement) : -1;
    parts.lane.replaceChildren(picture, ...grips(row));
    place(parts.lane, row);
    if (focus >= 0) parts.lane.children[focus]?.focus();
  }
  const open = now.unfolded === row.id;
  parts.node.classList.toggle("unfolded", open);
  parts.open.setAttribute("aria-expanded", String(open));
  if (open) {
    parts.settings ??= settings(row.id);
    if (!parts.settings.node.isConnected) parts.node.append(parts.settings.node);
    parts.settings.update();
  } else {
    parts.settings?.node.remove();
    parts.settings = null;
  }
  return parts.node;
}

// Where each grip of a row stands, in frames of the sheet.
const STANDS = {
  whole: (row) => row.start,
  start: (row) => row.start,
  stop: (row) => row.stop,
  length: (row) => row.start + row.enter.length,
  leaving: (row) => row.leave.start,
};

function place(lane, row) {
  const { length } = now.sheet.facts;
  for (const one of lane.querySelectorAll("[data-what]")) {
    one.style.left = `${(100 * STANDS[one.dataset.what](row)) / length}%`;
    if (one.dataset.what === "whole") one.style.width = `${(100 * (row.stop - row.start)) / length}%`;
  }
}

// The settings of the whole spot unfold above the rows.
let whole = null;

function spot() {
  const open = now.unfolded === "sheet";
  $("whole").setAttribute("aria-expanded", String(open));
  if (!open) {
    whole?.node.remove();
    whole = null;
    return;
  }
  whole ??= settings("sheet");
  if (!whole.node.isConnected) $("sheet").before(whole.node);
  whole.update();
}

// The wave of a sound, on its bar.
const waves = new Map();

async function wave(row) {
  const key = `${now.sheet.sound}:${row.id}`;
  if (!waves.has(key)) {
    waves.set(key, []);
    const answer = await fetch(`/wave/${row.index}`);
    waves.set(key, answer.ok ? await answer.json() : []);
    const parts = made.get(row.id);
    if (parts) parts.lane.querySelector("svg").replaceWith(bar(rowOf(row.id) ?? row));
  }
}

let heading = "";
let listed = "";

// Nothing moves that need not: a node taken out and put back loses the hand that holds it.
function render() {
  const { sheet } = now;
  if (!sheet.rows) return;
  const place_ = $("sheet");
  const nodes = sheet.rows.map(update);
  for (const id of made.keys()) if (!sheet.rows.some((one) => one.id === id)) made.delete(id);
  const { facts } = sheet;
  const key = [facts.length, facts.start, facts.rate, facts.skipped].join();
  if (key !== heading || !$("ruler")) {
    heading = key;
    place_.querySelector(".head")?.remove();
    $("empty")?.remove();
    place_.prepend(head());
  }
  const there = [...place_.querySelectorAll(".event")];
  if (there.length !== nodes.length || there.some((one, n) => one !== nodes[n])) {
    for (const one of there) if (!nodes.includes(one)) one.remove();
    nodes.reduce((before, node) => {
      if (before.nextElementSibling !== node) before.after(node);
      return node;
    }, place_.querySelector(".head"));
  }
  const names = sheet.sources.map((one) => one.name).join();
  if (names !== listed || !place_.querySelector(".adder")) {
    listed = names;
    place_.querySelector(".adder")?.remove();
    place_.append(adder());
  }
  for (const row of sheet.rows) if (row.kind === "sound") wave(row);
  spot();
  mark();
  pictures();
}

// The line of now, over all bars: moved alone, and while it plays some times a second, since
// what changes on the screen beside the picture costs as much as the picture.
const line = el("i", { id: "line" });
let lane_ = { left: 0, width: 0 };
let moved = 0;

function moment() {
  const { sheet, frame } = now;
  if (!sheet?.facts || !$("ruler") || (now.playing && performance.now() - moved < 90)) return;
  moved = performance.now();
  const x = (lane_.width * (frame + 0.5)) / sheet.facts.length;
  line.style.transform = `translateX(${lane_.left + x}px)`;
  $("ruler").querySelector(".at").style.transform = `translateX(${x}px)`;
}

function mark() {
  const { sheet, frame } = now;
  if (!sheet?.facts || !$("ruler")) return;
  const lane = $("ruler");
  lane_ = { left: lane.offsetLeft, width: lane.offsetWidth };
  if (!line.isConnected) $("sheet").append(line);
  moment();
  lane.setAttribute("aria-valuenow", frame);
  lane.setAttribute("aria-valuetext", timecode(frame, sheet.facts));
  for (const row of sheet.rows) {
    made.get(row.id)?.node.classList.toggle("now", row.start <= frame && frame < row.stop);
  }
}

// Small pictures: one a row, where its event has settled.
function pictures() {
  const rows = now.sheet.rows.filter((row) => row.kind !== "sound");
  const wanted = `${now.sheet.revision}:${rows.map((row) => row.settles)}`;
  if (wanted === asked) return;
  asked = wanted;
  send({ do: "small", frames: [...new Set(rows.map((row) => row.settles))], rows: now.rows });
}

on("picture", (head_, data) => {
  if (head_.slot !== "small" || head_.error) return;
  const url = URL.createObjectURL(new Blob([data], { type: "image/jpeg" }));
  URL.revokeObjectURL(small.get(head_.frame));
  small.set(head_.frame, url);
  for (const row of now.sheet.rows) {
    if (row.settles === head_.frame && row.kind !== "sound") made.get(row.id)?.thumb.setAttribute("src", url);
  }
});

when("sheet", render);
// A row unfolds where it stands: it stays under the pointer, and its settings come into sight.
const SEEN = 260;
const stage = document.querySelector(".stage");

// The ruler stays in sight under the picture.
new ResizeObserver(() => document.documentElement.style.setProperty("--stage", `${stage.offsetHeight}px`)).observe(stage);

function unfolded() {
  const node = () => (now.unfolded === "sheet" ? whole?.node : made.get(now.unfolded)?.node);
  const before = node()?.getBoundingClientRect().top;
  now.sheet?.rows?.forEach(update);
  spot();
  const after = node()?.getBoundingClientRect().top;
  if (after === undefined) return;
  if (before !== undefined) scrollBy({ top: after - before, behavior: "instant" });
  const top = node().getBoundingClientRect().top;
  const under = stage.offsetHeight + (document.querySelector(".head")?.offsetHeight ?? 0);
  if (top < under || top > innerHeight - SEEN) scrollBy({ top: top - under, behavior: "instant" });
}

when("unfolded", unfolded);
when("frame", mark);
when("moment", moment);
addEventListener("resize", mark);
