// The rows of the cue sheet: words as they are printed, a small picture, a bar drawn to scale.

import { $, el } from "./dom.js";
import { on, send } from "./link.js";
import { adder } from "./add.js";
import { bar, frameAt, grips, heard, place, wave } from "./bars.js";
import { settings } from "./settings.js";
import { go, now, tell, unfold, when } from "./state.js";
import { ticks, timecode } from "./time.js";

const made = new Map();
const small = new Map();
let asked = "";

// How many times can stand on the ruler beside one another; out of sight it stays as it was.
let most = 1;
const MOST = () => {
  if (document.body.classList.contains("client")) return most;
  const share = matchMedia("(max-width: 46rem)").matches ? 1 : 0.4;
  most = Math.max(Math.floor(($("ruler")?.offsetWidth || share * $("sheet").clientWidth) / 88), 1);
  return most;
};

function ruler() {
  const { facts } = now.sheet;
  const marks = ticks(facts, Math.min(MOST(), 8)).map((frame) =>
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

function newRow(row) {
  const parts = {
    no: el("span", { class: "no" }),
    thumb: el("img", { class: "thumb", alt: "" }),
    time: el("div", { class: "time" }),
    open: el("button", { type: "button", class: "open", "aria-expanded": "false", onclick: () => unfold(row.id) }),
    shows: el("span", { class: "line grey" }),
    more: el("span", { class: "line" }),
    fault: el("span", { class: "line fault" }),
    words: el("div", { class: "words" }),
    lane: el("div", { class: "lane" }),
  };
  parts.event = el("div", {}, parts.open, parts.shows, parts.more, parts.fault);
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

let heading = "";
let listed = "";

// Nothing moves that need not: a node taken out and put back loses the hand that holds it.
function render() {
  const { sheet } = now;
  if (!sheet.rows) return;
  const place_ = $("sheet");
  sheet.rows.filter((row) => row.kind === "sound").forEach(heard);
  const nodes = sheet.rows.map(update);
  for (const id of made.keys()) if (!sheet.rows.some((one) => one.id === id)) made.delete(id);
  const { facts } = sheet;
  const key = [facts.length, facts.start, facts.rate, facts.skipped, MOST()].join();
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
  for (const row of sheet.rows.filter((one) => one.kind === "sound")) {
    wave(row).then((found) => found && sheet === now.sheet && (heard(row), update(row)));
  }
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
  if (head_.slot !== "small") return;
  for (const row of now.sheet.rows ?? []) {
    if (row.settles === head_.frame && made.has(row.id)) made.get(row.id).fault.textContent = row.kind === "sound" ? "" : (head_.error ?? "");
  }
  if (head_.error) return;
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
function resized() {
  if (now.sheet?.rows && !heading.endsWith(`,${MOST()}`)) tell("sheet");
  else mark();
}
addEventListener("resize", resized);
when("client", resized);
